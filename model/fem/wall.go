package fem

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"busgauss/model/element"
	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/sparse"
)

// wallKey names a station of an active piece.
type wallKey struct{ piece, station int }

// wallDual is the estimated error of the solution of the adjoint problem.
type wallDual struct{ eta []float64 }

// wallParts is what the largest flux density of a wall is made of, for any currents.
type wallParts struct {
	reacts   bool // the piece has elements of its own
	stations []wallStation
}

// wallStation is one place of a wall: its middle, how thick the wall is there, and the drop of A from one face to the other of each
// source.
type wallStation struct {
	middle  geom.Point
	lengthM float64
	drop    []complex128
}

// wall returns the wall for given currents; weigh bounds the error of the flux through a station. The rms is left to the caller
// where the piece reacts.
func (p *wallParts) wall(currents []complex128, weigh func(station int) float64) Wall {
	w, at := Wall{}, p.fullest(currents)
	if at >= 0 {
		w.PeakT, w.At = p.stations[at].meanT(currents), p.stations[at].middle
	}
	switch {
	case !p.reacts:
		w.PeakBoundT, w.Rms = math.NaN(), noRms
		if at < 0 {
			w.PeakT = math.NaN()
		}
	case at >= 0:
		w.PeakBoundT = weigh(at)/p.stations[at].lengthM + float64(reactionFloor*w.PeakT)
	}
	return w
}

// fullest returns the station with the largest mean flux density, the first of equals; -1 where there is none.
func (p *wallParts) fullest(currents []complex128) int {
	at, mostT := -1, 0.0
	for i := range p.stations {
		if b := p.stations[i].meanT(currents); b > mostT || at < 0 {
			at, mostT = i, b
		}
	}
	return at
}

// meanT is the flux through the station over its thickness.
func (st *wallStation) meanT(currents []complex128) float64 {
	var flux complex128
	for j, c := range currents {
		if c != 0 {
			flux += portable.Times(c, st.drop[j])
		}
	}
	return cabs(flux) / st.lengthM
}

// wall implements engine.
func (l *linear[T]) wall(piece int, currents []complex128) (Wall, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	key := fmt.Sprint(piece, currents)
	if w, ok := l.kept[key]; ok {
		if math.IsNaN(w.PeakBoundT) {
			l.work.Missing()
		}
		return w, nil
	}
	k := l.active(piece)
	w := l.parts(piece).wall(currents, func(at int) float64 { return l.pairing(currents, l.stationDual(k, at, currents)) })
	if k >= 0 {
		w.Rms = sync.OnceValues(func() (rmsT, boundT float64) { return l.rms(k, currents) })
	}
	l.kept[key] = w
	return w, nil
}

// active returns the number of a piece among those that have elements; -1 where it has none.
func (l *linear[T]) active(piece int) int { return slices.Index(l.s.g.d.index, piece) }

// wallParts implements engine.
func (l *linear[T]) wallParts(piece int) *wallParts {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.parts(piece)
}

// parts returns what the wall of a piece is made of, computed once.
func (l *linear[T]) parts(piece int) *wallParts {
	if p, ok := l.faces[piece]; ok {
		return p
	}
	p := &wallParts{}
	var stations []station
	if k := l.active(piece); k >= 0 {
		p.reacts, stations = true, l.s.g.d.outlines[k].walls
	} else {
		stations = newOutline(&l.p.Pieces[piece]).walls
	}
	for _, st := range stations {
		drop := make([]complex128, len(l.r.drives))
		for j := range drop {
			drop[j] = l.potential(st.a, j) - l.potential(st.b, j)
		}
		p.stations = append(p.stations, wallStation{st.a.Add(st.b).Scale(0.5), st.lengthM, drop})
	}
	if l.faces == nil {
		l.faces = map[int]*wallParts{}
	}
	l.faces[piece] = p
	return p
}

// wallPairs implements engine.
func (l *linear[T]) wallPairs(piece, station int, currents []complex128) []float64 {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.pairs(l.stationDual(l.active(piece), station, currents))
}

