package iron

import (
	"math"
	"sync"
)

// wallTable keeps what the numbers of a wall are sums of, for each source, piece and side of the mirror.
type wallTable struct {
	mu      sync.Mutex
	along   map[wallKey][][]float64 // see alongWall
	squares map[pairKey]float64     // see meanSquare
}

type wallKey struct{ piece, side, source int }

type pairKey struct{ piece, source, other int }

// alongWall returns the mean over the thickness of B along the wall by station and layer, for one side of the mirror and
// source, in tesla.
func (a *answer) alongWall(piece, side, source int) [][]float64 {
	t := &a.table
	t.mu.Lock()
	defer t.mu.Unlock()
	key := wallKey{piece, side, source}
	if out, ok := t.along[key]; ok {
		return out
	}
	c := &a.l.m.columns[piece]
	nt := len(c.s.tris)
	b := a.b[side][source]
	out := make([][]float64, len(a.l.walls[piece]))
	for i := range out {
		st := &a.l.walls[piece][i]
		out[i] = make([]float64, len(c.z)-1)
		for l := range out[i] {
			for k, t := range st.tris {
				e := c.first + perWedge*(l*nt+int(t))
				sum := b[e].Add(b[e+1]).Add(b[e+2]).XY()
				out[i][l] += float64(st.shares[k] / perWedge * sum.Dot(st.along))
			}
		}
	}
	if t.along == nil {
		t.along = map[wallKey][][]float64{}
	}
	t.along[key] = out
	return out
}

// rms returns the root of the mean square of |B| over a piece when source k has weight weights[k].
func (a *answer) rms(piece int, weights []complex128) float64 {
	sum := 0.0
	for s, f := range weights {
		if f == 0 {
			continue
		}
		sum += float64((float64(real(f)*real(f)) + float64(imag(f)*imag(f))) * a.meanSquare(piece, s, s))
		for o, g := range weights[:s] {
			if g != 0 {
				sum += float64(2 * (float64(real(f)*real(g)) + float64(imag(f)*imag(g))) * a.meanSquare(piece, s, o))
			}
		}
	}
	return math.Sqrt(math.Max(0, sum))
}

// meanSquare returns the mean of B·B' over a piece for two sources, in T².
func (a *answer) meanSquare(piece, source, other int) float64 {
	t := &a.table
	t.mu.Lock()
	defer t.mu.Unlock()
	key := pairKey{piece, source, other}
	if v, ok := t.squares[key]; ok {
		return v
	}
	m := a.l.m
	square, volume := 0.0, 0.0
	for side := range 2 {
		if len(a.b[side]) == 0 {
			continue
		}
		b, c := a.b[side][source], a.b[side][other]
		for e := m.tetRange[piece][0]; e < m.tetRange[piece][1]; e++ {
			square += float64(m.vol[e] * b[e].Dot(c[e]))
			volume += m.vol[e]
		}
	}
	if t.squares == nil {
		t.squares = map[pairKey]float64{}
	}
	t.squares[key] = square / volume
	return square / volume
}
