package rules_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// roundArray is a thin round bar with elements given as "x mm, y mm, axis deg, weight".
func roundArray(elements ...[4]float64) string {
	var b strings.Builder
	b.WriteString("layout: 1\nbars: {A: {section: {diameter: 10 mm}, at: [0 mm, 0 mm], metal: copper}}\n" +
		"sensors:\n  S:\n    reads: A\n    at: [0 mm, 0 mm]\n    axis: 0 deg\n    elements:\n")
	for _, e := range elements {
		fmt.Fprintf(&b, "      - {at: [%g mm, %g mm], axis: %g deg, weight: %g}\n", e[0], e[1], e[2], e[3])
	}
	return b.String()
}

// Round a round bar the field is tangential (closedform, Ampère's law) and as large at equal
// distances: an axis turned from the tangent by t reads cos t of it, and opposite weights of equal readings cancel.
func TestSensorAxisOfArrays(t *testing.T) {
	for name, c := range map[string]struct {
		yaml            string
		axis, kept      finding.Verdict
		share, keptPart float64
	}{
		"tangential": {roundArray([4]float64{20, 0, 90, 0.5}, [4]float64{-20, 0, 270, 0.5}), finding.Pass,
			finding.Pass, 1, 1},
		"one turned": {roundArray([4]float64{20, 0, 90, 0.5}, [4]float64{-20, 0, 210, 0.5}), finding.Fail,
			finding.Pass, 0.75, 1},
		"blind": {roundArray([4]float64{20, 0, 90, 0.5}, [4]float64{-20, 0, 90, 0.5}), finding.Pass,
			finding.Fail, 1, 0},
		"nearly blind": {roundArray([4]float64{20, 0, 90, 1}, [4]float64{-20, 0, 90, 0.98}), finding.Pass,
			finding.Fail, 1, 0.02 / 1.98},
		"gradient": {roundArray([4]float64{20, 0, 90, 1}, [4]float64{24, 0, 90, -1}), finding.Pass, finding.Pass,
			1, (1/20. - 1/24.) / (1/20. + 1/24.)},
		"weights by size": {roundArray([4]float64{20, 0, 90, 3}, [4]float64{-20, 0, 210, 1}), finding.Fail,
			finding.Pass, 0.875, 1},
	} {
		t.Run(name, func(t *testing.T) {
			found := check(t, rules.SensorAxis, c.yaml)
			var axis, kept *finding.Finding
			for i := range found {
				if strings.Contains(found[i].Message, "the axes of its elements") {
					axis = &found[i]
				} else {
					kept = &found[i]
				}
			}
			if axis == nil || kept == nil || len(found) != 2 {
				t.Fatalf("%d findings: %+v", len(found), found)
			}
			if axis.Verdict != c.axis || math.Abs(axis.Measure.Value-c.share) > 1e-7 {
				t.Errorf("axis: %v %g, want %v %g: %s", axis.Verdict, axis.Measure.Value, c.axis, c.share, axis.Message)
			}
			if kept.Verdict != c.kept || math.Abs(kept.Measure.Value-c.keptPart) > 1e-7 {
				t.Errorf("kept: %v %g, want %v %g: %s", kept.Verdict, kept.Measure.Value, c.kept, c.keptPart,
					kept.Message)
			}
			if blind := strings.Contains(kept.Message, "blind to its own circuit"); blind != (c.kept == finding.Fail) {
				t.Errorf("message: %s", kept.Message)
			}
		})
	}
}

// An axis straight across the field reads nothing of it: a failure, not a doubt.
func TestSensorAxisAcross(t *testing.T) {
	f := one(t, check(t, rules.SensorAxis, strings.Replace(smallBar(2.5, ""), "180 deg", "90 deg", 1)), "S")
	if f.Verdict != finding.Fail || strings.Contains(f.Remedy, "Inf") {
		t.Errorf("%v: %s (%s)", f.Verdict, f.Message, f.Remedy)
	}
}
