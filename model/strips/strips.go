// Package strips computes the alternating field of long straight bars of rectangular section, not magnetic and each
// insulated, that are not thick against the skin depth, by themselves or in a uniform field.
//
// Each section is divided into rectangles of even current density J. With A the vector potential of all of them at their
// middles, and the mean over a bar taken from it so that its net current stays what it is,
//
//	J = I/area − jωσ (A − mean A)
//
// which is iterated from the even density: eddy currents are a small part of the current, and their own field a small part of
// what drives them. The error falls with the square of the size of the rectangles, next to a face with the size alone; two
// divisions, one twice as fine, bound it by twice their difference. Valid for points no nearer to a face than a sixth of
// the shorter side: nearer, errors of 0.2 % of the field were found beyond the bound.
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
	"busgauss/model/parallel"
	"busgauss/model/si"
	"busgauss/model/sparse"
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
	b := &s.bars[bar]
	v := closedform.RectangleB(q.Sub(b.At).Rotate(-b.TurnRad), b.WidthM, b.ThicknessM, 1).Rotate(b.TurnRad)
	return s.total(q, bar, v)
}

// Uniform returns the flux density at q in tesla per tesla of a uniform field along x (dir 0) or y (dir 1), and its error.
func (s *Solution) Uniform(q geom.Point, dir int) (bx, by complex128, bound float64) {
	v := geom.Point{X: 1}
	if dir == 1 {
		v = geom.Point{Y: 1}
	}
	return s.total(q, len(s.bars)+dir, v)
}

func (s *Solution) total(q geom.Point, source int, even geom.Point) (bx, by complex128, bound float64) {
	x, y := s.fine.reaction(q, source)
	cx, cy := s.coarse.reaction(q, source)
	bound = 1e-9*even.Norm() + reactionRel*norm(x, y) + safety*norm(x-cx, y-cy)
	return complex(even.X, 0) + x, complex(even.Y, 0) + y, bound
}

// Potential returns A_z in Wb/m at q per ampere of bar number bar, without bound.
func (s *Solution) Potential(q geom.Point, bar int) complex128 {
	b := &s.bars[bar]
	sum := complex(closedform.RectangleAWbPerM(q.Sub(b.At).Rotate(-b.TurnRad), b.WidthM, b.ThicknessM, 1), 0)
	d := s.fine
	for i := range d.rects {
		sum += complex(d.rects[i].potential(q), 0) * complex(d.re[bar][i], d.im[bar][i])
	}
	return sum
}

func norm(x, y complex128) float64 {
	return math.Sqrt(real(x)*real(x) + imag(x)*imag(x) + real(y)*real(y) + imag(y)*imag(y))
}

// rect is a rectangle of even density.
type rect struct {
	at             geom.Point
	widthM, highM  float64
	turnRad, sizeM float64
	areaM2         float64
}

// field returns the flux density at q in T/A.
func (r *rect) field(q geom.Point) geom.Point {
	d := q.Sub(r.at)
	r2 := d.Dot(d)
	if far := nearSizes * r.sizeM; r2 > far*far {
		return geom.Point{X: -mu0Over2Pi * d.Y / r2, Y: mu0Over2Pi * d.X / r2}
	}
	return closedform.RectangleB(d.Rotate(-r.turnRad), r.widthM, r.highM, 1).Rotate(r.turnRad)
}

// potential returns A_z at q in Wb/m per ampere.
func (r *rect) potential(q geom.Point) float64 {
	d := q.Sub(r.at)
	r2 := d.Dot(d)
	if far := nearSizes * r.sizeM; r2 > far*far {
		return -mu0Over2Pi / 2 * math.Log(r2)
	}
	return closedform.RectangleAWbPerM(d.Rotate(-r.turnRad), r.widthM, r.highM, 1)
}

// division is all bars in rectangles.
type division struct {
	rects []rect
	of    [][2]int // rectangles of each bar, from and to
	high  []int    // of each bar: how many lie one after the other along y

	once   sync.Once
	l      []float64   // A at the middle of each per ampere of each, Wb/m, row by row
	drives [][]float64 // A there of each source with an even density
}

// currents are those of the rectangles beyond even ones, by source.
type currents struct {
	*division
	re, im [][]float64
}

func divide(bars []Bar, scale int) *division {
	d := &division{}
	for i := range bars {
		b := &bars[i]
		nx, ny := counts(b.WidthM, b.ThicknessM, scale)
		from := len(d.rects)
		w, h := b.WidthM/float64(nx), b.ThicknessM/float64(ny)
		for ix := range nx {
			for iy := range ny {
				local := geom.Point{X: (float64(ix)+0.5)*w - b.WidthM/2, Y: (float64(iy)+0.5)*h - b.ThicknessM/2}
				d.rects = append(d.rects, rect{at: b.At.Add(local.Rotate(b.TurnRad)), widthM: w, highM: h, turnRad: b.TurnRad,
					sizeM: math.Max(w, h), areaM2: w * h})
			}
		}
		d.of, d.high = append(d.of, [2]int{from, len(d.rects)}), append(d.high, ny)
	}
	return d
}

