package fem

import (
	"fmt"
	"math"
	"sync"

	"busgauss/model/element"
	"busgauss/model/geom"
	"busgauss/model/sparse"
)

// wallKey names a station of an active piece.
type wallKey struct{ piece, station int }

// wallDual is the estimated error of the solution of the adjoint problem.
type wallDual struct{ eta []float64 }

// wall implements engine.
func (l *linear[T]) wall(piece int, currents []complex128) (Wall, error) {
	k := -1
	for i, idx := range l.s.g.d.index {
		if idx == piece {
			k = i
		}
	}
	if k < 0 {
		return l.wallOfAir(&l.p.Pieces[piece], currents), nil
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	key := fmt.Sprint(k, currents)
	if w, ok := l.kept[key]; ok {
		return w, nil
	}
	o := l.s.g.d.outlines[k]
	w, at := l.peak(o.walls, currents)
	if at >= 0 {
		w.PeakBoundT = l.pairing(currents, l.stationDual(k, at, currents))/o.walls[at].lengthM + reactionFloor*w.PeakT
	}
	w.Rms = sync.OnceValues(func() (rmsT, boundT float64) { return l.rms(k, currents) })
	l.kept[key] = w
	return w, nil
}

// rms returns the root of the mean of |B|² over piece k and its bound.
func (l *linear[T]) rms(k int, currents []complex128) (rmsT, boundT float64) {
	square, area, slack := l.square(k, currents)
	rmsT = math.Sqrt(square / area)
	err := slack + 2*l.pairing(currents, l.squareDual(k, currents)) + 2*reactionFloor*square
	return rmsT, err / (2 * math.Max(rmsT, math.Sqrt(err/area)) * area)
}

// peak finds the station with the largest mean flux density.
func (l *linear[T]) peak(walls []station, currents []complex128) (w Wall, at int) {
	at = -1
	for i, st := range walls {
		var flux complex128
		for j, c := range currents {
			if c != 0 {
				flux += c * (l.potential(st.a, j) - l.potential(st.b, j))
			}
		}
		if b := cabs(flux) / st.lengthM; b > w.PeakT || at < 0 {
			w.PeakT, w.At, at = b, st.a.Add(st.b).Scale(0.5), i
		}
	}
	return w, at
}

// potential returns A at q, NaN outside the mesh.
func (l *linear[T]) potential(q geom.Point, src int) complex128 {
	a, ok := l.r.reducedAt(q, src)
	if !ok {
		return complex(math.NaN(), math.NaN())
	}
	return toComplex(a) + complex(l.r.drives[src].src.potential(q), 0)
}

// wallOfAir treats a piece without elements of its own.
func (l *linear[T]) wallOfAir(c *Piece, currents []complex128) Wall {
	w, at := l.peak(newOutline(c).walls, currents)
	w.PeakBoundT, w.Rms = math.NaN(), noRms
	if at < 0 {
		w.PeakT = math.NaN()
	}
	return w
}

// stationDual returns the error of the adjoint solution for the flux through station at of piece k, the fullest for currents.
// Who asks for one wall asks for the others next, so that they are solved together: several cost little more than one.
func (l *linear[T]) stationDual(k, at int, currents []complex128) []float64 {
	key := wallKey{k, at}
	if d, ok := l.walls[key]; ok {
		return d.eta
	}
	g := l.s.g
	wanted := []wallKey{key}
	for i, o := range g.d.outlines {
		if i == k || !g.d.media[i].iron || len(wanted) == stationsAtOnce {
			continue
		}
		_, fullest := l.peak(o.walls, currents)
		if other := (wallKey{i, fullest}); fullest >= 0 && l.walls[other].eta == nil {
			wanted = append(wanted, other)
		}
	}
	all := make([]T, len(wanted)*g.n)
	loads := make([]pointLoad, len(wanted))
	for i, w := range wanted {
		loads[i] = l.loadStation(w, all[i*g.n:(i+1)*g.n])
	}
	l.s.solveFor(all, len(wanted))
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
				v := c * toComplex(a[i])
				re[i] += real(v)
				im[i] += imag(v)
			}
			e += cabs(c) * l.r.eta[j][t]
		}
		kk := g.stiffness(t)
		for i := range 6 {
			for j := range 6 {
				square += kk[i][j] * (re[i]*re[j] + im[i]*im[j])
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
						a[i] += c * v
					}
				}
			}
			kk := g.stiffness(t)
			for i, n := range six {
				for j := range six {
					b[n] += l.s.lift(kk[i][j]) * conj(a[j])
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
			out[t] = math.Hypot(out[t], e)
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
	sum := 0.0
	for j, c := range currents {
		if c == 0 {
			continue
		}
		part := 0.0
		for t, e := range l.r.eta[j] {
			part += e * adjoint[t]
		}
		sum += cabs(c) * part
	}
	if l.volume != nil {
		sum *= 2 // a flux through a wall hangs on the curve at first hand
	}
	return l.safety() * sum
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
	r.estimate(l.est, 0, 1, load)
	return r.eta[0]
}
