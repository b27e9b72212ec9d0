package server

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"busgauss/model/edit"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/span"
	"busgauss/schema/load"
)

const small = `layout: 1 # 😀
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
sensors:
  "😀 S": {reads: U, at: [0 mm, 5 mm], axis: 180 deg}
duties:
  run: {kind: continuous, currents: {U: {dc: 100 A}}}
`

// planted is a finding at the first sensor with changes.
func planted(changes ...finding.Change) func(Question) Answer {
	return judged(func(l *layout.Layout) []finding.Finding {
		return []finding.Finding{{Rule: "some-rule", Verdict: finding.Fail, Level: finding.Error, Object: l.Sensors[0].ID,
			Message: "too low", Span: l.Sensors[0].Span, Changes: changes}}
	})
}

// edits are those of one spot of small, line and columns as spans count them.
func edits(line, from, to int, text string) []finding.Edit {
	return []finding.Edit{{Span: span.Span{Start: span.Pos{Line: line, Column: from}, End: span.Pos{Line: line, Column: to}}, Text: text}}
}

func (w *wire) actions(line int, only string) []codeAction {
	w.t.Helper()
	w.send(fmt.Sprintf(`{"jsonrpc":"2.0","id":50,"method":"textDocument/codeAction","params":{"textDocument":{"uri":"%s"},"range":{"start":{"line":%[2]d,"character":3},"end":{"line":%[2]d,"character":3}},"context":{"diagnostics":[]%s}}}`, a, line, only))
	m := w.answer("50")
	var out []codeAction
	if err := json.Unmarshal(m.Result, &out); err != nil || m.Error != nil {
		w.t.Fatalf("%v, %+v", err, m.Error)
	}
	return out
}

// The changes of a finding are offered at its place, carry its diagnostic, and applied as an editor does, which
// counts in UTF-16, they give what the edit model gives.
func TestCodeActions(t *testing.T) {
	change := finding.Change{Title: "raise the sensor to 6 mm", Effect: "12 % → 8 %", Clears: []string{"x"}, Edits: edits(5, 32, 36, "6 mm")}
	other := finding.Change{Title: "another", Edits: append(edits(5, 32, 36, "7 mm"), edits(7, 46, 51, "90 A")...)}
	meets := finding.Change{Title: "two that meet", Edits: append(edits(5, 32, 36, "7 mm"), edits(5, 34, 37, "8")...)}
	elsewhere := finding.Change{Title: "elsewhere", Edits: []finding.Edit{{Span: span.Span{File: "/layouts/b.yaml", Start: span.Pos{Line: 1, Column: 1}, End: span.Pos{Line: 1, Column: 1}}}}}
	for _, documentChanges := range []bool{true, false} {
		j := &script{answer: planted(change, other, meets, elsewhere, finding.Change{Title: "none"})}
		w := begun(t, j, fmt.Sprintf(`{"workspace":{"workspaceEdit":{"documentChanges":%v}}}`, documentChanges))
		w.open(a, 7, small)
		w.published(a, 7)
		list := w.actions(4, "")
		if len(list) != 2 || list[0].Title != "raise the sensor to 6 mm: 12 % → 8 %; also clears x" || list[1].Title != "another" ||
			!list[0].IsPreferred || list[1].IsPreferred || list[0].Kind != "quickfix" {
			t.Fatalf("%+v", list)
		}
		if len(list[0].Diagnostics) != 1 || list[0].Diagnostics[0].Code != "some-rule" {
			t.Errorf("%+v", list[0].Diagnostics)
		}
		for i, c := range []finding.Change{change, other} {
			var given []textEdit
			if documentChanges {
				e := list[i].Edit.DocumentChanges
				if len(e) != 1 || e[0].TextDocument.URI != a || *e[0].TextDocument.Version != 7 {
					t.Fatalf("%+v", e)
				}
				given = e[0].Edits
			} else {
				given = list[i].Edit.Changes[a]
			}
			var back []contentChange
			for k := len(given) - 1; k >= 0; k-- {
				back = append(back, contentChange{&given[k].Range, given[k].NewText})
			}
			got := linesOf(small).changed(back, utf16Units).text
			want, err := edit.Apply(small, c.Edits)
			if err != nil || got != want || got == small {
				t.Errorf("%s gives\n%s\nwant\n%s%v", c.Title, got, want, err)
			}
			if l, problems := load.Load("a.yaml", []byte(got)); l == nil {
				t.Errorf("%s gives no layout: %v", c.Title, problems)
			}
		}
		if list := w.actions(5, ""); len(list) != 0 {
			t.Errorf("beside the finding: %+v", list)
		}
		if list := w.actions(4, `,"only":["refactor"]`); len(list) != 0 {
			t.Errorf("only refactor: %+v", list)
		}
		if list := w.actions(4, `,"only":["quickfix"]`); len(list) != 2 {
			t.Errorf("only quickfix: %+v", list)
		}
		w.leave()
	}
}

// Edits of a text that is overtaken are not offered.
func TestNoActionsOfAnOldText(t *testing.T) {
	hold := make(chan struct{})
	of := planted(finding.Change{Title: "change", Edits: edits(5, 3, 3, "x")})
	j := &script{answer: func(q Question) Answer {
		if strings.HasPrefix(q.Text, "#") {
			<-hold
		}
		return of(q)
	}}
	w := begun(t, j, "{}")
	w.open(a, 1, small)
	w.published(a, 1)
	if list := w.actions(4, ""); len(list) != 1 {
		t.Errorf("%+v", list)
	}
	w.change(a, 2, "# new\n"+small)
	if list := w.actions(4, ""); len(list) != 0 {
		t.Errorf("%+v", list)
	}
	close(hold)
	w.published(a, 2)
	w.leave()
}

// What a file or a finding says reaches the editor without controls that could forge anything.
func TestCleaned(t *testing.T) {
	evil := "a\u202eb\x1b[2J"
	j := &script{answer: func(q Question) Answer {
		f := found("message "+evil, 1)
		f.Remedy = "remedy " + evil
		f.Changes = []finding.Change{{Title: "title " + evil, Edits: edits(1, 1, 1, "x")}}
		f.Related = []finding.Related{{Span: f.Span, Message: "related " + evil}}
		return Answer{Depth: q.Depth, Shown: []finding.Finding{f}}
	}}
	w := begun(t, j, `{"textDocument":{"publishDiagnostics":{"relatedInformation":true}}}`)
	w.open(a, 1, small)
	p := w.published(a, 1)
	list := w.actions(0, "")
	text := fmt.Sprint(p, list[0].Title, list[0].Diagnostics)
	if len(p.Diagnostics[0].RelatedInformation) != 1 || strings.ContainsAny(text, "\u202e\x1b") || !strings.Contains(text, `a\u202eb\x1b[2J`) {
		t.Errorf("%q", text)
	}
	w.leave()
}
