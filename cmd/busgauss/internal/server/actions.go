package server

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"busgauss/model/edit"
	"busgauss/model/finding"
	"busgauss/model/span"
)

// quickFix is the kind of all actions.
const quickFix = "quickfix"

// codeActions offers the changes of the findings that a range touches. Edits are those of the text that was checked, so
// that there are none while a newer one waits.
func (s *Server) codeActions(_ context.Context, p *placeParams) (any, error) {
	d, err := s.document(p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	out := []codeAction{}
	wanted := len(p.Context.Only) == 0 || slices.ContainsFunc(p.Context.Only, func(kind string) bool {
		return kind == "" || kind == quickFix
	})
	at := d.snapshot()
	answer, of := d.kept()
	if !wanted || of.generation != at.generation {
		return out, nil
	}
	where := span.Span{Start: at.pos(at.offset(p.Range.Start, s.encoding)), End: at.pos(at.offset(p.Range.End, s.encoding))}
	for i := range answer.Shown {
		f := &answer.Shown[i]
		if !samePath(f.Span.File, d.path) || !overlaps(f.Span, where) {
			continue
		}
		for k := range f.Changes {
			if a, ok := s.action(d, &at, f, &f.Changes[k]); ok {
				a.IsPreferred = k == 0
				out = append(out, a)
			}
		}
	}
	return out, nil
}

// action returns one change as the protocol has it; false where its edits are not all of this text, or meet.
func (s *Server) action(d *document, at *snapshot, f *finding.Finding, c *finding.Change) (codeAction, bool) {
	var edits []textEdit
	for _, e := range c.Edits {
		if e.Span.File != "" && !samePath(e.Span.File, d.path) {
			return codeAction{}, false
		}
		edits = append(edits, textEdit{at.stretch(e.Span, s.encoding), e.Text})
	}
	if _, err := edit.Apply(at.text, c.Edits); err != nil || len(edits) == 0 {
		return codeAction{}, false
	}
	out := codeAction{Title: title(c), Kind: quickFix, Diagnostics: []diagnostic{s.diagnostic(d, at, f)}}
	if s.client.Capabilities.Workspace.WorkspaceEdit.DocumentChanges {
		out.Edit.DocumentChanges = []documentEdit{{versionedDocument{d.uri, &at.version}, edits}}
	} else {
		out.Edit.Changes = map[string][]textEdit{d.uri: edits}
	}
	return out, true
}

// title says what a change alters, what comes of it, and how much else it clears.
func title(c *finding.Change) string {
	out := c.Title
	if c.Effect != "" {
		out += ": " + c.Effect
	}
	switch n := len(c.Clears); {
	case n == 1:
		out += fmt.Sprintf("; also clears %s", c.Clears[0])
	case n > 1:
		out += fmt.Sprintf("; also clears %d findings", n)
	}
	return strings.TrimSpace(finding.Clean(out))
}
