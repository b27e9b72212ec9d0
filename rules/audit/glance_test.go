package audit

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/probe"
	"busgauss/rules"
	"busgauss/rules/report"
)

// said is a finding with a share of the own current as its number.
func said(rule string, v finding.Verdict, level finding.Level, object string, value float64) finding.Finding {
	return finding.Finding{Rule: rule, Verdict: v, Level: level, Object: object, Cause: "haul", Message: "m",
		Measure: &finding.Measure{Value: value, Limit: 0.05, Unit: "1", Certainty: 0.01, Of: finding.Share{Whole: finding.OwnCurrent}}}
}

func glanceOf(t *testing.T, permitted []report.Permission, findings ...finding.Finding) *Page {
	t.Helper()
	return Build(Input{Model: probe.NewModel(loaded(t, shielded)), Findings: findings, Permitted: permitted, Rules: rules.Describe(rules.All())})
}

// A note is no failure, what nobody decided is undecided, and the sum of two is that of their parts.
func TestTally(t *testing.T) {
	list := []Verdict{{Verdict: finding.Fail, Level: finding.Error}, {Verdict: finding.Fail, Level: finding.Note}, {}, {Verdict: finding.Undecided},
		{Verdict: finding.Permitted}, {Verdict: finding.Pass}, {Verdict: finding.NotApplicable}}
	got := Count(list)
	if want := (Tally{1, 1, 2, 1, 1, 1}); got != want || got.Judged() != 6 {
		t.Errorf("%+v, %d judged", got, got.Judged())
	}
	if got.Plus(got) != (Tally{2, 2, 4, 2, 2, 2}) {
		t.Errorf("%+v", got.Plus(got))
	}
}

// Each cell of the matrix is the worst verdict of a rule on a channel, the least margin among those;
// what is about no channel has a column of its own. The continuous duty drives 200 A, so that five per cent
// of the own current is 10 A and twenty are 40 A: 30 A too much.
func TestMatrix(t *testing.T) {
	p := glanceOf(t, nil,
		said("stray-ratio", finding.Pass, 0, "SA", 0.01), said("stray-ratio", finding.Fail, finding.Error, "SA", 0.2),
		said("stray-ratio", finding.Fail, finding.Error, "SA", 0.06), said("stray-ratio", finding.Pass, 0, "SB", 0.04),
		said("placement", finding.Fail, finding.Note, "SB", 0.9), said("bar-heating", finding.Undecided, finding.Warning, "A", 0.05),
		said("polarity", finding.NotApplicable, 0, "SA", 0))
	m := p.Glance.Matrix
	if !slices.Equal(m.Columns, []string{"SA", "SB"}) || !m.Rest || len(m.Rows) != 3 {
		t.Fatalf("%+v", m)
	}
	var got []string
	for _, r := range m.Rows {
		for k, c := range r.Cells {
			if c.Verdict >= 0 {
				v := &p.Verdicts[c.Verdict]
				got = append(got, strings.Join([]string{r.Rule, "ABR"[k : k+1], v.Verdict.String(), v.Margin, v.MarginAmount}, " "))
			}
		}
	}
	want := []string{"stray-ratio A fail -300 % -30.0 A", "stray-ratio B pass 20.0 % 2.00 A", "bar-heating R undecided 0 % ", "placement B fail -1700 % -170 A"}
	if !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	if n := m.Rows[0].Cells[0].Count; n != 3 {
		t.Errorf("the worst of %d", n)
	}
	if p := glanceOf(t, nil, said("stray-ratio", finding.Pass, 0, "SB", 0.01)); p.Glance.Matrix.Rest || len(p.Glance.Matrix.Rows[0].Cells) != 2 {
		t.Errorf("a column for nothing: %+v", p.Glance.Matrix)
	}
}

// What clears most stands first: checked changes with what they clear; where there is none, remedies, which
// findings with the same text share.
func TestChanges(t *testing.T) {
	with := func(f finding.Finding, remedy string, changes ...finding.Change) finding.Finding {
		f.Remedy, f.Changes = remedy, changes
		return f
	}
	fail := func(rule, object string) finding.Finding { return said(rule, finding.Fail, finding.Error, object, 0.2) }
	quiet := []finding.Finding{with(fail("polarity", "SA"), ""), with(said("stray-ratio", finding.Pass, 0, "SA", 0.01), "nothing to do"),
		with(said("range-use", finding.Fail, finding.Note, "SA", 0.2), "a note asks for nothing")}
	remedies := []finding.Finding{
		with(fail("placement", "SA"), `hold y, or say "y: far" to it`),
		with(fail("linear-range", "SA"), "a part linear to 30 mT: passes; less output"),
		with(fail("linear-range", "SB"), "a part linear to 30 mT: passes; less output"),
	}
	g := glanceOf(t, nil, append(remedies, quiet...)...).Glance
	want := []Change{{"a part linear to 30 mT", "passes; less output", []string{"linear-range of SA", "linear-range of SB"}, false},
		{`hold y, or say "y: far" to it`, "", []string{"placement of SA"}, false}}
	if g.Offered != 2 || !reflect.DeepEqual(g.Changes, want) {
		t.Errorf("%d offered: %+v", g.Offered, g.Changes)
	}
	pitch := finding.Change{Title: "raise the pitch to 44 mm", Effect: "stray 2 %", Clears: []string{"stray-ratio of SB", "placement of SA"}}
	checked := append(remedies, with(fail("stray-ratio", "SA"), "raise the pitch", pitch), with(fail("stray-ratio", "SB"), "raise the pitch", pitch),
		with(fail("placement", "SA"), "hold y", finding.Change{Title: "hold y to 0.2 mm"}))
	g = glanceOf(t, nil, append(checked, quiet...)...).Glance
	want = []Change{{pitch.Title, pitch.Effect, []string{"stray-ratio of SA", "stray-ratio of SB", "placement of SA"}, true},
		{"hold y to 0.2 mm", "", []string{"placement of SA"}, true}}
	if g.Offered != 2 || !reflect.DeepEqual(g.Changes, want) {
		t.Errorf("%d offered: %+v", g.Offered, g.Changes)
	}
}

