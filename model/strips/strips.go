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
			1e-9*even.Norm() + reactionRel*norm(x, y) + safety*norm(x-coarse[2*i], y-coarse[2*i+1])}
		if close {
			v.bound += closeRel * norm(v.x, v.y)
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
		sum += complex(d.rects[i].potential(q), 0) * complex(d.re[bar][i], d.im[bar][i])
	}
	return sum
}

// close reports whether q is so near to a face that the rectangles there stand out.
func (s *Solution) close(q geom.Point) bool {
	for i := range s.bars {
		b := &s.bars[i]
		p := q.Sub(b.At).Rotate(-b.TurnRad)
		dx, dy := max(0, math.Abs(p.X)-b.WidthM/2), max(0, math.Abs(p.Y)-b.ThicknessM/2)
		if math.Hypot(dx, dy) < closeShare*min(b.WidthM, b.ThicknessM) {
			return true
		}
	}
	return false
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

// alike reports whether two rectangles differ in place alone.
func (r *rect) alike(o *rect) bool {
	return r.widthM == o.widthM && r.highM == o.highM && r.turnRad == o.turnRad
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

	mu    sync.Mutex
	terms [][][]float64 // by step and source: see iterate
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
			if bar[k] == bar[i] || k < i && d.rects[k].alike(&d.rects[i]) {
				continue
			}
			d.l[i*n+k] = d.rects[k].potential(d.rects[i].at)
		}
	})
	for i := range d.rects {
		for k := range i {
			if bar[k] != bar[i] && d.rects[k].alike(&d.rects[i]) { // each does to the other what that does to it
				d.l[i*n+k] = d.l[k*n+i]
			}
		}
	}
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
			}
		}
		d.drives = append(d.drives, drive)
	}
	for s := range bars {
		d.prepareDrive(bars, s)
	}
}

// prepareDrive makes what an even current in bar s makes at the middles of all rectangles. A rectangle's potential is even about both
// of its middle lines, so that of itself a quarter of bar s is enough, and another bar that differs from it in place alone
// does to it what it does to that: rectangle i of the one from its one end stands to the other as i of that from its other end.
func (d *division) prepareDrive(bars []Bar, s int) {
	b, drive := &bars[s], d.drives[s]
	for t, r := range d.of {
		n, high := r[1]-r[0], d.high[t]
		for i := range n {
			ix, iy := i/high, i%high
			switch mx, my := min(ix, n/high-1-ix), min(iy, high-1-iy); {
			case t == s && (mx != ix || my != iy):
				drive[r[0]+i] = drive[r[0]+mx*high+my]
			case t < s && d.rects[r[0]].alike(&d.rects[d.of[s][0]]) && n == d.of[s][1]-d.of[s][0]:
				drive[r[0]+i] = d.drives[t][d.of[s][1]-1-i]
			default:
				drive[r[0]+i] = closedform.RectangleAWbPerM(d.rects[r[0]+i].at.Sub(b.At).Rotate(-b.TurnRad), b.WidthM, b.ThicknessM, 1)
			}
		}
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

// solve sums the currents of every source.
func (d *division) solve(bars []Bar, omega float64) (*currents, error) {
	d.once.Do(func() { d.prepare(bars) })
	c := &currents{division: d, re: make([][]float64, len(d.drives)), im: make([][]float64, len(d.drives))}
	for s := range d.drives {
		var err error
		if c.re[s], c.im[s], err = d.iterate(bars, omega, s); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// maxWorkers is the most goroutines of one parallel loop.
const maxWorkers = 4

// iterate returns the eddy currents that source number src brings about. What one step adds to the one before,
//
//	(−jω)ᵏ Mᵏ⁻¹ m,  m = σ·area·(A − mean A) of the drive, M the same of the field of what the step before added,
//
// is real but for its factor, so that all frequencies share it.
func (d *division) iterate(bars []Bar, omega float64, src int) (re, im []float64, err error) {
	n := len(d.rects)
	re, im = make([]float64, n), make([]float64, n)
	before, factor := math.Inf(1), complex(1, 0)
	for step := range mostSteps {
		factor *= complex(0, -omega)
		fr, fi := real(factor), imag(factor)
		change, most := 0.0, 0.0 // squared
		for i, v := range d.term(bars, step)[src] {
			x, y := fr*v, fi*v
			re[i], im[i] = re[i]+x, im[i]+y
			change = max(change, x*x+y*y)
			most = max(most, re[i]*re[i]+im[i]*im[i])
		}
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

// term returns Mᵏ⁻¹ m of every source for the step k from 0: see iterate.
func (d *division) term(bars []Bar, step int) [][]float64 {
	d.mu.Lock()
	defer d.mu.Unlock()
	for len(d.terms) <= step {
		from := d.drives
		if k := len(d.terms); k > 0 {
			from = d.fields(d.terms[k-1])
		}
		d.terms = append(d.terms, d.driven(bars, from))
	}
	return d.terms[step]
}

// fields returns A at the middle of every rectangle for the currents of every source.
func (d *division) fields(of [][]float64) [][]float64 {
	n := len(d.rects)
	out := make([][]float64, len(of))
	for s := range of {
		out[s] = make([]float64, n)
	}
	for s := 0; s < len(of); s += 2 { // two in one pass over the matrix
		other := min(s+1, len(of)-1)
		for i := range n {
			out[s][i], out[other][i] = sparse.DotTwo(d.l[i*n:(i+1)*n], of[s], of[other])
		}
	}
	return out
}

// driven returns σ·area·(A − mean A) of every source, the mean that of each bar, whose rectangles are alike.
func (d *division) driven(bars []Bar, potential [][]float64) [][]float64 {
	out := make([][]float64, len(potential))
	for s, a := range potential {
		out[s] = make([]float64, len(a))
		for k := range bars {
			from, to := d.of[k][0], d.of[k][1]
			mean := 0.0
			for _, v := range a[from:to] {
				mean += v
			}
			mean /= float64(to - from)
			f := bars[k].SigmaSPerM * d.rects[from].areaM2
			for i := from; i < to; i++ {
				out[s][i] = f * (a[i] - mean)
			}
		}
	}
	return out
}

// reactions returns the flux density at q of the eddy currents that each source brings about: x and y of one after the other.
func (c *currents) reactions(q geom.Point) []complex128 {
	n := len(c.rects)
	x, y := make([]float64, n), make([]float64, n)
	for i := range c.rects {
		v := c.rects[i].field(q)
		x[i], y[i] = v.X, v.Y
	}
	out := make([]complex128, 0, 2*len(c.re))
	for s, re := range c.re {
		rx, ix := sparse.DotTwo(x, re, c.im[s])
		ry, iy := sparse.DotTwo(y, re, c.im[s])
		out = append(out, complex(rx, ix), complex(ry, iy))
	}
	return out
}
