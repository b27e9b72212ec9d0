package fem

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/sparse"
)

// Rough returns the flux density at q in tesla per ampere of bar number bar, the
// same value as B, without its bound: a search that only wants to know where to
// look pays for no adjoint solution.
func (s *Solution) Rough(q geom.Point, bar int) (bx, by complex128) { return s.rough(q, bar) }

// RoughUniform is Uniform without its bound.
func (s *Solution) RoughUniform(q geom.Point, dir int) (bx, by complex128) {
	return s.rough(q, len(s.bars)+dir)
}

func (s *Solution) rough(q geom.Point, src int) (bx, by complex128) {
	if s.engine != nil {
		var total bool
		if bx, by, total = s.engine.rough(q, src); total {
			return bx, by
		}
	}
	exact := s.srcs[src].flux(q)
	return bx + complex(exact.X, 0), by + complex(exact.Y, 0)
}

// Rough is B without its bound; see Solution.Rough.
func (n *Nonlinear) Rough(q geom.Point) (bx, by float64) {
	exact := n.src.flux(q)
	if n.l == nil {
		return exact.X, exact.Y
	}
	x, y, total := n.l.rough(q, 0)
	if total {
		return real(x), real(y)
	}
	return real(x) + exact.X, real(y) + exact.Y
}

func (l *linear[T]) rough(q geom.Point, src int) (bx, by complex128, total bool) {
	pv := l.roughAt(q)
	return toComplex(pv.bx[src]), toComplex(pv.by[src]), pv.inside
}

// roughAt returns the value at q with a bound that is not a number, computed
// once. A value that already has its bound serves as well.
func (l *linear[T]) roughAt(q geom.Point) *pointValue[T] {
	l.mu.Lock()
	defer l.mu.Unlock()
	if pv, ok := l.points[q]; ok {
		return pv
	}
	if pv, ok := l.roughs[q]; ok {
		return pv
	}
	if l.work != nil && !l.take(l.cost().point) {
		return newPointValue[T](len(l.r.drives)).unpaid()
	}
	pv := l.bare(q)
	if l.roughs == nil {
		l.roughs = map[geom.Point]*pointValue[T]{}
	}
	l.roughs[q] = pv
	return pv
}

// roughAlone is rough as if no value with a bound had been asked for: those sum in another order, and differ in their last digits.
func (l *linear[T]) roughAlone(q geom.Point, src int) (bx, by complex128, total bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	pv, ok := l.roughs[q]
	if !ok {
		pv = l.bare(q)
		if l.roughs == nil {
			l.roughs = map[geom.Point]*pointValue[T]{}
		}
		l.roughs[q] = pv
	}
	return toComplex(pv.bx[src]), toComplex(pv.by[src]), pv.inside
}

// valued returns the places whose values with bounds are known.
func (l *linear[T]) valued() []geom.Point {
	l.mu.Lock()
	defer l.mu.Unlock()
	return slices.SortedFunc(maps.Keys(l.points), func(a, b geom.Point) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
}

// bare returns the value of every source at q, with bounds that are not numbers.
func (l *linear[T]) bare(q geom.Point) *pointValue[T] {
	n := len(l.r.drives)
	pv := newPointValue[T](n)
	if l.s.g.d.pieceAt(q) >= 0 {
		pv.inside = true
		for j := range n {
			pv.bx[j], pv.by[j], _ = l.r.inside(q, j)
		}
		return pv
	}
	w := l.s.g.weightsAt(q, nil) // magnetisation
	for j := range n {
		pv.bx[j], pv.by[j] = l.r.apply(w, nil, j)
	}
	l.eddies(q, pv)
	for j := range n {
		if l.volume != nil {
			x, y := l.volume(q)
			pv.bx[j] += x
			pv.by[j] += y
		}
	}
	return pv
}

func newPointValue[T sparse.Scalar](n int) *pointValue[T] {
	pv := &pointValue[T]{bx: make([]T, n), by: make([]T, n), bound: make([]float64, n)}
	for j := range pv.bound {
		pv.bound[j] = math.NaN()
	}
	return pv
}

// unpaid makes v the answer that the work was not there for: no numbers.
func (v *pointValue[T]) unpaid() *pointValue[T] {
	nan := math.NaN()
	for j := range v.bx {
		switch x := any(&v.bx[j]).(type) {
		case *float64:
			*x = nan
		case *complex128:
			*x = complex(nan, nan)
		}
		v.by[j] = v.bx[j]
	}
	return v
}
