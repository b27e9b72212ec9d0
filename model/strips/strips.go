// Package strips computes the alternating field of long straight bars of rectangular section, not magnetic and each
// insulated, that are not thick against the skin depth, by themselves or in a uniform field.
//
// Each section is divided into rectangles of even current density J. With A the vector potential of all of them at their
// middles, and the mean over a bar taken from it so that its net current stays what it is,
//
//	J = I/area − jωσ (A − mean A)
//
// which is iterated from the even density: eddy currents are a small part of the current, and their own field a small part of
// what drives them. What a step adds is the same at every frequency but for a factor. The error falls with the square of
// the size of the rectangles, next to a face with the size alone; two divisions, one twice as fine, bound it by twice their
// difference, and nearer to a face than a sixth of the shorter side half a per cent of the field is added, where a fifth of
// a per cent beyond that was found.
//
// Source of the method: P. Silvester, Modern Electromagnetic Fields, Prentice-Hall 1968 (bars divided into filaments; from
// memory); C. R. Paul, Inductance: Loop and Partial, Wiley 2010, chapter 6 (from memory).
package strips

import (
	"fmt"
	"math"
	"sync"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/si"
)

// Bar is a section: a rectangle of WidthM along x and ThicknessM along y about At, turned by TurnRad.
type Bar struct {
	At                 geom.Point
	WidthM, ThicknessM float64
	TurnRad            float64
	SigmaSPerM         float64
}

// Solution is the field of bars at one frequency, for one ampere in each by itself and for one tesla along x and along y.
// It may be used from several goroutines.
type Solution struct {
	bars         []Bar
	coarse, fine *currents

	mu     sync.Mutex
	points map[geom.Point][]value
}

const (
	across      = 2   // rectangles over the shorter side of the coarse division
	mostAlong   = 12  // over the longer side
	slenderness = 1.4 // of a rectangle, about
	mostSteps   = 40
	leftOver    = 1e-8 // of the last step, of the largest current
	mostPieces  = 1600 // of the fine division
	mu0Over2Pi  = si.Mu0HPerM / (2 * math.Pi)
	nearSizes   = 3.0  // nearer than so many sizes of a rectangle its closed form is used, else that of its middle
	reactionRel = 1e-3 // of the eddy currents' field, for places where both divisions err alike
	safety      = 2    // times the difference of the divisions
	closeShare  = 1.0 / 6
	closeRel    = 0.005 // of the field, nearer to a face than that share of the shorter side
)

// Bars are bars in rectangles, ready to be solved at any frequency. They may be used from several goroutines.
type Bars struct {
	bars         []Bar
	coarse, fine *division
}

// Divide divides bars. The error says that there are too many.
func Divide(bars []Bar) (*Bars, error) {
	d := &Bars{bars: bars, coarse: divide(bars, 1), fine: divide(bars, 2)}
	if n := len(d.fine.rects); n > mostPieces {
		return nil, fmt.Errorf("strips: %d rectangles, at most %d", n, mostPieces)
	}
	return d, nil
}

// Solve returns the field at freqHz. The error says that currents crowd so much that the iteration does not end.
func (d *Bars) Solve(freqHz float64) (*Solution, error) {
	s := &Solution{bars: d.bars}
	for _, to := range []struct {
		of  *division
		out **currents
	}{{d.coarse, &s.coarse}, {d.fine, &s.fine}} {
		c, err := to.of.solve(d.bars, 2*math.Pi*freqHz)
		if err != nil {
			return nil, err
		}
		*to.out = c
	}
	return s, nil
}

// B returns the flux density at q in tesla per ampere (peak phasors) of bar number bar, and the half-width of its error, of
// |ΔB|. Outside of bars.
func (s *Solution) B(q geom.Point, bar int) (bx, by complex128, boundT float64) {
	v := s.at(q)[bar]
	return v.x, v.y, v.bound
}

// Uniform returns the flux density at q in tesla per tesla of a uniform field along x (dir 0) or y (dir 1), and its error.
func (s *Solution) Uniform(q geom.Point, dir int) (bx, by complex128, bound float64) {
	v := s.at(q)[len(s.bars)+dir]
	return v.x, v.y, v.bound
}

// value is the field of a source at a place.
type value struct {
	x, y  complex128
	bound float64
}

// at returns the values of every source at q, computed once.
func (s *Solution) at(q geom.Point) []value {
	s.mu.Lock()
	defer s.mu.Unlock()
	if v, ok := s.points[q]; ok {
		return v
	}
	v := s.values(q)
	if s.points == nil {
		s.points = map[geom.Point][]value{}
	}
	s.points[q] = v
	return v
}

// Sketch returns B and the potential A_z in Wb/m at q per ampere of bar number bar, without bound, and keeps nothing.
func (s *Solution) Sketch(q geom.Point, bar int) (a, bx, by complex128) {
	v := s.values(q)[bar]
	return s.potential(q, bar), v.x, v.y
}

func (s *Solution) values(q geom.Point) []value {
	n := len(s.bars)
	out := make([]value, n+2)
	fine, coarse, close := s.fine.reactions(q), s.coarse.reactions(q), s.close(q)
	for i := range out {
		var even geom.Point
		switch i - n {
		case 0:
			even = geom.Point{X: 1}
		case 1:
			even = geom.Point{Y: 1}
		default:
			b := &s.bars[i]
			even = closedform.RectangleB(q.Sub(b.At).Rotate(-b.TurnRad), b.WidthM, b.ThicknessM, 1).Rotate(b.TurnRad)
		}
		x, y := fine[2*i], fine[2*i+1]
		v := value{complex(even.X, 0) + x, complex(even.Y, 0) + y,
			float64(1e-9*even.Norm()) + float64(reactionRel*norm(x, y)) + float64(safety*norm(x-coarse[2*i], y-coarse[2*i+1]))}
		if close {
			v.bound += float64(closeRel * norm(v.x, v.y))
		}
		out[i] = v
	}
	return out
}

// potential returns A_z in Wb/m at q per ampere of bar number bar.
func (s *Solution) potential(q geom.Point, bar int) complex128 {
	b := &s.bars[bar]
	sum := complex(closedform.RectangleAWbPerM(q.Sub(b.At).Rotate(-b.TurnRad), b.WidthM, b.ThicknessM, 1), 0)
	d := s.fine
	for i := range d.rects {
		sum += portable.Times(complex(d.rects[i].potential(q), 0), complex(d.re[bar][i], d.im[bar][i]))
	}
	return sum
}

// close reports whether q is so near to a face that the rectangles there stand out.
func (s *Solution) close(q geom.Point) bool {
	for i := range s.bars {
		b := &s.bars[i]
		p := q.Sub(b.At).Rotate(-b.TurnRad)
		dx, dy := max(0, math.Abs(p.X)-b.WidthM/2), max(0, math.Abs(p.Y)-b.ThicknessM/2)
		if portable.Hypot(dx, dy) < closeShare*min(b.WidthM, b.ThicknessM) {
			return true
		}
	}
	return false
}

func norm(x, y complex128) float64 {
	return math.Sqrt(float64(real(x)*real(x)) + float64(imag(x)*imag(x)) + float64(real(y)*real(y)) + float64(imag(y)*imag(y)))
}
