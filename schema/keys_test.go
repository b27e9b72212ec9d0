package schema

import (
	"slices"
	"strings"
	"testing"
)

func TestKeysAt(t *testing.T) {
	for _, c := range []struct{ path, has, hasNot, required string }{
		{"", "layout bars sensors duties", "reads", "layout bars"},
		{"bars", "", "section", ""},
		{"bars/U", "section at metal run", "reads", "section at metal"},
		{"bars/U/section", "width thickness diameter outline", "at", ""},
		{"sensors/S", "reads at axis part pair elements", "section", "reads at axis"},
		{"sensors/S/elements/0", "at axis weight", "reads", "at axis"},
		{"duties/run/currents/U", "dc rms peak points", "kind", ""},
		{"duties/run/currents/U/harmonics/3", "order share phase", "kind", "order"},
		{"surroundings/uniform", "flux-density direction", "rms", "flux-density"},
		{"shields/K/form/channel", "opening leg wall", "inner", "opening leg wall"},
		{"measurements/0", "date readings", "layout", "readings"},
		{"title/what", "", "layout", ""},
	} {
		var path []string
		if c.path != "" {
			path = strings.Split(c.path, "/")
		}
		var names, required []string
		for _, k := range KeysAt(path) {
			names = append(names, k.Name)
			if k.Required {
				required = append(required, k.Name)
			}
			if k.Description == "" {
				t.Errorf("%s: key %s has no description", c.path, k.Name)
			}
		}
		for _, w := range strings.Fields(c.has) {
			if !slices.Contains(names, w) {
				t.Errorf("%s lacks key %s: %v", c.path, w, names)
			}
		}
		for _, w := range strings.Fields(c.hasNot) {
			if slices.Contains(names, w) {
				t.Errorf("%s has key %s", c.path, w)
			}
		}
		for _, w := range strings.Fields(c.required) {
			if !slices.Contains(required, w) {
				t.Errorf("%s does not demand %s: %v", c.path, w, required)
			}
		}
		if c.has == "" && len(names) > 0 {
			t.Errorf("%s has keys %v where names are free", c.path, names)
		}
	}
}

func TestWordsAt(t *testing.T) {
	for _, c := range []struct{ path, words, examples string }{
		{"duties/run/kind", "continuous peak fault", ""},
		{"layout", "1", ""},
		{"bars/U/section/width", "", "20 mm"},
	} {
		words, examples := WordsAt(strings.Split(c.path, "/"))
		if strings.Join(words, " ") != c.words || c.examples != "" && !slices.Contains(examples, c.examples) {
			t.Errorf("%s: words %v, examples %v", c.path, words, examples)
		}
	}
	if got := DescribeAt([]string{"sensors", "S", "reads"}); !strings.Contains(got, "whose current it reads") {
		t.Errorf("reads is described as %q", got)
	}
	if got := DescribeAt([]string{"bars", "U"}); got == "" {
		t.Error("a bar is not described")
	}
}
