package bounded_test

import (
	"fmt"
	"math"
	"testing"

	"busgauss/model/bounded"
)

func ExampleEstimate_Over() {
	e := bounded.Estimate{Value: 1, Low: 0.9, High: 1.1}.Over(bounded.Exact(2))
	fmt.Printf("%.2f %.2f %.2f\n", e.Value, e.Low, e.High)
	// Output: 0.50 0.45 0.55
}

// Division by what may be zero has no bounds.
func TestEstimateOverZero(t *testing.T) {
	for _, d := range []bounded.Estimate{bounded.Exact(0), {Value: 1, Low: 0, High: 2},
		{Value: 1, Low: math.NaN(), High: 2}} {
		if e := bounded.Exact(1).Over(d); !math.IsNaN(e.Low) || !math.IsNaN(e.High) {
			t.Errorf("1 over %v = %v", d, e)
		}
	}
	if c := (bounded.Estimate{Value: 2, Low: 1.9, High: 2.2}).Certainty(); math.Abs(c-0.1) > 1e-12 {
		t.Errorf("certainty %g", c)
	}
	if e := (bounded.Estimate{Value: 2, Low: 1, High: 3}).Scale(-1); e != (bounded.Estimate{Value: -2, Low: -3,
		High: -1}) {
		t.Errorf("scaled by -1: %v", e)
	}
}

// The largest of two unknown numbers lies between the larger of their bounds.
func TestMost(t *testing.T) {
	got := bounded.Most(bounded.Estimate{Value: 2, Low: 1, High: 5}, bounded.Estimate{Value: 3, Low: 0, High: 4})
	if got != (bounded.Estimate{Value: 3, Low: 1, High: 5}) {
		t.Errorf("%v", got)
	}
	if e := bounded.Most(bounded.Exact(1), bounded.Exact(math.NaN())); !math.IsNaN(e.Value + e.Low + e.High) {
		t.Errorf("%v", e)
	}
}
