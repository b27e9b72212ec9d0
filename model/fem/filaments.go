package fem

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/si"
)

// Filament is a part of the eddy currents of a piece as a current along z at a point: of
// J − Js, so that those of a piece add up to nothing.
type Filament struct {
	Piece    int // index into Problem.Pieces
	At       geom.Point
	CurrentA []complex128 // per ampere of each bar, then per tesla along x and along y
}

// Filaments returns the eddy currents of the solution at the points of the quadrature of its
// conducting triangles, six a triangle; none where nothing conducts. The field at a point
// a few sides of its nearest triangle away is that of these filaments and of the bars with an even
// current density.
func (s *Solution) Filaments() []Filament {
	if s.engine == nil {
		return nil
	}
	return s.engine.filaments()
}

func (l *linear[T]) filaments() []Filament {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.conducting) == 0 {
		return nil
	}
	if l.cloud == nil {
		l.cloud = newCloud(l.r, l.conducting)
	}
	c, n, k := l.cloud, len(l.r.drives), len(rule3)
	out := make([]Filament, 0, len(c.at))
	room := make([]complex128, n*len(c.at))
	for i, t := range c.tri {
		piece := l.s.g.d.index[l.s.g.piece[t]]
		for m := i * k; m < (i+1)*k; m++ {
			f := Filament{Piece: piece, At: c.at[m], CurrentA: room[m*n : (m+1)*n : (m+1)*n]}
			for src, j := range c.j[m*n : (m+1)*n] {
				f.CurrentA[src] = portable.Times(toComplex(j), complex(2*math.Pi/si.Mu0HPerM, 0))
			}
			out = append(out, f)
		}
	}
	return out
}
