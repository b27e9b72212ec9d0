package decouple

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// What is left, in currents that sum to zero, is the same as from the inverse and the
// matrix directly, whatever multiple of the sum is taken; and nothing is left of
// equal matrices.
func TestFitLeftover(t *testing.T) {
	r := rand.New(rand.NewPCG(17, 19))
	for range 30 {
		made, held := random(r, 2, 3, 1e-5), random(r, 2, 3, 1e-5)
		f := mustFit(t, made, balanced)
		for _, row := range f.LeftoverOf(made).E {
			for _, v := range row {
				if v != 0 {
					t.Errorf("equal matrices leave %v", row)
				}
			}
		}
		i := random(r, 2, 1, 1)
		i = append(i, []complex128{-i[0][0] - i[1][0]})
		read := times(f.Inverse, times(held, i))
		left := f.LeftoverOf(held)
		for j := range i {
			got, want := errorA(left, j, []complex128{i[0][0], i[1][0], i[2][0]}), read[j][0]-i[j][0]
			near(t, "error", [][]complex128{{got}}, [][]complex128{{want}}, 1e-9)
		}
	}
}

// By hand. All couplings 1 % up: every channel reads its own current 1 % too high and
// nothing of the others. A go and return pair: all error is own. One coupling of
// a pair of pairs: sensor 0 reads 0.1 A/A of bar 2, which in amperes of its own is
// 0.05 either way round, so ±0.05 of each of its sides, up to the worst 0.1.
func TestFitLeftoverByHand(t *testing.T) {
	k := [][]complex128{{2, 0.1, 0}, {0.1, 3, 0.2}}
	f := mustFit(t, k, balanced)
	l := f.LeftoverOf(weighted(k, []float64{1.01, 1.01}))
	for j := range 3 {
		within(t, "own", l.OwnAmplitude(j), 0.01, 1e-12)
		within(t, "crosstalk", l.CrosstalkSum(j), 0, 1e-12)
	}
	pair := mustFit(t, [][]complex128{{5, 1}}, [][]complex128{{1, 1}})
	l = pair.LeftoverOf([][]complex128{{5.2, 1.2i}}) // 4 I0 before, (5.2 − 1.2i) I0 now
	for j := range 2 {
		within(t, "own of the pair", l.OwnAmplitude(j), cmplx.Abs(5.2-1.2i)/4-1, 1e-14)
		within(t, "phase of the pair", l.OwnPhaseRad(j), math.Atan2(-1.2, 5.2), 1e-14)
		within(t, "crosstalk of the pair", l.CrosstalkSum(j), 0, 0)
	}
	sums := [][]complex128{{1, 1, 0, 0}, {0, 0, 1, 1}}
	two := mustFit(t, [][]complex128{{1, 0, 0, 0}, {0, 0, 1, 0}}, sums)
	l = two.LeftoverOf([][]complex128{{1, 0, 0.1, 0}, {0, 0, 1, 0}})
	near(t, "pairs", l.E[:1], [][]complex128{{0, 0, 0.05, -0.05}}, 1e-14)
	within(t, "crosstalk of pairs", l.CrosstalkSum(0), 0.1, 1e-14)
}

func TestFitWorst(t *testing.T) {
	k := [][]complex128{{2, 0.1, 0}, {0.1, 3, 0.2}}
	f := mustFit(t, k, balanced)
	w := f.Worst([][][]complex128{k, weighted(k, []float64{0.98, 0.98}), weighted(k, []float64{1.01, 1.01})})
	for j := range w {
		within(t, "own", w[j].OwnAmplitude.Value, -0.02, 1e-12)
		if w[j].OwnAmplitude.Matrix != 1 {
			t.Errorf("from matrix %d", w[j].OwnAmplitude.Matrix)
		}
	}
	bad := [][]complex128{{complex(math.NaN(), 0), 1, 0}, {1, 1, 0}}
	if w := f.Worst([][][]complex128{bad}); !math.IsNaN(w[0].OwnAmplitude.Value) {
		t.Errorf("NaN gives %+v", w[0])
	}
	// More sensors than bars: what the functions say.
	tall := [][]complex128{{1, 0}, {0, 1}, {1, 1}}
	g := mustFit(t, tall, nil)
	moved := [][]complex128{{1.1, 0}, {0, 1}, {1, 1}}
	if a, b := g.LeftoverOf(moved), LeftoverOf(g.Inverse, moved); a.E[0][0] != b.E[0][0] || a.E[0][0] == 0 {
		t.Errorf("%v and %v", a, b)
	}
	within(t, "equal", Worst(g.Inverse, [][][]complex128{tall})[0].CrosstalkSum.Value, 0, 0)
}

// Two sensors on three bars in the firmware forms: within the bound that the text says
// of the exact inverse.
func TestConstantsOfAFit(t *testing.T) {
	k := [][]complex128{{0.8e-3, 0.006e-3, 0.002e-3}, {0.005e-3, 0.8e-3, 0.007e-3}} // V/A
	o := ferry()
	o.Bars = []string{"u", "v", "w"}
	f := mustFit(t, k, balanced)
	const voltPerCount = 3.3 / 4096
	o.APerInput = weighted(f.Inverse, []float64{voltPerCount, voltPerCount, voltPerCount})
	currents := []float64{700, -250, -450}
	readings := make([]float64, 2)
	for i := range k {
		for b, c := range currents {
			readings[i] += real(k[i][b]) * c / voltPerCount
		}
		readings[i] = math.Round(readings[i] + o.Sensors[i].Zero)
	}
	for name, c := range map[string]*Constants{"fixed": mustFixed(t, o, 16), "float": mustFloat(t, o)} {
		got := c.CurrentsA(readings)
		for j, want := range currents {
			exact := 0.0
			for i := range readings {
				exact += real(o.APerInput[j][i]) * (readings[i] - o.Sensors[i].Zero)
			}
			within(t, name, got[j], exact, c.ErrorBoundA(j))
			within(t, name+", rounded counts", exact, want, 1.1) // half a count of 1 A in each
		}
	}
}

// errorA is what channel j reads too much while the circuits carry currentsA.
func errorA(l Leftover, j int, currentsA []complex128) complex128 {
	var sum complex128
	for k, i := range currentsA {
		sum += l.E[j][k] * i
	}
	return sum
}
