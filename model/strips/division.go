package strips

import (
	"fmt"
	"math"
	"sync"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/parallel"
	"busgauss/model/portable"
	"busgauss/model/sparse"
)

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
		return -mu0Over2Pi / 2 * portable.Log(r2)
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
				local := geom.Point{X: float64((float64(ix)+0.5)*w) - b.WidthM/2, Y: float64((float64(iy)+0.5)*h) - b.ThicknessM/2}
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
	parallel.Each(len(bars), maxWorkers, func(_, t int) {
		for s := range bars {
			d.preparePair(t, s)
		}
	})
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

// preparePair makes what the rectangles of bar s do to those of bar t. Where the bars differ in place alone it hangs on how many
// rectangles lie between two.
func (d *division) preparePair(t, s int) {
	n, to, from := len(d.rects), d.rects[d.of[t][0]:d.of[t][1]], d.rects[d.of[s][0]:d.of[s][1]]
	row := func(i int) []float64 { return d.l[(d.of[t][0]+i)*n+d.of[s][0]:][:len(from)] }
	high := d.high[t]
	if len(to) != len(from) || high != d.high[s] || !to[0].alike(&from[0]) {
		for i := range to {
			for j, out := 0, row(i); j < len(from); j++ {
				out[j] = from[j].potential(to[i].at)
			}
		}
		return
	}
	wide := len(to) / high
	columns := 2*high - 1
	apart := make([]float64, (2*wide-1)*columns) // by the steps along x and along y from a rectangle of s to one of t
	for x := range 2*wide - 1 {
		for y := range columns {
			dx, dy := x-(wide-1), y-(high-1)
			if t == s && (dx < 0 || dy < 0) { // even about both of its middle lines
				continue
			}
			i, j := max(dx, 0)*high+max(dy, 0), max(-dx, 0)*high+max(-dy, 0)
			apart[x*columns+y] = from[j].potential(to[i].at)
		}
	}
	for i := range to {
		out := row(i)
		for j := range out {
			dx, dy := i/high-j/high, i%high-j%high
			if t == s {
				dx, dy = max(dx, -dx), max(dy, -dy)
			}
			out[j] = apart[(dx+wide-1)*columns+dy+high-1]
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
		factor = portable.Times(factor, complex(0, -omega))
		fr, fi := real(factor), imag(factor)
		change, most := 0.0, 0.0 // squared
		for i, v := range d.term(bars, step)[src] {
			x, y := float64(fr*v), float64(fi*v)
			re[i], im[i] = re[i]+x, im[i]+y
			change = max(change, float64(x*x)+float64(y*y))
			most = max(most, float64(re[i]*re[i])+float64(im[i]*im[i]))
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
