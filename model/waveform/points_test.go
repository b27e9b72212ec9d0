package waveform

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/layout"
)

func points(pairs ...float64) []layout.Point {
	var out []layout.Point
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, layout.Point{TimeS: num(pairs[i]), CurrentA: num(pairs[i+1])})
	}
	return out
}

func pointed(periodS float64, list ...[]layout.Point) *Currents {
	d := &layout.Duty{Set: layout.Set{FreqHz: num(1 / periodS), PeriodS: num(periodS)}}
	for i, p := range list {
		d.Currents = append(d.Currents, layout.Current{Circuit: layout.CircuitIndex(i), Sign: 1, Points: p})
	}
	return Of(circuits(len(list)), d)
}

// linear is the waveform of the points itself.
func linear(p []layout.Point, periodS, timeS float64) float64 {
	t := math.Mod(timeS-p[0].TimeS.V, periodS)
	if t < 0 {
		t += periodS
	}
	t += p[0].TimeS.V
	for i := range p {
		next, until := p[0].CurrentA.V, p[0].TimeS.V+periodS
		if i+1 < len(p) {
			next, until = p[i+1].CurrentA.V, p[i+1].TimeS.V
		}
		if t <= until {
			return p[i].CurrentA.V + (next-p[i].CurrentA.V)*(t-p[i].TimeS.V)/(until-p[i].TimeS.V)
		}
	}
	return math.NaN()
}

// rectified is |sin| with a period of 10 ms in 500 straight pieces: mean 2/π, rms 1/√2
// of the peak (definition of both averages), even orders 4/π/(4k²−1).
func rectified(peakA float64) []layout.Point {
	var out []layout.Point
	for i := range 500 {
		out = append(out, points(10e-3*float64(i)/500, peakA*math.Sin(math.Pi*float64(i)/500))...)
	}
	return out
}

// Peak, mean and rms of a triangle (peak/√3), a trapezoid with rises of a share r of the period
// (rms² = peak²·(1 − 4r/3)) and a rectified sine: their integrals by hand. The peak
// lies within the bounds, rms within its bound, and the left-over holds everywhere.
func TestWaveformsOfPoints(t *testing.T) {
	for _, c := range []struct {
		name                     string
		points                   []layout.Point
		peakA, lowA, meanA, rmsA float64
		leftOverA                float64 // at most
	}{
		{"triangle", points(0, 90, 5e-3, -90), 90, -90, 0, 90 / math.Sqrt(3), 3.6},
		{"late triangle", points(1e-3, 90, 6e-3, -90), 90, -90, 0, 90 / math.Sqrt(3), 3.6},
		{"trapezoid", points(0, -60, 1e-3, 60, 5e-3, 60, 6e-3, -60), 60, -60, 0,
			60 * math.Sqrt(1-0.4/3), 2.4},
		{"steep trapezoid", points(0, -60, 1e-4, 60, 5e-3, 60, 5.1e-3, -60), 60, -60, 0,
			60 * math.Sqrt(1-0.04/3), 20},
		{"pulse", points(0, 0, 2e-3, -300, 7e-3, -300, 9e-3, 0), 0, -300, -210,
			300 * math.Sqrt(0.5+0.4/3), 6},
		{"rectified sine", rectified(50), 50, 0, 100 / math.Pi, 50 / math.Sqrt2, 1},
	} {
		currents := pointed(10e-3, c.points)
		s := currents.Current(0)
		if low, high := s.Extremes(); low.Value != c.lowA || math.Abs(high.Value-c.peakA) > 1e-4*c.peakA ||
			low.Low != low.High {
			t.Errorf("%s: points say %+v, %+v", c.name, low, high)
		}
		s.Exact = nil // the series alone
		low, high := s.Extremes()
		if !(high.Low <= c.peakA && c.peakA <= high.High && low.Low <= c.lowA && c.lowA <= low.High) {
			t.Errorf("%s: peak %g in %+v, %g in %+v", c.name, c.peakA, high, c.lowA, low)
		}
		if !(s.LeftOver <= c.leftOverA) {
			t.Errorf("%s: left-over %g A, want at most %g", c.name, s.LeftOver, c.leftOverA)
		}
		if c.meanA != 0 || currents.Components[0].FreqHz == 0 {
			near(t, c.name+" mean", real(currents.Components[0].PeakA[0]), c.meanA, 1e-3)
		}
		rms, bound := s.RMS()
		near(t, c.name+" rms", rms, c.rmsA, bound)
		near(t, c.name+" rms closely", rms, c.rmsA, 6e-3*c.rmsA)
		for i := range 9973 {
			at := 10e-3 * float64(i) / 9973
			if x := math.Abs(s.At(at) - linear(c.points, 10e-3, at)); x > s.LeftOver {
				t.Fatalf("%s: %g A left out at %g s, bound %g", c.name, x, at, s.LeftOver)
			}
		}
	}
}