// rms returns the root of the mean of |B|² over piece k and its bound.
func (l *linear[T]) rms(k int, currents []complex128) (rmsT, boundT float64) {
	square, area, slack := l.square(k, currents)
	rmsT = math.Sqrt(square / area)
	err := slack + 2*l.pairing(currents, l.squareDual(k, currents)) + float64(2*reactionFloor*square)
	return rmsT, err / (2 * math.Max(rmsT, math.Sqrt(err/area)) * area)
}

// potential returns A at q, NaN outside the mesh.
func (l *linear[T]) potential(q geom.Point, src int) complex128 {
	a, ok := l.r.reducedAt(q, src)
	if !ok {
		return complex(math.NaN(), math.NaN())
	}
	return toComplex(a) + complex(l.r.drives[src].src.potential(q), 0)
}

// stationDual returns the error of the adjoint solution for the flux through station at of piece k, the fullest for currents.
// Who asks for one wall asks for the others next, so that they are solved together: several cost little more than one.
func (l *linear[T]) stationDual(k, at int, currents []complex128) []float64 {
	key := wallKey{k, at}
	if d, ok := l.walls[key]; ok {
		return d.eta
	}
	g := l.s.g
	if l.work != nil && !l.take(l.again()+float64(stationsAtOnce*l.cost().dual)) {
		return unpaidEta(len(g.q.Tris))
	}
	wanted := []wallKey{key}
	for i, m := range g.d.media {
		if i == k || !m.iron || len(wanted) == stationsAtOnce {
			continue
		}
		fullest := l.parts(g.d.index[i]).fullest(currents)
		if other := (wallKey{i, fullest}); fullest >= 0 && l.walls[other].eta == nil {
			wanted = append(wanted, other)
		}
	}
	all := make([]T, max(len(wanted), 2)*g.n) // two at least: alone it would differ in the last digits
	loads := make([]pointLoad, len(wanted))
	for i, w := range wanted {
		loads[i] = l.loadStation(w, all[i*g.n:(i+1)*g.n])
	}
	l.s.solveFor(all, len(all)/g.n)
	for i, w := range wanted {
		l.walls[w] = wallDual{l.adjoint(all[i*g.n:(i+1)*g.n], loads[i])}
	}
	return l.walls[key].eta
}

// stationsAtOnce is how many walls are solved together.
const stationsAtOnce = 4

// loadStation sets b to the loads +1 and −1 at the ends of a station.
func (l *linear[T]) loadStation(w wallKey, b []T) pointLoad {
	g := l.s.g
	st := g.d.outlines[w.piece].walls[w.station]
	load := pointLoad{}
	for i, q := range []geom.Point{st.a, st.b} {
		t := g.m.Locate(q)
		if t < 0 {
			continue
		}
		xi, eta := g.local(t, q)
		sign := 1 - 2*float64(i)
		for j, n := range element.Shape(xi, eta) {
			b[g.q.Tris[t][j]] += l.s.lift(sign * n)
		}
		bubbles := element.Bubbles(xi, eta)
		for j := range bubbles {
			bubbles[j] *= sign
		}
		load[t] = addBubbles(load[t], bubbles)
	}
	return load
}

// square returns ∫|B|² over piece k, its area, and the square of the estimated error
// of B there.
func (l *linear[T]) square(k int, currents []complex128) (square, area, slack float64) {
	g := l.s.g
	area = g.d.pieces[k].areaM2()
	for t := range g.q.Tris {
		if g.piece[t] != k {
			continue
		}
		var re, im [6]float64
		e := 0.0
		for j, c := range currents {
			if c == 0 {
				continue
			}
			a := l.r.total(j, t)
			for i := range a {
				v := portable.Times(c, toComplex(a[i]))
				re[i] += real(v)
				im[i] += imag(v)
			}
			e += float64(cabs(c) * l.r.eta[j][t])
		}
		kk := g.stiffness(t)
		for i := range 6 {
			for j := range 6 {
				square += float64(kk[i][j] * (float64(re[i]*re[j]) + float64(im[i]*im[j])))
			}
		}
		slack += e * e / l.s.nuAbs(t)
	}
	return square, area, slack
}

