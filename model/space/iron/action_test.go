package iron

import (
	"math"
	"math/rand"
	"strings"
	"testing"
)

// What pieces do to one another against sums over every tetrahedron at every node: of pieces that stand apart, of equal ones,
// of ones so near that crosses do not pay, with and without mirror.
func TestAction(t *testing.T) {
	channel := func(x, y float64, scale float64) Piece {
		s := scale
		return Piece{Name: "channel", MuRel: 1000, FromZM: -5 * mm, ToZM: 5 * mm,
			Section: mmRegion(x-8*s, y, x+8*s, y, x+8*s, y+10*s, x+7*s, y+10*s, x+7*s, y+1*s, x-7*s, y+1*s, x-7*s, y+10*s, x-8*s, y+10*s)}
	}
	for name, c := range map[string]struct {
		pieces []Piece
		mirror bool
	}{
		"apart, equal":     {[]Piece{channel(-30, 0, 1), channel(0, 0, 1), channel(30, 0, 1)}, true},
		"apart, unequal":   {[]Piece{channel(-30, 0, 1), channel(0, 2, 0.8)}, true},
		"near":             {[]Piece{channel(-8.4, 0, 1), channel(8.4, 0, 1)}, true},
		"one in the other": {[]Piece{channel(0, 0, 1), channel(0, -3, 1.3)}, false},
		"alone":            {[]Piece{channel(0, 0, 1)}, true},
	} {
		p, err := newProblem(c.pieces, nil, Options{Certainty: 0.01, MaxNodes: 900}, c.mirror)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range p.levels {
			for par := range parity(l.m.parityCount()) {
				actionAgainstSums(t, name, l, par)
			}
		}
	}
}

func actionAgainstSums(t *testing.T, name string, l *level, par parity) {
	t.Helper()
	m := l.m
	a := l.withRaw(par)
	r := rand.New(rand.NewSource(2))
	phi, twice := make([]float64, len(m.nodes)), make([]float64, len(m.nodes))
	for i := range phi {
		phi[i], twice[i] = r.NormFloat64(), r.NormFloat64()
	}
	grad := m.fieldOf(phi, nil) // −∇φ
	want, sum, raw := make([]float64, len(phi)), make([]float64, len(phi)), make([]float64, len(phi))
	s := newScratch(m)
	for i := range m.nodes {
		m.row(i, [2]int{0, len(m.tets)}, s)
		want[i] = -perFourPi * dots(s.both[par], grad)
	}
	a.times(phi, sum)
	a.of(grad, raw)
	one, other := make([]float64, len(phi)), make([]float64, len(phi))
	a.timesTwo(phi, twice, one, other)
	again := make([]float64, len(phi))
	a.times(twice, again)
	var fields []field
	for p, of := range m.tetRange {
		fields = append(fields, field{p, grad[of[0]:of[1]]})
	}
	parts := make([]float64, len(phi))
	for _, row := range l.apply(par, fields) {
		for i, v := range row {
			parts[i] -= v
		}
	}
	for what, got := range map[string][]float64{"K": sum, "vectors": scaled(raw, -1), "two": one, "by piece": parts} {
		if e := norm(less(got, want, 1)) / norm(want); !(e < 3e-7) {
			t.Errorf("%s, %d nodes, parity %d, %s: off by %.2g", name, len(phi), par, what, e)
		}
	}
	if e := norm(less(other, again, 1)) / norm(again); !(e < 1e-14) {
		t.Errorf("%s: second of two vectors off by %.2g", name, e)
	}
	crosses := 0
	for k := range a.far {
		if !a.far[k].whole {
			crosses = max(crosses, len(a.far[k].v))
		}
	}
	if strings.HasPrefix(name, "apart") && len(m.nodes) > 500 && !(0 < crosses && crosses < 90) {
		t.Errorf("%s: %d crosses", name, crosses)
	}
}

// A matrix of known rank takes as many crosses and one of rounding at most; one of full rank is refused.
func TestCrossed(t *testing.T) {
	const rows, cols, rank = 40, 70, 6
	r := rand.New(rand.NewSource(4))
	var u, v [rank][]float64
	for k := range rank {
		u[k], v[k] = make([]float64, rows), make([]float64, cols)
		for i := range u[k] {
			if i%5 != 0 || k < 2 { // rows that look poorer than they are
				u[k][i] = r.NormFloat64() * math.Pow(10, -float64(k))
			}
		}
		for j := range v[k] {
			v[k][j] = r.NormFloat64()
		}
	}
	numbers := make([]float64, rows*cols)
	for i := range numbers {
		numbers[i] = r.NormFloat64()
	}
	for _, full := range []bool{false, true} {
		at := func(i, j int) float64 {
			if full {
				return numbers[i*cols+j]
			}
			sum := 0.0
			for k := range rank {
				sum += u[k][i] * v[k][j]
			}
			return sum
		}
		a := matrix{rows, cols, func(i int, out []float64) {
			for j := range out {
				out[j] = at(i, j)
			}
		}, func(j int, out []float64) {
			for i := range out {
				out[i] = at(i, j)
			}
		}}
		gu, gv, ok := crossed(a, rows/3)
		if ok == full {
			t.Fatalf("full rank %v: taken %v", full, ok)
		}
		if full {
			continue
		}
		worst, most := 0.0, 0.0
		for i := range rows {
			for j := range cols {
				sum := 0.0
				for k := range gu {
					sum += gu[k][i] * gv[k][j]
				}
				worst, most = math.Max(worst, math.Abs(sum-at(i, j))), math.Max(most, math.Abs(at(i, j)))
			}
		}
		if len(gu) > rank+1 || !(worst < 1e-7*most) {
			t.Errorf("%d crosses for a rank of %d, off by %.2g of %.2g", len(gu), rank, worst, most)
		}
	}
	nothing := func(_ int, out []float64) { clear(out) }
	if u, _, ok := crossed(matrix{9, 9, nothing, nothing}, 3); !ok || len(u) != 0 {
		t.Errorf("nothing takes %d crosses, %v", len(u), ok)
	}
}
