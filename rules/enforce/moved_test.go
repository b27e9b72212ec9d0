package enforce

import (
	"slices"
	"strings"
	"testing"

	"busgauss/model/finding"
)

// foundAt gives a finding another object and number.
func foundAt(object string, value float64) finding.Finding {
	f := found()
	m := *f.Measure
	f.Object, m.Value, f.Measure = object, value, &m
	return f
}

// numberless is an undecided verdict on an object, which no number tells from another.
func numberless(object string) finding.Finding {
	f := foundAt(object, 0)
	f.Verdict, f.Level, f.Measure = finding.Undecided, finding.Warning, nil
	return f
}

func nowhere(string) bool { return false }

// The baseline of a.yaml, which is gone, holds for what has its findings, once, and hides nothing else.
func TestBaselineFollowsALayout(t *testing.T) {
	u, v, w := foundAt("U", 0.062), foundAt("V", 0.071234), numberless("W")
	text := recorded(t, u, v, w)
	layout := func(name string, list ...finding.Finding) Checked { return Checked{Layout: name, Findings: list} }
	was := func(c Checked, w Was) Checked { c.Was = w; return c }
	for _, c := range []struct {
		name    string
		checked []Checked
		exists  func(string) bool
		want    string // layouts whose findings stay, by object
	}{
		{"moved", []Checked{layout("b.yaml", u, v, w)}, nowhere, ""},
		{"moved, and one mended", []Checked{layout("b.yaml", u, w)}, nowhere, ""},
		{"moved, and one new", []Checked{layout("b.yaml", u, v, w, foundAt("X", 0.06))}, nowhere, "b.yaml X"},
		{"moved, and one worse", []Checked{layout("b.yaml", u, foundAt("V", 0.08), w)}, nowhere, "b.yaml V"},
		{"twice: one of the two", []Checked{layout("b.yaml", u, v, w), layout("c.yaml", u, v, w)}, nowhere, "c.yaml U c.yaml V c.yaml W"},
		{"the old one is still there", []Checked{layout("b.yaml", u, v, w)}, func(string) bool { return true }, "b.yaml U b.yaml V b.yaml W"},
		{"the old one is checked too", []Checked{layout("a.yaml"), layout("b.yaml", u, v, w)}, nowhere, "b.yaml U b.yaml V b.yaml W"},
		{"nobody says that it is gone", []Checked{layout("b.yaml", u, v, w)}, nil, "b.yaml U b.yaml V b.yaml W"},
		{"other numbers: another layout", []Checked{layout("b.yaml", foundAt("U", 0.055), foundAt("V", 0.06), w)}, nowhere, "b.yaml U b.yaml V b.yaml W"},
		{"numbers a little beside it", []Checked{layout("b.yaml", foundAt("U", 0.06201), foundAt("V", 0.07125), w)}, nowhere, "b.yaml U b.yaml V b.yaml W"},
		{"less than half of it", []Checked{layout("b.yaml", u)}, nowhere, "b.yaml U"},
		{"no number at all", []Checked{layout("b.yaml", w)}, nowhere, "b.yaml W"},
		{"known to be the same", []Checked{was(layout("b.yaml", w), Was{Layout: "a.yaml"})}, nowhere, ""},
		{"renamed sensor", []Checked{was(layout("a.yaml", foundAt("N", 0.062), v), Was{Names: map[string]string{"N": "U"}})}, nowhere, ""},
		{"renamed sensor of a layout that moved", []Checked{was(layout("b.yaml", foundAt("N", 0.062), v), Was{Layout: "a.yaml", Names: map[string]string{"N": "U"}})}, nowhere, ""},
		{"renamed sensor, worse", []Checked{was(layout("a.yaml", foundAt("N", 0.07), v), Was{Names: map[string]string{"N": "U"}})}, nowhere, "a.yaml N"},
	} {
		o := effective(t, "b.yaml", text).Apply(relocated(c.checked), Options{Exists: c.exists})
		var left []string
		for _, f := range o.Findings {
			if !IsRemark(f.Rule) && f.Verdict != finding.Permitted {
				left = append(left, f.Span.File+" "+f.Object)
			}
		}
		if got := strings.Join(left, " "); got != c.want {
			t.Errorf("%s: %q stay, want %q", c.name, got, c.want)
		}
	}
}