// Orders of a triangle are 8/π²/k², odd only (I. S. Gradshteyn, I. M. Ryzhik, 1.444.6; from memory);
// of a rectified sine of angular frequency ω/2 −4/π/(4k²−1) (same, 1.444, and for 500 chords
// of it within their sag).
func TestSeriesOfPoints(t *testing.T) {
	got := newOutline(points(0, 1, 5e-3, -1), 10e-3).series(9)
	for k := 1; k <= 9; k++ {
		want := complex(float64(k%2)*8/(math.Pi*math.Pi*float64(k*k)), 0)
		same(t, fmt.Sprintf("triangle %d", k), got[k-1], want)
	}
	got = newOutline(rectified(1), 10e-3).series(9)
	for k := 1; k <= 9; k++ {
		want := complex(-4/math.Pi/float64(4*k*k-1), 0)
		if !(cmplx.Abs(got[k-1]-want) <= 1e-5) {
			t.Errorf("rectified %d: %v, want %v", k, got[k-1], want)
		}
	}
	// A saw tooth jumps where it closes: peak/π/k (Gradshteyn, 1.441.1; from memory).
	got = newOutline(points(0, -1, 10e-3, 1), 10e-3).series(5)
	for k := 1; k <= 5; k++ {
		same(t, fmt.Sprintf("saw tooth %d", k), got[k-1], complex(0, 2/math.Pi/float64(k)))
	}
}

// Circuits of one set share their orders; one that returns another is its negative; what
// lies above HighestHz is left out and bounded.
func TestPointsOfSeveralCircuits(t *testing.T) {
	l := circuits(3)
	wave := points(0, -60, 2e-6, 60, 25e-6, 60, 27e-6, -60)
	d := &layout.Duty{Set: layout.Set{FreqHz: num(20e3), PeriodS: num(50e-6), Currents: []layout.Current{
		{Circuit: 0, Sign: 1, Points: wave}, {Circuit: 1, Sign: -1, Points: wave},
		{Circuit: 2, Sign: 1, Points: points(0, 5, 25e-6, -5)}}}}
	c := Of(l, d)
	for i := range c.Components {
		p := &c.Components[i]
		same(t, p.Role, p.PeakA[0]+p.PeakA[1], 0)
		if p.FreqHz > HighestHz*(1+1e-9) {
			t.Errorf("%s at %g Hz", p.Role, p.FreqHz)
		}
	}
	if n := c.HighestOrder(0); n > 50 || n < 35 {
		t.Errorf("highest order %d of at most 1 MHz / 20 kHz", n)
	}
	if !(c.LeftOverA[0] > 0.1 && c.LeftOverA[0] < 12 && c.LeftOverA[0] == c.LeftOverA[1]) {
		t.Errorf("left-over %v", c.LeftOverA)
	}
}

// The longest period that is read, 1e15 s, has 1e21 orders up to the highest frequency, more than an int holds.
func TestPointsOfAges(t *testing.T) {
	d := &layout.Duty{Set: layout.Set{FreqHz: num(1e-15), PeriodS: num(1e15), Currents: []layout.Current{
		{Circuit: 0, Sign: 1, Points: points(0, 0, 25e13, 60, 75e13, -60)}}}}
	if n := Of(circuits(1), d).HighestOrder(0); n < 2 {
		t.Errorf("highest order %d", n)
	}
}

// A triangular ripple: rms peak/√3, odd orders 8/π²/k², in time within the left-over of the
// triangle; -120 degrees is a third of its period later, and a pair out and return stays one.
func TestTriangularRipple(t *testing.T) {
	d := &layout.Duty{
		Set: layout.Set{Currents: []layout.Current{
			{Circuit: 0, Sign: 1, Amount: layout.Amount{DCA: num(10)}},
			{Circuit: 1, Sign: 1, Amount: layout.Amount{DCA: num(-10)}}}},
		Ripple: &layout.Ripple{FreqHz: num(8e3), Amount: layout.Amount{RMSA: num(6)},
			Shape: layout.Choice[layout.RippleShape]{V: layout.Triangle}},
	}
	c := Of(circuits(2), d)
	s := c.Current(0)
	peak := 6 * math.Sqrt(3)
	_, high := s.Extremes()
	if !(high.Low <= 10+peak && 10+peak <= high.High && high.High-high.Low < 0.15*peak) {
		t.Errorf("peak %g in %+v", 10+peak, high)
	}
	rms, _ := s.RMS()
	near(t, "rms", rms, math.Sqrt(100+36), 2e-3)
	if c.Components[2].Role != "ripple harmonic 3" || c.Components[2].FreqHz != 24e3 {
		t.Errorf("third %+v", c.Components[2])
	}
	for i := range c.Components {
		same(t, "in and out", c.Components[i].PeakA[0]+c.Components[i].PeakA[1], 0)
	}
	near(t, "falls straight", s.At(1/8e3/8), 10+peak/2, s.LeftOver)

	d.Ripple.Currents = []layout.Current{current(0, 1, 3, 0), current(1, -1, 4, -120)}
	own := Of(circuits(2), d)
	period := 1 / 8e3
	for _, at := range []float64{0, 0.1 * period, 0.37 * period} {
		first, second := own.At(at)[0]-10, own.At(at + period/3)[1]+10
		near(t, "a third of a period later, negative", second, -first*4/3, 1e-9)
	}
	// Carriers at 200 kHz keep orders up to 1 MHz; the rest is left over.
	d.Ripple.FreqHz = num(200e3)
	if got := Of(circuits(2), d); len(got.Components) != 1+3 || !(got.LeftOverA[0] > 0.03*3) {
		t.Errorf("%d components, left-over %v", len(got.Components), got.LeftOverA)
	}
}

