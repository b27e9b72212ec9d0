package rules_test

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// Above a bar the field runs along the face: an axis turned by t reads cos t.
func TestSensorAxis(t *testing.T) {
	for axis, want := range map[string]struct {
		verdict finding.Verdict
		share   float64
	}{
		"180 deg":          {finding.Pass, 1},
		"160.1 deg":        {finding.Pass, math.Cos(19.9 * math.Pi / 180)},
		"200 deg":          {finding.Fail, math.Cos(20 * math.Pi / 180)},
		"0 deg":            {finding.Pass, 1}, // the sign is polarity's to judge
		"[-1, 0, 1]":       {finding.Fail, math.Sqrt(0.5)},
		"[-0.6, 0.8, 0]":   {finding.Fail, 0.6},
		"[-0.96, 0, 0.28]": {finding.Pass, 0.96},
	} {
		f := one(t, check(t, rules.SensorAxis, strings.Replace(smallBar(2.5, ""), "180 deg", axis, 1)), "S")
		measured(t, f, want.verdict, want.share, 1e-9)
	}
}

// The quiet axis lies across the neighbour's field: there the sensor of the
// 15 x 4 mm pair at 25 mm reads nothing of it. The neighbour makes 0.808 mT, of
// which 0.151 mT are along the face (common practice), so the quiet axis keeps
// √(0.808² - 0.151²)/0.808 of the own field and stands asin(0.151/0.808) from it.
func TestSensorAxisQuiet(t *testing.T) {
	yaml := strings.Replace(smallBar(2.5, ""), "metal: copper}}", "metal: copper}, B: {section: {width: 15 mm, thickness: 4 mm}, at: [25 mm, 0 mm], metal: copper}}", 1)
	f := one(t, check(t, rules.SensorAxis, yaml), "S")
	if !strings.Contains(f.Message, `At 169 deg it would be blind to bar "B" and read 98.2 %`) {
		t.Errorf("message: %s", f.Message)
	}
}

// In the middle of a bar its field is zero: no axis reads it, and no number is said.
func TestSensorAxisNoField(t *testing.T) {
	yaml := `layout: 1
bars: {A: {section: {diameter: 10 mm}, at: [0 mm, 0 mm], metal: copper}}
sensors: {S: {reads: A, at: [0 mm, 0 mm], axis: 180 deg}}
`
	f := one(t, check(t, rules.SensorAxis, yaml), "S")
	if f.Verdict != finding.Fail || f.Level != finding.Error || !strings.Contains(f.Message, "is zero") {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
}

// An axis that lies across the field reads nothing, which is an error whatever the limit
// for a poor axis is worth. cos 89.4° = 0.0105 still reads a hundredth.
func TestSensorAxisReadsNothing(t *testing.T) {
	for axis, want := range map[string]finding.Level{"90 deg": finding.Error, "[0, 0, 1]": finding.Error,
		"90.5 deg": finding.Error, "90.6 deg": finding.Warning} {
		f := one(t, check(t, rules.SensorAxis, strings.Replace(smallBar(2.5, ""), "180 deg", axis, 1)), "S")
		if f.Verdict != finding.Fail || f.Level != want {
			t.Errorf("%s: %v %v, want %v: %s", axis, f.Verdict, f.Level, want, f.Message)
		}
	}
}
