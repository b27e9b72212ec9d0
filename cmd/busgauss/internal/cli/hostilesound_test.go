package cli

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/layout"
)

// What targets and table hold checks to is seen to object.
func TestUnsoundIsFound(t *testing.T) {
	of := func(v finding.Verdict, value, limit float64) finding.Finding {
		return finding.Finding{Rule: "r", Object: "S", Verdict: v, Message: "m", Measure: &finding.Measure{Value: value, Limit: limit}}
	}
	sound := verdictsOf{outcome: outcome{understood: true, layout: &layout.Layout{Sensors: []layout.Sensor{{ID: "S"}}},
		said: []finding.Finding{of(finding.Pass, 1, 2), of(finding.Fail, 3, 2), of(finding.Undecided, math.NaN(), 2)}}}
	if got := sound.unsound(""); len(got) > 0 {
		t.Errorf("of what is sound: %q", got)
	}
	with := func(change func(*verdictsOf)) verdictsOf {
		j := sound
		j.said = append([]finding.Finding(nil), sound.said...)
		change(&j)
		return j
	}
	for want, j := range map[string]verdictsOf{
		"pass with value NaN":            with(func(j *verdictsOf) { j.said[0] = of(finding.Pass, math.NaN(), 2) }),
		"pass with value 1, limit NaN":   with(func(j *verdictsOf) { j.said[0] = of(finding.Pass, 1, math.NaN()) }),
		"pass with value 3":              with(func(j *verdictsOf) { j.said[0] = of(finding.Pass, 3, 2) }),
		"fail with value 1":              with(func(j *verdictsOf) { j.said[1] = of(finding.Fail, 1, 2) }),
		"pass with value +Inf":           with(func(j *verdictsOf) { j.said[0] = of(finding.Pass, math.Inf(1), math.Inf(1)) }),
		"has no verdict":                 with(func(j *verdictsOf) { j.said[0] = of(0, 1, 2) }),
		"without a message":              with(func(j *verdictsOf) { j.said[1].Message = "" }),
		"nothing is said of sensor":      with(func(j *verdictsOf) { j.layout = &layout.Layout{Sensors: []layout.Sensor{{ID: "T"}}} }),
		"nothing is said":                with(func(j *verdictsOf) { j.said, j.layout = nil, &layout.Layout{} }),
		`the text says "NaN"`:            with(func(j *verdictsOf) { j.text = "NaN times as much" }),
		"a pass of a layout that is not": with(func(j *verdictsOf) { j.understood = false }),
	} {
		if got := strings.Join(j.unsound(""), "; "); !strings.Contains(got, want) {
			t.Errorf("%q, want %q", got, want)
		}
	}
	one, two := 1.0, 2.0
	for _, c := range []struct {
		f  jsonFinding
		ok bool
	}{
		{jsonFinding{Verdict: "pass", Value: &one, Limit: &two, LimitOrigin: "d"}, true},
		{jsonFinding{Verdict: "pass", Value: &two, Limit: &one, LimitOrigin: "d"}, false},
		{jsonFinding{Verdict: "pass", Limit: &two, LimitOrigin: "d"}, false},
		{jsonFinding{Verdict: "fail", Value: &one, LimitOrigin: "d"}, false},
		{jsonFinding{Verdict: "fail", Value: &one, Limit: &two, AtLeast: true, LimitOrigin: "d"}, true},
		{jsonFinding{Verdict: "undecided", LimitOrigin: "d"}, true},
		{jsonFinding{Verdict: "pass"}, true},
	} {
		if why := c.f.unsound(); (why == "") != c.ok {
			t.Errorf("%+v: %q", c.f, why)
		}
	}
}