// counts returns how many rectangles lie along x and along y.
func counts(widthM, thicknessM float64, scale int) (nx, ny int) {
	along := func(long, short float64) int {
		return scale * max(across, min(mostAlong, int(math.Ceil(across*long/short/slenderness))))
	}
	if widthM >= thicknessM {
		return along(widthM, thicknessM), scale * across
	}
	return scale * across, along(thicknessM, widthM)
}

// prepare makes what does not depend on the frequency.
func (d *division) prepare(bars []Bar) {
	n := len(d.rects)
	d.l = make([]float64, n*n)
	bar := make([]int, n)
	for k, r := range d.of {
		for i := r[0]; i < r[1]; i++ {
			bar[i] = k
		}
	}
	parallel.Each(n, maxWorkers, func(_, i int) {
		for k := range d.rects {
			if bar[k] == bar[i] {
				continue
			}
			d.l[i*n+k] = d.rects[k].potential(d.rects[i].at)
		}
	})
	for k := range bars {
		d.prepareOwn(k)
	}
	for s := range len(bars) + 2 {
		drive := make([]float64, n)
		for i := range d.rects {
			switch p := d.rects[i].at; s - len(bars) {
			case 0:
				drive[i] = p.Y
			case 1:
				drive[i] = -p.X
			default:
				b := &bars[s]
				drive[i] = closedform.RectangleAWbPerM(p.Sub(b.At).Rotate(-b.TurnRad), b.WidthM, b.ThicknessM, 1)
			}
		}
		d.drives = append(d.drives, drive)
	}
}

// prepareOwn makes what the rectangles of bar k do to one another: it hangs on how many lie between them alone.
func (d *division) prepareOwn(k int) {
	from, to, high := d.of[k][0], d.of[k][1], d.high[k]
	apart := make([]float64, to-from)
	for i := range apart {
		apart[i] = d.rects[from].potential(d.rects[from+i].at)
	}
	n, across := len(d.rects), func(a, b int) int { return max(a-b, b-a) }
	for i := range to - from {
		row := d.l[(from+i)*n+from:][:to-from]
		for j := range row {
			row[j] = apart[across(i/high, j/high)*high+across(i%high, j%high)]
		}
	}
}

// solve iterates the currents of every source.
func (d *division) solve(bars []Bar, omega float64) (*currents, error) {
	d.once.Do(func() { d.prepare(bars) })
	c := &currents{division: d, re: make([][]float64, len(d.drives)), im: make([][]float64, len(d.drives))}
	for s, drive := range d.drives {
		var err error
		if c.re[s], c.im[s], err = d.iterate(bars, omega, drive); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// maxWorkers is the most goroutines of one parallel loop.
const maxWorkers = 4

// iterate returns the eddy currents that drive, a potential in phase, brings about.
func (d *division) iterate(bars []Bar, omega float64, drive []float64) (re, im []float64, err error) {
	n := len(d.rects)
	re, im = make([]float64, n), make([]float64, n)
	before := math.Inf(1)
	for range mostSteps {
		re2, im2 := make([]float64, n), make([]float64, n)
		for i := range n {
			a, b := sparse.DotTwo(d.l[i*n:(i+1)*n], re, im)
			// −jωσ (x + jy) = ωσ y − jωσ x
			re2[i], im2[i] = b, -(a + drive[i])
		}
		change, most := 0.0, 0.0 // squared
		for k := range bars {
			from, to := d.of[k][0], d.of[k][1]
			var meanRe, meanIm float64 // rectangles of a bar are alike
			for i := from; i < to; i++ {
				meanRe, meanIm = meanRe+re2[i], meanIm+im2[i]
			}
			meanRe, meanIm = meanRe/float64(to-from), meanIm/float64(to-from)
			f := omega * bars[k].SigmaSPerM * d.rects[from].areaM2
			for i := from; i < to; i++ {
				re2[i], im2[i] = f*(re2[i]-meanRe), f*(im2[i]-meanIm)
				x, y := re2[i]-re[i], im2[i]-im[i]
				change = max(change, x*x+y*y)
				most = max(most, re2[i]*re2[i]+im2[i]*im2[i])
			}
		}
		re, im = re2, im2
		if change <= leftOver*leftOver*most {
			return re, im, nil
		}
		if !(change <= 0.8*before) { // every step is smaller than the last where it converges
			break
		}
		before = change
	}
	return nil, nil, fmt.Errorf("strips: currents crowd too much to be iterated")
}

// reaction returns the flux density at q of the eddy currents that a source brings about.
func (c *currents) reaction(q geom.Point, source int) (bx, by complex128) {
	re, im := c.re[source], c.im[source]
	var rx, ry, ix, iy float64
	for i := range c.rects {
		v := c.rects[i].field(q)
		rx, ry = rx+v.X*re[i], ry+v.Y*re[i]
		ix, iy = ix+v.X*im[i], iy+v.Y*im[i]
	}
	return complex(rx, ix), complex(ry, iy)
}
