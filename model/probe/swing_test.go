package probe

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"busgauss/model/bounded"
	"busgauss/model/layout"
)

// TestSwingAgainstSampling compares the two ends of a swing with the time signal
// itself, sampled without any of the package's shortcuts: fundamental and
// harmonics keep their phases, the ripple takes its worst.
func TestSwingAgainstSampling(t *testing.T) {
	const seed = 11
	random := rand.New(rand.NewPCG(seed, seed))
	for trial := range 40 {
		var w wave
		mean := random.NormFloat64()
		w.add(&layout.Component{}, bounded.Phasor{V: complex(mean, 0)})
		type part struct{ order, size, phase float64 }
		var parts []part
		for _, order := range []float64{1, 3, 5, 7}[:1+trial%4] {
			p := part{order, random.ExpFloat64(), 2 * math.Pi * random.Float64()}
			parts = append(parts, p)
			w.add(&layout.Component{FreqHz: 50 * order}, bounded.Phasor{V: complex(p.size*math.Cos(p.phase), p.size*math.Sin(p.phase))})
		}
		free := 0.0
		if trial%2 == 1 {
			free = random.ExpFloat64()
			w.add(&layout.Component{FreqHz: 8000, FreePhase: true}, bounded.Phasor{V: complex(0, free)})
		}
		low, high := math.Inf(1), math.Inf(-1)
		for i := range 200000 {
			x := 2 * math.Pi * float64(i) / 200000
			v := mean
			for _, p := range parts {
				v += p.size * math.Cos(p.order*x+p.phase)
			}
			low, high = math.Min(low, v), math.Max(high, v)
		}
		low, high = low-free, high+free
		got := w.swing()
		// A parabola through 720 instants errs by the fourth order of the step: below 1e-5
		// of the size for the seventh harmonic.
		if tol := 1e-5 * (high - low); math.Abs(got.Low.Value-low) > tol || math.Abs(got.High.Value-high) > tol {
			t.Errorf("seed %d, trial %d: %.8g to %.8g, sampled %.8g to %.8g", seed, trial, got.Low.Value, got.High.Value, low, high)
		}
	}
}

// One cosine on a mean reaches mean ± amplitude; bounds widen both ends.
func TestSwingOfOneCosine(t *testing.T) {
	var w wave
	w.add(&layout.Component{}, bounded.Phasor{V: 2, Bound: 0.1})
	w.add(&layout.Component{FreqHz: 50}, bounded.Phasor{V: complex(3, 4), Bound: 0.2})
	got := w.swing()
	if want := (bounded.Estimate{Value: -3, Low: -3.3, High: -2.7}); !close3(got.Low, want) {
		t.Errorf("low %v, want %v", got.Low, want)
	}
	if want := (bounded.Estimate{Value: 7, Low: 6.7, High: 7.3}); !close3(got.High, want) {
		t.Errorf("high %v, want %v", got.High, want)
	}
}

func close3(a, b bounded.Estimate) bool {
	const tol = 1e-12
	return math.Abs(a.Value-b.Value) < tol && math.Abs(a.Low-b.Low) < tol && math.Abs(a.High-b.High) < tol
}

func ExampleEstimate_Over() {
	e := bounded.Estimate{Value: 1, Low: 0.9, High: 1.1}.Over(bounded.Exact(2))
	fmt.Printf("%.2f %.2f %.2f\n", e.Value, e.Low, e.High)
	// Output: 0.50 0.45 0.55
}

// Division by what may be zero has no bounds.
func TestEstimateOverZero(t *testing.T) {
	for _, d := range []bounded.Estimate{bounded.Exact(0), {Value: 1, Low: 0, High: 2}, {Value: 1, Low: math.NaN(), High: 2}} {
		if e := bounded.Exact(1).Over(d); !math.IsNaN(e.Low) || !math.IsNaN(e.High) {
			t.Errorf("1 over %v = %v", d, e)
		}
	}
	if c := (bounded.Estimate{Value: 2, Low: 1.9, High: 2.2}).Certainty(); math.Abs(c-0.1) > 1e-12 {
		t.Errorf("certainty %g", c)
	}
	if e := (bounded.Estimate{Value: 2, Low: 1, High: 3}).Scale(-1); e != (bounded.Estimate{Value: -2, Low: -3, High: -1}) {
		t.Errorf("scaled by -1: %v", e)
	}
}
