package rules_test

import (
	"io/fs"
	"strings"
	"testing"
	"unicode/utf8"

	"busgauss/fixtures"
	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/engine"
)

// The first sentence of every message stands alone: it names its object and fits a line of a log.
func TestFirstSentences(t *testing.T) {
	names, err := fixtures.Layouts()
	if err != nil {
		t.Fatal(err)
	}
	kinds, said := map[finding.Verdict]int{}, 0
	for _, name := range names {
		if !strings.HasPrefix(name, "clean/") && !strings.HasPrefix(name, "failing/") && !strings.HasPrefix(name, "examples/") {
			continue
		}
		if name == "failing/tug-steel-channel.yaml" && !*long { // takes longer than any other
			continue
		}
		data, err := fs.ReadFile(fixtures.FS, name)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range engine.Check(mustLoad(t, string(data)), rules.All(), engine.Options{NoRemedies: true}) {
			firstSentence(t, name, &f)
			kinds[f.Verdict]++
			said++
		}
	}
	if said < 300 || kinds[finding.Fail] == 0 || kinds[finding.Undecided] == 0 || kinds[finding.Pass] == 0 || kinds[finding.NotApplicable] == 0 {
		t.Errorf("%d findings, by verdict %v", said, kinds)
	}
}

// firstSentence fails where the first sentence of a message is too long, does not name its object, or lacks the
// limit of a number; and where the name alone says it.
func firstSentence(t *testing.T, path string, f *finding.Finding) {
	t.Helper()
	first, _ := finding.Sentences(f.Message)
	if n := utf8.RuneCountInString(first); n >= finding.MaxFirst {
		t.Errorf("%s: %s: %d characters: %s", path, f.Rule, n, first)
	}
	if f.Object != "" && !strings.HasPrefix(first, f.Object+": ") {
		t.Errorf("%s: %s: %q is not named in front: %s", path, f.Rule, f.Object, first)
	}
	if said := strings.TrimPrefix(first, f.Object); len(strings.Fields(said)) < 3 {
		t.Errorf("%s: %s: nothing is said: %s", path, f.Rule, f.Message)
	}
	if f.Measure == nil {
		return
	}
	word := ", limit "
	if f.Measure.AtLeast {
		word = ", least "
	}
	if !strings.Contains(first, word+engine.ShowLimit(f.Measure.Limit, f.Measure.Unit)) {
		t.Errorf("%s: %s: the limit is not said: %s", path, f.Rule, first)
	}
}
