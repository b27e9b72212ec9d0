package policyfile

import (
	"fmt"
	"path"
	"strconv"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/glob"
	"busgauss/model/policy"
	"busgauss/model/span"
	"busgauss/model/word"
	"busgauss/schema"
	"busgauss/schema/node"
)

// reader turns the nodes of one file into data and collects its problems.
type reader struct {
	path     string // as messages show it
	dir      string // folder that its paths are relative to
	lines    [][]rune
	root     *node.Node
	findings []finding.Finding
}

func (r *reader) problem(at span.Span, rule, remedy, format string, args ...any) {
	r.findings = append(r.findings, finding.Finding{
		Rule: rule, Verdict: finding.Fail, Level: finding.Error, Span: at,
		Message: fmt.Sprintf(format, args...), Remedy: remedy,
	})
}

// leaf reports one thing that the schema does not allow.
func (r *reader) leaf(format string, leaf schema.Leaf) {
	n, key, ok := r.root.At(leaf.Pointer)
	if !ok {
		n = r.root
	}
	edit := key
	if !edit.Valid() {
		edit = n.Span
		edit.End = edit.Start
		if len(n.Members) > 0 {
			edit = n.Members[0].KeySpan
		}
	}
	place := words(format, leaf.Pointer)
	switch leaf.Keyword {
	case "additionalProperties":
		m, found := n.Member(leaf.Property)
		if !found {
			break
		}
		remedy := ""
		near, ok := word.Nearest(leaf.Property, leaf.Allowed)
		hint := ""
		if ok {
			remedy, hint = "write "+near, ". Did you mean "+quote(near)+"?"
		}
		r.problem(m.KeySpan, ruleUnknownKey, remedy, "%s", word.Then(
			"unknown key "+quote(leaf.Property)+" in "+place+hint, "Known keys: "+strings.Join(leaf.Allowed, ", ")))
		return
	case "required":
		r.problem(edit, ruleMissing, "", "%s needs %s", place, quote(leaf.Property))
		return
	case "enum":
		r.problem(n.Span, ruleForm, "", "%s must be %s, not %s%s", place, word.Or(leaf.Allowed), found(n),
			word.DidYouMean(n.Text, leaf.Allowed))
		return
	case "const":
		r.problem(n.Span, ruleForm, "", "%s must be %s, the version of the format that this program reads, not %s",
			place, word.Or(leaf.Allowed), found(n))
		return
	}
	if n.Kind == node.Text && n.Text == "" {
		r.problem(n.Span, ruleForm, "", "%s is empty", place)
		return
	}
	r.problem(n.Span, ruleForm, "", "%s, %s, does not fit the format: %s", place, found(n), leaf.Message)
}

// words returns words for a JSON pointer: `until of item 1 of permits`.
func words(format, pointer string) string {
	if pointer == "" {
		return map[string]string{schema.Standard: "the standard", schema.Deviations: "the file of deviations", schema.Baseline: "the baseline"}[format]
	}
	tokens := strings.Split(pointer[1:], "/")
	var out []string
	for i := len(tokens) - 1; i >= 0; i-- {
		t := strings.ReplaceAll(strings.ReplaceAll(tokens[i], "~1", "/"), "~0", "~")
		if n, err := strconv.Atoi(t); err == nil {
			t = fmt.Sprintf("item %d", n+1)
		}
		out = append(out, finding.Clean(clip(t)))
	}
	return strings.Join(out, " of ")
}

// found returns words for what the file has.
func found(n *node.Node) string {
	switch n.Kind {
	case node.Null:
		return "empty"
	case node.Bool:
		return n.Text
	case node.Number:
		return "the number " + clip(n.Text)
	case node.Text:
		return "the text " + quote(n.Text)
	}
	return "a " + n.Kind.String()
}

// maxQuoted is the number of characters of a file that a message quotes.
const maxQuoted = 80

func quote(text string) string { return finding.Quote(text, maxQuoted) }

func clip(text string) string { return finding.Clip(text, maxQuoted) }

// text reads a text; other kinds are the schema's to report.
func text(n *node.Node) policy.Text {
	if n == nil || n.Kind != node.Text {
		return policy.Text{}
	}
	return policy.Text{Value: n.Text, Span: n.Span}
}

// placed reads a text inside which messages point.
func (r *reader) placed(n *node.Node) policy.Text {
	t := text(n)
	if t.Given() {
		t.Places = places(r.lines, n)
	}
	return t
}

// said reads a text that a person must have written something in.
func (r *reader) said(n *node.Node, what string) policy.Text {
	t := text(n)
	if t.Given() && t.Value != "" && strings.TrimSpace(t.Value) == "" {
		r.problem(t.Span, ruleForm, "", "%s is blank", what)
	}
	return t
}

func amount(n *node.Node) policy.Amount {
	if n == nil || n.Kind != node.Text && n.Kind != node.Number {
		return policy.Amount{}
	}
	return policy.Amount{Text: n.Text, Bare: n.Kind == node.Number, Span: n.Span}
}

// layoutPath reads the path of a layout and makes it relative to the root.
func (r *reader) layoutPath(n *node.Node) policy.Text {
	t := text(n)
	if !t.Given() || t.Value == "" {
		return t
	}
	joined, why := inside(r.dir, t.Value)
	if why != "" {
		r.problem(t.Span, rulePath, "", "%s: %s", quote(t.Value), why)
	}
	t.Value = joined
	return t
}

// layoutGlobs reads globs of layouts and makes them relative to the root.
func (r *reader) layoutGlobs(n *node.Node) []policy.Text {
	var out []policy.Text
	for _, t := range texts(n) {
		// A bracket in the name of the folder is no pattern.
		joined, why := inside(escapeGlob(r.dir), strings.ReplaceAll(t.Value, `\`, "/"))
		switch {
		case strings.Contains(t.Value, `\`):
			why = "write forward slashes"
		case why == "":
			why = unfit(joined)
		}
		if why != "" {
			r.problem(t.Span, rulePath, "", "%s: %s", quote(t.Value), why)
			continue
		}
		t.Value = joined
		out = append(out, t)
	}
	return out
}

// unfit says why a text is no pattern; empty where it is one.
func unfit(pattern string) string {
	if _, err := glob.Compile(pattern); err != nil {
		return err.Error()
	}
	return ""
}

func escapeGlob(dir string) string {
	return strings.NewReplacer(`*`, `\*`, `?`, `\?`, `[`, `\[`, `{`, `\{`).Replace(path.Clean(dir))
}

// nameGlobs reads globs of names of channels.
func (r *reader) nameGlobs(n *node.Node) []policy.Text {
	var out []policy.Text
	for _, t := range texts(n) {
		if why := unfit(t.Value); why != "" {
			r.problem(t.Span, rulePath, "", "%s: %s", quote(t.Value), why)
			continue
		}
		out = append(out, t)
	}
	return out
}

// texts reads a list of texts, or one text in its place.
func texts(n *node.Node) []policy.Text {
	if n == nil {
		return nil
	}
	if t := text(n); t.Given() {
		return []policy.Text{t}
	}
	var out []policy.Text
	for _, item := range n.Items {
		if t := text(item); t.Given() {
			out = append(out, t)
		}
	}
	return out
}

// members returns the entries of a mapping, nothing for all else.
func members(n *node.Node) []node.Member {
	if n == nil {
		return nil
	}
	return n.Members
}

func items(n *node.Node) []*node.Node {
	if n == nil {
		return nil
	}
	return n.Items
}

func key(m node.Member) policy.Text { return policy.Text{Value: m.Key, Span: m.KeySpan} }
