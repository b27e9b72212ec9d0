package rules_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// Harmonics of order 180 and 360, whose phase turns with any instant that divides the period evenly, load and are
// judged: the peak of the three lies between the root of squares and the sum of 100, 30 and 20 A, and is
// that of 400000 samples of the same current.
func TestHighOrders(t *testing.T) {
	top := 0.0
	for i := range 400000 {
		x := 2 * math.Pi * float64(i) / 400000
		top = math.Max(top, math.Abs(100*math.Cos(x)+30*math.Cos(180*x+math.Pi/2)+20*math.Cos(360*x+math.Pi/2)))
	}
	yaml := smallBar(2.5,
		fmt.Sprintf("duties: {d: {kind: peak, frequency: 0.1 Hz, currents: {A: {peak: 100 A, harmonics: [%s, %s]}}}}\n",
			"{order: 180, peak: 30 A, phase: 90 deg}", "{order: 360, peak: 20 A, phase: 90 deg}"))
	f := one(t, check(t, rules.LinearRange, yaml), "S")
	// The samples miss a peak of order 360 by (360·π/400000)²/2, 4e-6; a thin bar at 36 Hz is exact to its bound.
	measured(t, f, finding.Pass, (top*smallBarT(2.5)+earthT)/8e-3, 1e-5+f.Measure.Certainty)
	if sum := (150*smallBarT(2.5) + earthT) / 8e-3; !(f.Measure.Value < 0.99*sum) {
		t.Errorf("%.4g is the sum of all peaks, %.4g, at an instant that does not come", f.Measure.Value, sum)
	}
}

// In iron that saturates 720 states of a period are more than are computed: that is said, and nothing passes.
func TestHighOrdersInIron(t *testing.T) {
	yaml := strings.Replace(shifted(true, true, 1150, 0), "order: 7,", "order: 180,", 1)
	f := one(t, check(t, rules.ShieldSaturation, yaml), "K")
	if f.Verdict != finding.Undecided || !strings.Contains(f.Message,
		"order 180 of duty \"haul\" asks for 720 states") {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
}
