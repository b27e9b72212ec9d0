package layout

import (
	"math"
	"testing"
)

func given(v float64) Num { return Num{V: v, Set: true} }

// Four cuts of a bar 20 mm wide, in millimetres for reading.
func neck() Cut { return Cut{Kind: Neck, AlongM: given(0), LengthM: given(10), WidthM: given(8)} }
func hole() Cut { return Cut{Kind: Hole, AlongM: given(0), AcrossM: given(1), DiameterM: given(4)} }
func slot() Cut {
	return Cut{Kind: Slot, AlongM: given(20), AcrossM: given(0), WidthM: given(2), LengthM: given(12)}
}
func notch() Cut {
	return Cut{Kind: Notch, AlongM: given(-12), LengthM: given(6), DepthM: given(7), Side: -1}
}

// What a cut takes, by its definition; the rim is metal, the edge of the bar in a
// notch is not.
func TestTaken(t *testing.T) {
	for _, c := range []struct {
		name string
		cut  Cut
		x, z float64
		want bool
	}{
		{"middle of a neck", neck(), 0, 0, false}, {"beside it", neck(), 4.1, 4.9, true}, {"its other side", neck(), -9, 0, true},
		{"its rim", neck(), 4, 0, false}, {"before it", neck(), 9, 5.1, false}, {"edge of the bar", neck(), 10, 0, true},
		{"in a hole", hole(), 2.9, 0, true}, {"rim of a hole", hole(), 3, 0, false}, {"corner of its box", hole(), 2.6, 1.6, false},
		{"in a slot", slot(), 0.9, 25, true}, {"in its round end", slot(), 0, 25.9, true}, {"beside its round end", slot(), 0.9, 25.9, false},
		{"beside the slot", slot(), 1.1, 20, false},
		{"in a notch", notch(), -3.1, -9.1, true}, {"its bottom", notch(), -3, -12, false}, {"other side of a notch", notch(), 9, -12, false},
	} {
		if got := c.cut.Taken(c.x, c.z, 20); got != c.want {
			t.Errorf("%s: taken %v", c.name, got)
		}
	}
	right := notch()
	right.Side = 1
	if !right.Taken(9, -12, 20) || right.Taken(-9, -12, 20) {
		t.Error("a notch to the right takes from the left")
	}
}

// Metal between two cuts, by Pythagoras.
func TestCutGap(t *testing.T) {
	moved := func(c Cut, acrossM, alongM float64) *Cut {
		c.AcrossM.V += acrossM
		c.AlongM.V += alongM
		return &c
	}
	for _, c := range []struct {
		name string
		a, b *Cut
		want float64
	}{
		{"hole and hole", moved(hole(), 0, 0), moved(hole(), 3, 4), 5 - 4},
		{"hole in a neck", moved(hole(), -1, 0), moved(neck(), 0, 0), 4 - 2},
		{"hole through a neck", moved(hole(), 2, 0), moved(neck(), 0, 0), 1 - 2},
		{"hole off the corner of a neck", moved(hole(), 6, 9), moved(neck(), 0, 0), 4 - 2},
		{"hole and slot", moved(hole(), -1, 10), moved(slot(), 0, 0), 5 - 2 - 1},
		{"notch and hole", moved(notch(), 0, 12), moved(hole(), 0, 6), 5 - 2},
		{"notch and neck", moved(notch(), 0, 0), moved(neck(), 0, 0), 4},
		{"notch in a neck", moved(notch(), 0, 12), moved(neck(), 0, 0), 0},
	} {
		ab, ba := c.a.GapM(c.b, 20), c.b.GapM(c.a, 20)
		if math.Abs(ab-c.want) > 1e-12 || ab != ba {
			t.Errorf("%s: %g and %g, want %g", c.name, ab, ba, c.want)
		}
	}
	from, to := moved(hole(), 0, 5).Reach()
	if from != 3 || to != 7 {
		t.Errorf("a hole reaches from %g to %g", from, to)
	}
}

// What is left across: a chord of a circle of radius 2 at 1.2 from its centre is
// 3.2 long (3-4-5 triangle).
func TestMetalAcross(t *testing.T) {
	cuts := []Cut{hole(), neck()}
	var taken []Spread
	for i := range cuts {
		taken = append(taken, cuts[i].Spreads(1.2, 20)...)
	}
	got := Metal(taken, 20)
	want := []Spread{{-4, 1 - 1.6}, {1 + 1.6, 4}}
	if len(got) != len(want) {
		t.Fatalf("got %v, want %v", got, want)
	}
	for i := range want {
		if math.Abs(got[i].LowM-want[i].LowM) > 1e-12 || math.Abs(got[i].HighM-want[i].HighM) > 1e-12 {
			t.Errorf("got %v, want %v", got, want)
		}
	}
	n := notch()
	if got := Metal(n.Spreads(-12, 20), 20); len(got) != 1 || got[0] != (Spread{-3, 10}) {
		t.Errorf("beside a notch: %v", got)
	}
	if got := Metal(n.Spreads(-8.9, 20), 20); len(got) != 1 || got[0] != (Spread{-10, 10}) {
		t.Errorf("before a notch: %v", got)
	}
}
