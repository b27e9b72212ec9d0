// Package coverfile reads what stands on the cover of an audit page: who it is for, who wrote and
// reviewed it, the number of the drawing, and the history of the document. It decides nothing.
//
//	cover: 1
//	customer: Nordholm Ferries
//	drawing: FT-1042
//	author: A. Holm
//	reviewed-by: B. Sund
//	history:
//	  - {mark: A, date: 2026-03-02, what: first issue, by: A. Holm}
package coverfile

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/model/span"
	"busgauss/model/word"
	"busgauss/schema/node"
)

// Version is the version of the format, the number behind "cover:" in a file.
const Version = "1"

// MostBytes is how long a file may be.
const MostBytes = 256 << 10

// Cover is what a file says; what it leaves out is empty.
type Cover struct {
	Customer, Drawing, Author, Reviewer string
	History                             []Issue // in the order of the file
}

// Issue is one line of the history of the document.
type Issue struct{ Mark, Date, What, By string }

// The rules of the reader are those of layouts: what they ask is the same in every file.
const (
	ruleUnknownKey = "key-unknown"
	ruleMissing    = "key-missing"
	ruleForm       = "value-form"
)

// The keys of a file, and those of a line of its history.
var (
	keys      = []string{"cover", "customer", "drawing", "author", "reviewed-by", "history"}
	issueKeys = []string{"mark", "date", "what", "by"}
)

// Read reads a file that messages call name. Problems are failures of level error in the order of the
// file; where there is one, the cover is not to be used.
func Read(name string, data []byte) (Cover, []finding.Finding) {
	root, problems := node.Parse(name, data, node.Limits{Bytes: MostBytes, Nodes: 20000, Depth: 8})
	r := &reader{problems: problems}
	var c Cover
	if root == nil {
		return c, r.problems
	}
	if root.Kind != node.Map {
		r.problem(root.Span, ruleForm, "a cover is a mapping of %s, not a %s", word.And(keys), root.Kind)
		return c, r.problems
	}
	r.known(root, keys, "the cover")
	r.version(root)
	c.Customer, c.Drawing = r.line(root.Get("customer"), "customer"), r.line(root.Get("drawing"), "drawing")
	c.Author, c.Reviewer = r.line(root.Get("author"), "author"), r.line(root.Get("reviewed-by"), "reviewed-by")
	if h := root.Get("history"); h != nil && h.Kind != node.List {
		r.problem(h.Span, ruleForm, "history is a list of issues, not a %s", h.Kind)
	} else if h != nil {
		for k, item := range h.Items {
			c.History = append(c.History, r.issue(item, k))
		}
	}
	slices.SortStableFunc(r.problems, func(a, b finding.Finding) int {
		p, q := a.Span.Start, b.Span.Start
		return cmp.Or(cmp.Compare(p.Line, q.Line), cmp.Compare(p.Column, q.Column))
	})
	return c, r.problems
}

// reader collects the problems of one file.
type reader struct{ problems []finding.Finding }

func (r *reader) problem(at span.Span, rule, format string, args ...any) {
	r.problems = append(r.problems, finding.Finding{Rule: rule, Verdict: finding.Fail, Level: finding.Error, Span: at,
		Message: fmt.Sprintf(format, args...)})
}

// known reports keys that a mapping may not have.
func (r *reader) known(n *node.Node, allowed []string, of string) {
	for _, m := range n.Members {
		if !slices.Contains(allowed, m.Key) {
			r.problem(m.KeySpan, ruleUnknownKey, "%s", word.Then(
				"unknown key "+quote(m.Key)+" in "+of+word.DidYouMean(m.Key, allowed), "Known keys: "+strings.Join(allowed, ", ")))
		}
	}
}

func (r *reader) version(root *node.Node) {
	n := root.Get("cover")
	switch {
	case n == nil:
		at := root.Span
		at.End = at.Start
		r.problem(at, ruleMissing, `the cover needs "cover: %s", the version of its format`, Version)
	case n.Kind != node.Number || n.Text != Version:
		r.problem(n.Span, ruleForm, "cover must be %s, the version of the format that this program reads, not %s", Version, quote(n.Text))
	}
}

// line reads one line of text; a number stands as it was written.
func (r *reader) line(n *node.Node, what string) string {
	switch {
	case n == nil:
		return ""
	case n.Kind != node.Text && n.Kind != node.Number:
		r.problem(n.Span, ruleForm, "%s is a text, not a %s", what, n.Kind)
		return ""
	}
	text := strings.TrimSpace(n.Text)
	switch {
	case text == "":
		r.problem(n.Span, ruleForm, "%s is blank; leave the key out", what)
	case strings.ContainsAny(text, "\n\r"):
		r.problem(n.Span, ruleForm, "%s has more than one line", what)
	}
	return text
}

// issue reads line k of the history.
func (r *reader) issue(n *node.Node, k int) Issue {
	of := fmt.Sprintf("issue %d of history", k+1)
	if n.Kind != node.Map {
		r.problem(n.Span, ruleForm, "%s is a mapping of %s, not a %s", of, word.And(issueKeys), n.Kind)
		return Issue{}
	}
	r.known(n, issueKeys, of)
	i := Issue{Mark: r.line(n.Get("mark"), "mark of "+of), Date: r.line(n.Get("date"), "date of "+of),
		What: r.line(n.Get("what"), "what of "+of), By: r.line(n.Get("by"), "by of "+of)}
	if i.Date != "" {
		if _, err := policy.ParseDate(i.Date); err != nil {
			r.problem(n.Get("date").Span, ruleForm, "date of %s: %v", of, err)
		}
	}
	if i.Mark == "" && i.What == "" && len(n.Members) > 0 {
		r.problem(n.Members[0].KeySpan, ruleMissing, `%s needs "mark" or "what"`, of)
	}
	return i
}

func quote(text string) string { return finding.Quote(text, 80) }