// A trapezoid drawn once, and five times in a period five times as long, is one current: the same components, the
// lowest of them the fundamental.
func TestSeveralCyclesInOnePeriod(t *testing.T) {
	corners := [][2]float64{{0, 0}, {0.1, 75}, {0.5, 75}, {0.6, -75}, {0.95, -75}}
	drawn := func(cycles int) *Currents {
		const cycleS = 50e-6
		var points []layout.Point
		for k := range cycles {
			for _, c := range corners {
				points = append(points, layout.Point{TimeS: num(cycleS * (float64(k) + c[0])), CurrentA: num(c[1])})
			}
		}
		return Of(circuits(1), &layout.Duty{Set: layout.Set{FreqHz: num(1 / (cycleS * float64(cycles))),
			Currents: []layout.Current{{Circuit: 0, Sign: 1, Points: points}}}})
	}
	once, five := drawn(1), drawn(5)
	if len(once.Components) != len(five.Components) {
		t.Fatalf("%d and %d components", len(once.Components), len(five.Components))
	}
	for i := range once.Components {
		a, b := &once.Components[i], &five.Components[i]
		if a.Role != b.Role || math.Abs(a.FreqHz-b.FreqHz) > 1e-6*a.FreqHz || cmplx.Abs(a.PeakA[0]-b.PeakA[0]) > 1e-9*75 {
			t.Errorf("%s %g Hz %v, drawn five times %s %g Hz %v", a.Role, a.FreqHz, a.PeakA[0], b.Role, b.FreqHz, b.PeakA[0])
		}
	}
	if f := once.Components[len(once.Components)-1]; len(once.Components) < 5 || f.FreqHz < 20e3 {
		t.Errorf("last %+v", f)
	}
	near(t, "left over", five.LeftOverA[0], once.LeftOverA[0], 1e-9)
}

// What a trapezoid holds at high orders is less than its bound, which falls as one over the order; a jump has no bound but its
// peak to peak.
func TestFromHz(t *testing.T) {
	of := func(points []layout.Point) *Currents {
		return Of(circuits(1), &layout.Duty{Set: layout.Set{FreqHz: num(50), Currents: []layout.Current{{Circuit: 0, Sign: 1, Points: points}}}})
	}
	trapezoid := points(0, 0, 1e-3, 100, 9e-3, 100, 11e-3, -100, 19e-3, -100)
	c := of(trapezoid)
	series := newOutline(trapezoid, 20e-3).series(1000)
	for _, k := range []int{5, 31, 200} {
		sum := 0.0
		for _, p := range series[k-1:] {
			sum += cmplx.Abs(p)
		}
		got := c.FromHzA(0, 50*float64(k))
		if !(got >= sum) || !(got < 4*sum) {
			t.Errorf("from order %d: bound %g A of %g A", k, got, sum)
		}
	}
	if got := of(points(0, 100, 20e-3, -100)).FromHzA(0, 5e3); got != 200 {
		t.Errorf("saw tooth: %g A, want 200", got)
	}
}

// An order at the frequency itself is one of those from it on, whatever rounding makes of their quotient.
func TestFromHzCountsTheOrderThere(t *testing.T) {
	for _, baseHz := range []float64{0.1, 0.7, 3.3, 49.9, 60.1, 1e3 / 3} {
		c := pointed(1/baseHz, points(0, -1, 0.5/baseHz, 1))
		for k := 2.0; k < 60; k++ {
			hz := 0.0
			for range int(k) {
				hz += baseHz // ends a little above or below k times as much
			}
			if at, below := c.FromHzA(0, hz), c.FromHzA(0, (k-0.5)*baseHz); at != below {
				t.Fatalf("order %g of %g Hz: %.6g A from it on, %.6g A from below it on", k, baseHz, at, below)
			}
		}
	}
}
