package waveform

import (
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/layout"
)

func num(v float64) layout.Num { return layout.Num{V: v, Set: true} }

func balanced(rmsA float64) *layout.ThreePhase {
	return &layout.ThreePhase{Circuits: [3]layout.CircuitIndex{0, 1, 2}, Signs: [3]float64{1, 1, 1},
		Amount: layout.Amount{RMSA: num(rmsA)}}
}

func current(circuit int, sign, peakA, deg float64) layout.Current {
	return layout.Current{Circuit: layout.CircuitIndex(circuit), Sign: sign,
		Amount: layout.Amount{PeakA: num(peakA), PhaseRad: num(deg * math.Pi / 180)}}
}

func harmonic(order, share, deg float64) layout.Harmonic {
	return layout.Harmonic{Order: num(order), Share: num(share),
		Amount: layout.Amount{PhaseRad: num(deg * math.Pi / 180)}}
}

func circuits(n int) *layout.Layout { return &layout.Layout{Circuits: make([]layout.Circuit, n)} }

func same(t *testing.T, what string, got, want complex128) {
	t.Helper()
	if !(cmplx.Abs(got-want) <= 1e-12*(1+cmplx.Abs(want))) {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

func polar(size, deg float64) complex128 { return cmplx.Rect(size, deg*math.Pi/180) }

// A balanced set: the second circuit lags by 120 degrees, the third by another 120
// (definition); rms is the peak over √2; the fifth harmonic is of negative sequence, the
// third in phase, the seventh positive (J. C. Das, Power System Harmonics and Passive Filter
// Designs, 2015, section 1.6; from memory). Ripple keeps the phases of the fundamental.
func TestThreePhase(t *testing.T) {
	d := &layout.Duty{
		Set: layout.Set{FreqHz: num(50), ThreePhase: balanced(100),
			Harmonics: []layout.Harmonic{harmonic(5, 0.2, 40), harmonic(3, 0.1, -15), harmonic(7, 0.05, 0)}},
		Ripple: &layout.Ripple{FreqHz: num(8000), Amount: layout.Amount{PeakA: num(3)}},
	}
	d.ThreePhase.Amount.PhaseRad = num(30 * math.Pi / 180)
	c := Of(circuits(3), d)
	if len(c.Components) != 5 || c.Components[1].Role != "harmonic 5" || c.Components[1].FreqHz != 250 ||
		c.Components[4].Role != "ripple" || c.Components[4].Group != 1 || c.Groups != 2 {
		t.Fatalf("components %+v", c.Components)
	}
	for k, lag := range []float64{0, 120, 240} {
		same(t, "fundamental", c.Components[0].PeakA[k], polar(100*math.Sqrt2, 30-lag))
		same(t, "fifth", c.Components[1].PeakA[k], polar(20*math.Sqrt2, 40+lag))
		same(t, "third", c.Components[2].PeakA[k], polar(10*math.Sqrt2, -15))
		same(t, "seventh", c.Components[3].PeakA[k], polar(5*math.Sqrt2, -lag))
		same(t, "ripple", c.Components[4].PeakA[k], polar(3, 30-lag))
	}
	// Phase b is phase a a third of a period later, harmonics too.
	for _, at := range []float64{0, 1.1e-3, 7.9e-3} {
		near(t, "shifted", c.At(at + 0.02/3)[1], c.At(at)[0], 1e-9)
	}
	d.ThreePhase.Signs[1] = -1
	negative := Of(circuits(3), d)
	for i := range c.Components[:4] {
		same(t, "sign", negative.Components[i].PeakA[1], -c.Components[i].PeakA[1])
	}
}

// What comes back is the negative of what goes out at every instant, with even harmonics
// and direct current: written as a phase of 180 degrees, or with the sign of a series circuit.
func TestReturnIsNegative(t *testing.T) {
	harmonics := []layout.Harmonic{harmonic(2, 0.3, 20), harmonic(3, 0.2, 70), harmonic(4, 0.1, -40)}
	for _, way := range []struct {
		name string
		back layout.Current
	}{{"phase", current(1, 1, 80, 190)}, {"sign", current(1, -1, 80, 10)}} {
		name, back := way.name, way.back
		out := current(0, 1, 80, 10)
		out.DCA, back.DCA = num(25), num(25*real(polar(1, 180))*back.Sign)
		c := Of(circuits(2), &layout.Duty{Set: layout.Set{FreqHz: num(60),
			Currents: []layout.Current{out, back}, Harmonics: harmonics}})
		if len(c.Components) != 5 {
			t.Fatalf("%s: %d components", name, len(c.Components))
		}
		for i := range c.Components {
			p := &c.Components[i]
			same(t, name+" "+p.Role, p.PeakA[0]+p.PeakA[1], 0)
		}
		same(t, name+" second harmonic", c.Components[2].PeakA[0], polar(24, 20))
	}
	// Its own harmonics are taken as they are written.
	own := current(1, 1, 80, 190)
	own.Harmonics = []layout.Harmonic{harmonic(2, 0.5, 0)}
	c := Of(circuits(2), &layout.Duty{Set: layout.Set{FreqHz: num(60),
		Currents: []layout.Current{current(0, 1, 80, 10), own}, Harmonics: harmonics}})
	same(t, "own harmonic", c.Components[1].PeakA[1], 40)
	same(t, "no other", c.Components[2].PeakA[1], 0)
}

// Direct currents keep their signs, and ripple follows them, so that what goes out comes
// back; a duty without current is one component of zeros; a three-phase set at 0 Hz
// stands at the instant t = 0.
func TestDirectCurrent(t *testing.T) {
	d := &layout.Duty{
		Set: layout.Set{Currents: []layout.Current{
			{Circuit: 0, Sign: 1, Amount: layout.Amount{DCA: num(30)}},
			{Circuit: 1, Sign: 1, Amount: layout.Amount{DCA: num(-30)}}}},
		Ripple: &layout.Ripple{FreqHz: num(1e4), Amount: layout.Amount{RMSA: num(1)}},
	}
	c := Of(circuits(2), d)
	if len(c.Components) != 2 || c.Components[0].FreqHz != 0 || c.Components[0].Group != NoGroup {
		t.Fatalf("components %+v", c.Components)
	}
	same(t, "direct", c.Components[0].PeakA[1], -30)
	same(t, "ripple", c.Components[1].PeakA[0], complex(math.Sqrt2, 0))
	same(t, "ripple in and out", c.Components[1].PeakA[0]+c.Components[1].PeakA[1], 0)
	if none := Of(circuits(2), &layout.Duty{}).Components; len(none) != 1 || none[0].PeakA[0] != 0 {
		t.Errorf("no current: %+v", none)
	}
	still := Of(circuits(3), &layout.Duty{Set: layout.Set{ThreePhase: balanced(100)}})
	for k, want := range []float64{100, -50, -50} {
		same(t, "still", still.Components[0].PeakA[k], complex(want*math.Sqrt2, 0))
	}
}

// Sets are unrelated in phase, at one frequency too: each is a group of its own, and their extremes add: |a| + |b| over
// all phases. A current with its harmonics is one group.
func TestGroupsOfSets(t *testing.T) {
	set := func(freqHz, peakA, deg float64) layout.Set {
		return layout.Set{FreqHz: num(freqHz), Currents: []layout.Current{current(0, 1, peakA, deg)}}
	}
	first := set(50, 100, 0)
	first.Harmonics = []layout.Harmonic{harmonic(3, 0.1, 0)}
	c := Of(circuits(1), &layout.Duty{Set: first,
		With: []layout.Set{set(50, 7, 180), set(150, 5, 180), set(50*math.Pi, 11, 45)}})
	var roles []string
	var groups []int
	for i := range c.Components {
		roles, groups = append(roles, c.Components[i].Role), append(groups, c.Components[i].Group)
	}
	want := []string{"fundamental", "harmonic 3", "second set", "third set", "fourth set"}
	for i, g := range []int{0, 0, 1, 2, 3} {
		if len(roles) != 5 || roles[i] != want[i] || groups[i] != g {
			t.Fatalf("roles %q groups %v", roles, groups)
		}
	}
	near(t, "base", c.BaseHz(0), 50, 1e-9)
	near(t, "base of the last", c.BaseHz(3), 50*math.Pi, 1e-9)
	if n := c.HighestOrder(0); n != 3 {
		t.Errorf("highest order %d, want 3", n)
	}
	s := c.Current(0)
	_, high := s.Extremes()
	near(t, "largest", high.Value, 110+7+5+11, 1e-5)
	near(t, "at its time", s.At(high.TimesS...), high.Value, 1e-9)
	near(t, "the same in the currents", c.At(high.TimesS...)[0], high.Value, 1e-9)
	near(t, "group 0 alone", c.At(0)[0], 110, 1e-9)
	rms, _ := s.RMS()
	near(t, "rms", rms, math.Sqrt((107*107+15*15+11*11)/2.), 1e-9)
}

// Bounds of lines and the left-over widen both ends; groups at one frequency may stand in phase.
func TestBoundsOfASignal(t *testing.T) {
	s := &Signal{LeftOver: 0.5, Lines: []Line{
		{Group: NoGroup, V: -2, BoundAbs: 0.1}, {FreqHz: 50, V: 3i, BoundAbs: 0.2}, {FreqHz: 50, Group: 1, V: 4}}}
	low, high := s.Extremes()
	near(t, "high", high.Value, 5, 1e-12)
	near(t, "high at least", high.Low, 4.2, 1e-12)
	near(t, "high at most", high.High, 5.8, 1e-12)
	near(t, "low", low.Value, -9, 1e-12)
	near(t, "low at least", low.Low, -9.8, 1e-12)
	near(t, "low at most", low.High, -8.2, 1e-12)
	peak := s.PeakAbs()
	near(t, "magnitude", peak.Value, 9, 1e-12)
	near(t, "magnitude at most", peak.High, 9.8, 1e-12)
	near(t, "reached", s.At(peak.TimesS...), -9, 1e-9)
	rms, bound := s.RMS()
	near(t, "rms in phase", rms, math.Sqrt(4+49./2), 1e-12)
	near(t, "its bound", bound, math.Sqrt(0.01+0.02)+0.5, 1e-12)
}

// Of two opposite currents the one whose phase lies from above -90 to 90 degrees goes out with the harmonics of the set,
// whichever is named first.
func TestOutAndReturnInAnyOrder(t *testing.T) {
	for _, deg := range []float64{-89, -50, 0, 45, 90} {
		out, back := current(0, 1, 80, deg), current(1, 1, 80, deg+180)
		for _, list := range [][]layout.Current{{out, back}, {back, out}} {
			c := Of(circuits(2), &layout.Duty{Set: layout.Set{FreqHz: num(50), Currents: list,
				Harmonics: []layout.Harmonic{harmonic(4, 0.1, 20)}}})
			same(t, "out", c.Components[1].PeakA[0], polar(8, 20))
			same(t, "return", c.Components[1].PeakA[1], -polar(8, 20))
		}
	}
}