// relocated puts each finding into the file of its layout.
func relocated(list []Checked) []Checked {
	for i := range list {
		list[i].Findings = slices.Clone(list[i].Findings)
		for k := range list[i].Findings {
			list[i].Findings[k].Span.File = list[i].Layout
		}
	}
	return list
}

// Without any number nothing tells one layout from another, and a deviation follows one copy, not two.
func TestWhatDoesNotFollow(t *testing.T) {
	w := numberless("W")
	o := effective(t, "b.yaml", recorded(t, w)).Apply(relocated([]Checked{{Layout: "b.yaml", Findings: []finding.Finding{w}}}), Options{Exists: nowhere})
	if len(o.Permitted) > 0 {
		t.Errorf("without a number: %s", outcome(o))
	}
	// A layout that the baseline knows itself has not come from elsewhere.
	of := func(name string, list ...finding.Finding) Checked { return Checked{Layout: name, Findings: list} }
	known := effective(t).Record([]Checked{of("a.yaml", found()), of("b.yaml", foundAt("V", 0.07))}, nil, nil)
	var text strings.Builder
	if err := WriteBaseline(&text, known, func(s string) string { return s }); err != nil {
		t.Fatal(err)
	}
	o = effective(t, "b.yaml", text.String()).Apply(relocated([]Checked{of("b.yaml", found(), foundAt("V", 0.07))}), Options{Exists: nowhere})
	if len(o.Permitted) != 1 {
		t.Errorf("a new finding hides behind another layout: %s", outcome(o))
	}
	both := relocated([]Checked{{Layout: "b.yaml", Findings: []finding.Finding{found(), foundAt("V", 0.07)}},
		{Layout: "c.yaml", Findings: []finding.Finding{found(), foundAt("V", 0.07)}}})
	o = effective(t, "b.yaml", recorded(t, foundAt("V", 0.07)), "d.yaml", permits("until: 2026-12-31")).Apply(both, Options{Day: 1, Exists: nowhere})
	for _, p := range o.Permitted {
		if p.Finding.Span.File != "b.yaml" {
			t.Errorf("%s of %s is permitted", p.Finding.Object, p.Finding.Span.File)
		}
	}
	// A guess carries the baseline's line alone, not the deviation: somebody approved it for one layout.
	if len(o.Permitted) != 1 || !o.Permitted[0].InBase {
		t.Errorf("%d are permitted", len(o.Permitted))
	}
}

// What is carried is said once, and Standing writes it anew.
func TestBaselineFollowsAndSaysSo(t *testing.T) {
	text := recorded(t, foundAt("U", 0.062), foundAt("V", 0.07), foundAt("W", 0.08))
	e := effective(t, "b.yaml", text)
	o := e.Apply(relocated([]Checked{{Layout: "new.yaml", Findings: []finding.Finding{foundAt("U", 0.062), foundAt("V", 0.07)}}}), Options{Exists: nowhere})
	var said []string
	for _, f := range o.Findings {
		if IsRemark(f.Rule) {
			said = append(said, f.Span.String()+" "+f.Level.String()+" "+f.Message)
		}
	}
	want := []string{
		"b.yaml:4:5 note what the baseline records of a.yaml (2 lines) holds for new.yaml, its new name",
		`b.yaml:6:5 note nothing matches the baseline's stray-ratio of "W" in a.yaml any more`,
	}
	if !slices.Equal(said, want) {
		t.Errorf("got  %q\nwant %q", said, want)
	}
	for i, s := range o.Standing {
		if s.Holds != (i < 2) || s.Gone != (i == 2) || i < 2 && s.Entry.File != "new.yaml" {
			t.Errorf("%d: %+v", i, s)
		}
	}
	again := e.Record([]Checked{{Layout: "new.yaml", Findings: []finding.Finding{foundAt("U", 0.062), foundAt("V", 0.07)}}}, e.set.Baseline, nowhere)
	if len(again) != 2 || again[0].File != "new.yaml" {
		t.Errorf("recorded anew: %+v", again)
	}
}

