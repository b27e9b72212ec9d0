package server

import (
	"slices"
	"sync"

	"busgauss/model/finding"
	"busgauss/model/span"
)

// source is what editors show beside a finding.
const source = "busgauss"

// board holds what stands in each file, by the document whose check said it: a file of a house standard may be
// spoken of by several.
type board struct {
	mu    sync.Mutex
	posts map[string]map[string][]diagnostic // by URI of the file, by URI of the document
}

// tell publishes the findings of a text of d, in place of those that it had before. at is nil when d is closed.
// Where only a part was asked, what was said of other files stays. The caller holds d.telling.
func (s *Server) tell(d *document, at *snapshot, found []finding.Finding, part bool) {
	by := map[string][]diagnostic{}
	if at != nil {
		by[d.uri] = []diagnostic{}
	}
	for i := range found {
		f := &found[i]
		uri := s.fileURI(d, f.Span.File)
		by[uri] = append(by[uri], s.diagnostic(d, at, f))
	}
	s.board.mu.Lock()
	defer s.board.mu.Unlock()
	for uri, posts := range s.board.posts {
		if part && uri != d.uri {
			continue
		}
		if _, again := by[uri]; !again && posts[d.uri] != nil {
			delete(posts, d.uri)
			s.publish(uri, nil)
		}
	}
	for uri, list := range by {
		if s.board.posts[uri] == nil {
			s.board.posts[uri] = map[string][]diagnostic{}
		}
		s.board.posts[uri][d.uri] = list
		if uri == d.uri {
			s.publish(uri, &at.version)
		} else {
			s.publish(uri, nil)
		}
	}
}

// publish sends all that is said of one file, each once. The caller holds the board.
func (s *Server) publish(uri string, version *int) {
	all := []diagnostic{}
	var owners []string
	for owner := range s.board.posts[uri] {
		owners = append(owners, owner)
	}
	slices.Sort(owners)
	for _, owner := range owners {
		for _, one := range s.board.posts[uri][owner] {
			if !slices.ContainsFunc(all, func(k diagnostic) bool {
				return k.Range == one.Range && k.Code == one.Code && k.Message == one.Message
			}) {
				all = append(all, one)
			}
		}
	}
	if len(owners) == 0 {
		delete(s.board.posts, uri)
	}
	s.notify("textDocument/publishDiagnostics", publishDiagnosticsParams{URI: uri, Version: version, Diagnostics: all})
}

// fileURI returns the URI of a file that a check of d speaks of, as the client wrote it where it is open.
func (s *Server) fileURI(d *document, file string) string {
	if samePath(file, d.path) {
		return d.uri
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for uri, other := range s.documents {
		if samePath(file, other.path) {
			return uri
		}
	}
	return uriOf(file)
}

// diagnostic returns a finding as the protocol has it, in the text at of d.
func (s *Server) diagnostic(d *document, at *snapshot, f *finding.Finding) diagnostic {
	out := diagnostic{
		Range: s.stretchIn(d, at, f.Span), Severity: severityInformation, Code: finding.Clean(f.Rule), Source: source,
		Message: finding.Clean(f.Message),
	}
	switch f.Level {
	case finding.Error:
		out.Severity = severityError
	case finding.Warning:
		out.Severity = severityWarning
	}
	if f.Verdict != finding.Fail {
		out.Message = f.Verdict.String() + ": " + out.Message
	}
	if f.Remedy != "" {
		out.Message += "\ntry: " + finding.Clean(f.Remedy)
	}
	if s.client.Capabilities.TextDocument.PublishDiagnostics.RelatedInformation {
		for _, r := range f.Related {
			out.RelatedInformation = append(out.RelatedInformation, relatedInformation{
				location{s.fileURI(d, r.Span.File), s.stretchIn(d, at, r.Span)}, finding.Clean(r.Message)})
		}
	}
	return out
}

// stretchIn returns a span of a file in the units of the client: in the text at of d, in that of another open
// document, or, where the text is not at hand, as the span counts.
func (s *Server) stretchIn(d *document, at *snapshot, where span.Span) stretch {
	if samePath(where.File, d.path) {
		return at.stretch(where, s.encoding)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, other := range s.documents {
		if samePath(where.File, other.path) {
			now := other.snapshot()
			return now.stretch(where, s.encoding)
		}
	}
	if !where.Valid() {
		return stretch{}
	}
	return stretch{position{where.Start.Line - 1, where.Start.Column - 1}, position{where.End.Line - 1, where.End.Column - 1}}
}
