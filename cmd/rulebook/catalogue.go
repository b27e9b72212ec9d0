package main

import (
	"bytes"
	"fmt"
	"strings"

	"busgauss/rules/engine"
)

// facts are the lines that every rule's comment must have.
var facts = [...]string{"Quantity", "Formula", "Valid", "Source", "Not seen"}

// catalogue returns the Markdown of all rules; an error names the first rule
// whose comment lacks a line.
func catalogue(list []engine.Rule, docs map[string]string) ([]byte, error) {
	if err := engine.Validate(list); err != nil {
		return nil, err
	}
	var b bytes.Buffer
	b.WriteString("# Rules\n\nWritten by `go generate ./rules` from the comments on the rules; edit those.\n\n")
	b.WriteString("| rule | level | reports |\n| --- | --- | --- |\n")
	for _, r := range list {
		fmt.Fprintf(&b, "| [`%s`](#%s) | %s | %s |\n", r.ID, r.ID, r.Level, r.Title)
	}
	for _, r := range list {
		doc := docs[r.ID]
		if doc == "" {
			return nil, fmt.Errorf("rule %q has no comment", r.ID)
		}
		text, table, err := split(doc)
		if err != nil {
			return nil, fmt.Errorf("rule %q: %w", r.ID, err)
		}
		fmt.Fprintf(&b, "\n## %s\n\n%s\n\n", r.ID, text)
		for i, f := range facts {
			fmt.Fprintf(&b, "- %s: %s\n", f, table[i])
		}
		for _, l := range r.Limits {
			side := "at most"
			if l.AtLeast {
				side = "at least"
			}
			fmt.Fprintf(&b, "- Limit `%s`: %s %s. %s", l.Key, side, engine.Show(l.Default, l.Unit), l.Reason)
			if l.NeedKey != "" {
				fmt.Fprintf(&b, ". A layout tightens it with `needs: {…: {%s: …}}`", l.NeedKey)
			}
			b.WriteString("\n")
		}
	}
	return b.Bytes(), nil
}

// split takes a comment apart into its running text, without the name of the
// variable, and its table of facts.
func split(doc string) (text string, table [len(facts)]string, err error) {
	var paragraphs []string
	at := -1
	for line := range strings.Lines(doc) {
		line = strings.TrimRight(line, "\n")
		if !strings.HasPrefix(line, "\t") {
			paragraphs = append(paragraphs, line)
			continue
		}
		line = strings.TrimSpace(line)
		for i, f := range facts {
			if rest, ok := strings.CutPrefix(line, f+" "); ok {
				at, line = i, strings.TrimSpace(rest)
				break
			}
		}
		if at < 0 {
			return "", table, fmt.Errorf("line %q belongs to no fact", line)
		}
		table[at] = strings.TrimSpace(table[at] + " " + line)
	}
	for i, f := range facts {
		if table[i] == "" {
			return "", table, fmt.Errorf("the comment lacks %q", f)
		}
	}
	text = strings.TrimSpace(strings.Join(paragraphs, "\n"))
	_, text, _ = strings.Cut(text, " ")
	if text == "" {
		return "", table, fmt.Errorf("the comment has no text")
	}
	return strings.ToUpper(text[:1]) + text[1:], table, nil
}