// The sentence says the worst of what is there, and what is open or permitted beside it.
func TestSentence(t *testing.T) {
	fail, open := said("stray-ratio", finding.Fail, finding.Error, "SA", 0.2), said("stray-ratio", finding.Undecided, finding.Warning, "SB", 0.05)
	hold, note := said("stray-ratio", finding.Pass, 0, "SB", 0.04), said("placement", finding.Fail, finding.Note, "SB", 0.9)
	heat := said("bar-heating", finding.Fail, finding.Warning, "A", 0.06)
	permits := []report.Permission{{Finding: said("stray-ratio", finding.Permitted, 0, "SA", 0.07), Was: finding.Fail, Level: finding.Error}}
	for _, c := range []struct {
		permits []report.Permission
		found   []finding.Finding
		verdict string
		rests   string
	}{
		{nil, nil, "Nothing judged", "no rule asks anything of this layout"},
		{nil, []finding.Finding{hold, note}, "Holds", "the one verdict on 2 channels; the least margin is 20.0 % (2.00 A), stray-ratio of SB; 1 is noted"},
		{nil, []finding.Finding{hold, open}, "Not decided", "1 of 2 verdicts could not be computed well enough, on 1 of 2 channels; what could be computed holds; the least margin is 20.0 % (2.00 A), stray-ratio of SB"},
		{permits, []finding.Finding{hold}, "Holds with permission", "1 of 2 verdicts would fail or stay open, and may by permission; the least margin is 20.0 % (2.00 A), stray-ratio of SB"},
		{permits, []finding.Finding{fail, heat, open, hold, note}, "Fails", "1 error and 1 warning on 1 of 2 channels and other parts; the worst is stray-ratio of SA, which misses its limit by 300 % (30.0 A); 1 verdict could not be decided, 1 is permitted and 1 is noted"},
		{nil, []finding.Finding{heat}, "Fails", "1 warning on other parts than channels; the worst is bar-heating of A, which misses its limit by 20.0 %"},
	} {
		g := glanceOf(t, c.permits, c.found...).Glance
		if g.Verdict != c.verdict || g.Sentence != c.rests {
			t.Errorf("%s: %s\nwant %s: %s", g.Verdict, g.Sentence, c.verdict, c.rests)
		}
	}
}

// Only a rule that judged something says what it does not see.
func TestNotSeenOfRulesThatRan(t *testing.T) {
	p := glanceOf(t, nil, said("stray-ratio", finding.Pass, 0, "SA", 0.01), said("phase-sum", finding.NotApplicable, 0, "", 0))
	if len(p.NotSeen) != 1 || p.NotSeen[0].Rule != "stray-ratio" {
		t.Errorf("%+v", p.NotSeen)
	}
}

// The drawing of a channel is taken in the duty in which it is worst, and shows its bar and its sensor;
// the curve beside it is the one that its worst rule is about.
func TestCloseUp(t *testing.T) {
	worst := said("gain-with-frequency", finding.Fail, finding.Error, "SA", 0.2)
	worst.Cause = "idle"
	p := glanceOf(t, nil, worst, said("placement", finding.Fail, finding.Error, "SB", 0.2))
	a, b := &p.Channels[0], &p.Channels[1]
	if p.Section.Frames[a.Frame].Duty != "idle" || p.Section.Frames[b.Frame].Duty != "haul" {
		t.Errorf("frames %d and %d", a.Frame, b.Frame)
	}
	if a.Curves[a.Lead].Name != frequencyCurveName || b.Curves[b.Lead].Name != placeCurveName {
		t.Errorf("curves %q and %q", a.Curves[a.Lead].Name, b.Curves[b.Lead].Name)
	}
	if d := &a.Drawing; d.Shade == nil || len(d.Bars) != 1 || d.Bars[0].Name != "A" || len(d.Shields) != 1 || len(d.Sensors) != 1 || d.Sensors[0].Name != "SA" {
		t.Errorf("%d bars, %d shields, %d sensors", len(d.Bars), len(d.Shields), len(d.Sensors))
	}
	for _, c := range []struct {
		cause string
		want  bool
	}{{"haul", true}, {"haul, 3rd harmonic", true}, {`fault duty "haul"`, true}, {"haulage", false}, {"", false}} {
		if inDuty(c.cause, "haul") != c.want {
			t.Errorf("cause %q", c.cause)
		}
	}
}

// The field in the middle of a ring of elements is none by symmetry, and a share of it says nothing: how far an
// array is certain is a share of its reading.
func TestCertaintyOfAnArray(t *testing.T) {
	p := built(t, fixture(t, "clean/ring-of-six.yaml"))
	for i := range p.Section.Frames {
		for _, r := range p.Section.Frames[i].Rows {
			if !(r.Certainty >= 0 && r.Certainty < 0.1) || !(r.AxisT > 0) {
				t.Errorf("frame %d: %s reads %g T, certain to %g", i, r.Sensor, r.AxisT, r.Certainty)
			}
		}
	}
}