// A deviation follows what is known to be the same, and says so; else it is lost.
func TestDeviationFollows(t *testing.T) {
	e := effective(t, "d.yaml", permits("until: 2026-12-31"))
	f := found()
	o := e.Apply(relocated([]Checked{{Layout: "b.yaml", Findings: []finding.Finding{f}, Was: Was{Layout: "a.yaml"}}}), Options{Day: 1, Exists: nowhere})
	if len(o.Permitted) != 1 || !strings.Contains(outcome(o), "note deviation-moved: the deviation for stray-ratio of \"U\" in a.yaml holds for b.yaml, its new name") {
		t.Errorf("%s", outcome(o))
	}
	o = e.Apply(relocated([]Checked{{Layout: "b.yaml", Findings: []finding.Finding{f}}}), Options{Day: 1, Exists: nowhere})
	if len(o.Permitted) != 0 || !strings.Contains(outcome(o), "warning deviation-lost") {
		t.Errorf("%s", outcome(o))
	}
	if related := o.Findings[0].Related; len(related) != 1 || related[0].Message != "the deviation names a.yaml, which does not exist" || !related[0].Always {
		t.Errorf("%+v", related)
	}
	// That it ends soon is told as well.
	o = e.Apply([]Checked{{Layout: "b.yaml", Findings: []finding.Finding{f}, Was: Was{Layout: "a.yaml"}}}, Options{Day: day("2026-12-30"), Exists: nowhere})
	if text := outcome(o); !strings.Contains(text, "deviation-moved") || !strings.Contains(text, "deviation-ends-soon") {
		t.Errorf("%s", text)
	}
	f.Object = "N"
	o = e.Apply([]Checked{{Layout: "a.yaml", Findings: []finding.Finding{f}, Was: Was{Names: map[string]string{"N": "U"}}}}, Options{Day: 1})
	if len(o.Permitted) != 1 || !strings.Contains(outcome(o), `holds for "N", its new name`) {
		t.Errorf("%s", outcome(o))
	}
}

// A deviation that permits nothing says under the finding that it misses least what keeps it off; one that permits
// something is no matter of others.
func TestMissedBy(t *testing.T) {
	u, v := found(), found()
	v.Object = "V"
	for _, c := range []struct {
		name, permits string
		found         []finding.Finding
		want          []string // under the findings, in their order
	}{
		{"other object", permits("until: 2026-12-31"), []finding.Finding{v}, []string{`the deviation is for "U", this is "V"`}},
		{"other cause", permits("cause: climb, until: 2026-12-31"), []finding.Finding{u, v}, []string{`the deviation is for "climb", this is "cruise"`, ""}},
		{"other cause and object", permits("cause: climb, until: 2026-12-31"), []finding.Finding{v}, []string{""}},
		{"it permits another", permits("until: 2026-12-31"), []finding.Finding{u, v}, []string{"", ""}},
		{"ended", permits("until: 1999-12-31"), []finding.Finding{u, v}, []string{"the deviation ended on 1999-12-31", ""}},
	} {
		o := effective(t, "d.yaml", c.permits).Apply([]Checked{{Layout: "a.yaml", Findings: c.found}}, Options{Day: day("2026-06-01")})
		i := 0
		for _, f := range o.Findings {
			if IsRemark(f.Rule) {
				continue
			}
			got := ""
			for _, r := range f.Related {
				if r.Always {
					got += r.Message
				}
			}
			if got != c.want[i] {
				t.Errorf("%s: %q says %q, want %q", c.name, f.Object, got, c.want[i])
			}
			i++
		}
	}
}