// squareDual returns the error of the adjoint solution for ½∫|B|² over a piece at
// the field of the currents: the load is ∫ ∇A*·∇w. With real numbers the parts in
// phase and in quadrature are solved apart.
func (l *linear[T]) squareDual(k int, currents []complex128) []float64 {
	g := l.s.g
	if l.work != nil && !l.take(l.again()+2*l.cost().dual) {
		return unpaidEta(len(g.q.Tris))
	}
	var out []float64
	for _, weights := range weightParts[T](currents) {
		b := make([]T, g.n)
		for t, six := range g.q.Tris {
			if g.piece[t] != k {
				continue
			}
			var a [6]T
			for j, c := range weights {
				if c != 0 {
					for i, v := range l.r.total(j, t) {
						a[i] += portable.ProductOf(c, v)
					}
				}
			}
			kk := g.stiffness(t)
			for i, n := range six {
				for j := range six {
					b[n] += portable.ProductOf(l.s.lift(kk[i][j]), conj(a[j]))
				}
			}
		}
		l.s.solveFor(b, 1)
		eta := l.adjoint(b, nil)
		if out == nil {
			out = eta
			continue
		}
		for t, e := range eta {
			out[t] = portable.Hypot(out[t], e)
		}
	}
	return out
}

// weightParts returns currents in the numbers of the system: as they are, or as
// real and, where there is any, imaginary parts.
func weightParts[T sparse.Scalar](currents []complex128) [][]T {
	re, im := make([]T, len(currents)), make([]T, len(currents))
	quadrature := false
	for j, c := range currents {
		switch w := any(&re[j]).(type) {
		case *complex128:
			*w = c
		case *float64:
			*w = real(c)
			*any(&im[j]).(*float64) = imag(c)
			quadrature = quadrature || imag(c) != 0
		}
	}
	if quadrature {
		return [][]T{re, im}
	}
	return [][]T{re}
}

// pairing returns the bound of a functional: the products of the errors of the
// currents' field with those of the adjoint.
func (l *linear[T]) pairing(currents []complex128, adjoint []float64) float64 {
	sum := weighed(currents, l.pairs(adjoint))
	if l.volume != nil {
		sum *= 2 // a flux through a wall hangs on the curve at first hand
	}
	return l.safety() * sum
}

// unpaidEta is an estimate that the work was not there for: no numbers.
func unpaidEta(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = math.NaN()
	}
	return out
}

// pairs returns the product of the errors of each source's field with those of the adjoint.
func (l *linear[T]) pairs(adjoint []float64) []float64 {
	out := make([]float64, len(l.r.eta))
	for j := range out {
		for t, e := range l.r.eta[j] {
			out[j] += float64(e * adjoint[t])
		}
	}
	return out
}

// weighed sums the pairs of the sources by the size of their currents.
func weighed(currents []complex128, pairs []float64) float64 {
	sum := 0.0
	for j, c := range currents {
		if c != 0 {
			sum += float64(cabs(c) * pairs[j])
		}
	}
	return sum
}

// pointLoad holds the values of the bubbles at point loads, by triangle.
type pointLoad map[int][4]float64

func addBubbles(a, b [4]float64) [4]float64 {
	for i := range a {
		a[i] += b[i]
	}
	return a
}

// adjoint returns the error estimate of b, the solution for a load that is no field source.
func (l *linear[T]) adjoint(b []T, load pointLoad) []float64 {
	s, g := l.s, l.s.g
	d := drive{as: make([]float64, g.n), bubble: make([]float64, len(g.faces)), density: make([]float64, len(g.d.pieces))}
	r := &reaction[T]{s: s, drives: []drive{d}, ar: [][]T{b}}
	perPiece := make([]T, len(g.d.pieces))
	for k, v := range s.balance(&d, b) {
		for _, p := range s.groups[k].pieces {
			perPiece[p] = v
		}
	}
	r.v, r.eta = [][]T{perPiece}, make([][]float64, 1)
	r.estimate(l.estimates(), 0, 1, load)
	return r.eta[0]
}
