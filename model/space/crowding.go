package space

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// crowd is the stream function of a sharp bend of a strip of unit width less
// that of its mitre, by linear triangles on half the bend: the mitre line is a
// line of symmetry, across which the current flows straight. The inner corner is at the
// origin, x along the leg away from the bend, y across it to the outer edge.
// It depends on the angle alone.
type crowd struct {
	points  []geom.Point
	psi     []float64 // per ampere
	tris    [][3]int
	squares float64 // of resistance of the whole bend beyond its legs; a check against published corners
	half    float64 // tan of half the angle
	cells   int     // of the grid across
}

// legWidths is the length of the legs that are solved; the flow is even beyond.
const legWidths = 4

// newCrowd solves Laplace's equation on a grid of n by 2n cells, graded as a
// cube towards the inner corner, on a leg of four widths.
func newCrowd(angleRad float64, n int) *crowd {
	k := portable.Tan(angleRad / 2)
	c := &crowd{half: k, cells: n}
	across, along := n+1, 2*n+1
	at := func(i, j int) int { return j*across + i }
	for j := range along {
		for i := range across {
			y, q := cubed(i, n), cubed(j, 2*n)
			c.points = append(c.points, geom.Point{X: float64(-k*y) + float64((legWidths+float64(k*y))*q), Y: y})
		}
	}
	for j := range along - 1 {
		for i := range across - 1 {
			c.tris = append(c.tris, [3]int{at(i, j), at(i, j+1), at(i+1, j)}, [3]int{at(i+1, j), at(i, j+1), at(i+1, j+1)})
		}
	}
	total := len(c.points)
	fixed := func(m int) bool { return m%across == 0 || m%across == n || m >= total-across }
	c.psi = make([]float64, total)
	for m, p := range c.points {
		c.psi[m] = p.Y
	}
	c.relax(across, fixed)
	energy := 0.0
	for _, t := range c.tris {
		g := gradients(c.points, t)
		var d geom.Point
		for a := range 3 {
			d = d.Add(g.of[a].Scale(c.psi[t[a]]))
		}
		energy += float64(g.area * d.Dot(d))
	}
	c.squares = 2 * (energy - legWidths)
	for m, p := range c.points {
		c.psi[m] -= p.Y
	}
	return c
}

// relax solves for psi of all points but the fixed ones, which keep theirs: the stiffness as a band, then its LDLᵀ.
func (c *crowd) relax(across int, fixed func(m int) bool) {
	total := len(c.points)
	width := across + 2
	band := make([][]float64, total)
	right := make([]float64, total)
	for m := range band {
		band[m] = make([]float64, width)
	}
	for _, t := range c.tris {
		g := gradients(c.points, t)
		area := g.area
		for a := range 3 {
			for b := range 3 {
				v := float64(area * g.of[a].Dot(g.of[b]))
				i, j := t[a], t[b]
				switch {
				case fixed(i):
				case fixed(j):
					right[i] -= float64(v * c.psi[j])
				case i >= j:
					band[i][i-j] += v
				}
			}
		}
	}
	for m := range total {
		if fixed(m) {
			band[m][0], right[m] = 1, c.psi[m]
		}
	}
	eliminateBand(band, right, width)
	for j := total - 1; j >= 0; j-- {
		s := right[j] / band[j][0]
		for i := j + 1; i < min(total, j+width); i++ {
			s -= float64(band[i][i-j] / band[j][0] * c.psi[i])
		}
		c.psi[j] = s
	}
}

// eliminateBand reduces a symmetric positive definite matrix, row m of which begins on the diagonal and goes back by columns,
// to its triangle, and the right side with it.
func eliminateBand(band [][]float64, right []float64, width int) {
	total := len(band)
	for j := range total {
		for i := j + 1; i < min(total, j+width); i++ {
			l := band[i][i-j]
			if l == 0 {
				continue
			}
			f := l / band[j][0]
			for k := i; k < min(total, j+width); k++ {
				band[k][k-i] -= float64(f * band[k][k-j])
			}
			right[i] -= float64(f * right[j])
		}
	}
}

type triGradients struct {
	area float64
	of   [3]geom.Point
}

func gradients(p []geom.Point, t [3]int) triGradients {
	a, b, c := p[t[0]], p[t[1]], p[t[2]]
	double := b.Sub(a).Cross(c.Sub(a))
	side := func(p, q geom.Point) geom.Point {
		d := q.Sub(p)
		return geom.Point{X: -d.Y / double, Y: d.X / double}
	}
	return triGradients{math.Abs(double) / 2, [3]geom.Point{side(b, c), side(c, a), side(a, b)}}
}

// each calls f with places of both halves, by the three mid-sides of each
// triangle: xi along the mitre from the inner corner to the outer one, eta across it,
// and psi times area.
func (c *crowd) each(f func(xi, eta, weight float64)) {
	for _, t := range c.tris {
		area := gradients(c.points, t).area
		for a := range 3 {
			i, j := t[a], t[(a+1)%3]
			p := c.mitred(c.points[i].Add(c.points[j]).Scale(0.5))
			w := area / 3 * (c.psi[i] + c.psi[j]) / 2
			f(p.X, p.Y, w)
			f(p.X, -p.Y, w)
		}
	}
}

// mitred returns a place of the half bend along the mitre from the inner corner and across it.
func (c *crowd) mitred(p geom.Point) geom.Point {
	q := portable.Hypot(1, c.half)
	return geom.Point{X: (p.Y - float64(c.half*p.X)) / q, Y: (p.X + float64(c.half*p.Y)) / q}
}

// moments returns the integral of psi over the bend, its centre along the mitre and
// its mean square reach along and across the mitre from there.
func (c *crowd) moments() (sum, centre, along2, across2 float64) {
	c.each(func(xi, eta, w float64) { sum += w; centre += float64(w * xi) })
	centre /= sum
	c.each(func(xi, eta, w float64) {
		along2 += float64(w * (xi - centre) * (xi - centre))
		across2 += float64(w * eta * eta)
	})
	return sum, centre, along2 / sum, across2 / sum
}

// value returns psi at a place of the half bend given as (y, share of the way from the
// mitre to the end of the leg).
func (c *crowd) value(y, q float64) float64 {
	i, fi := c.cell(y, c.cells)
	j, fj := c.cell(q, 2*c.cells)
	at := func(i, j int) float64 { return c.psi[j*(c.cells+1)+i] }
	return float64((1-fi)*(float64((1-fj)*at(i, j))+float64(fj*at(i, j+1)))) + float64(fi*(float64((1-fj)*at(i+1, j))+float64(fj*at(i+1, j+1))))
}

// cell returns the step of a graded side of n steps in which the share lies, and where in it.
func (c *crowd) cell(share float64, n int) (int, float64) {
	k := min(int(float64(n)*portable.Cbrt(share)), n-1)
	low, high := cubed(k, n), cubed(k+1, n)
	return k, (share - low) / (high - low)
}

// cubed returns the place of step k of a side of n steps, graded towards 0.
func cubed(k, n int) float64 { return portable.Pow(float64(k)/float64(n), 3) }

// most returns the largest psi on the mitre line, where it is largest altogether, and its y.
func (c *crowd) most() (psi, y float64) {
	for i := range c.cells + 1 {
		if v := c.psi[i]; v > psi {
			psi, y = v, cubed(i, c.cells)
		}
	}
	return psi, y
}

// contour returns the line psi = level, counter-clockwise in the mitre's
// coordinates: a tip on the mitre line at either end and rows - 1 pairs between.
// psi falls from its largest value both ways along the mitre and away from it.
func (c *crowd) contour(level float64, rows int) geom.Polygon {
	_, top := c.most()
	low := bisect(0, top, func(y float64) bool { return c.value(y, 0) < level })
	high := bisect(top, 1, func(y float64) bool { return c.value(y, 0) > level })
	var one, other geom.Polygon
	for m := range rows + 1 {
		y := low + (high-low)*(1-portable.Cos(math.Pi*float64(m)/float64(rows)))/2
		q := 0.0
		if 0 < m && m < rows {
			q = bisect(0, 1, func(q float64) bool { return c.value(y, q) > level })
		}
		p := c.mitred(geom.Point{X: float64(-c.half*y) + float64((legWidths+float64(c.half*y))*q), Y: y})
		if 0 < m && m < rows {
			other = append(other, p)
			p.Y = -p.Y
		}
		one = append(one, p)
	}
	for i := len(other) - 1; i >= 0; i-- {
		one = append(one, other[i])
	}
	return one
}

// bisect returns where below turns from true to false between low and high.
func bisect(low, high float64, below func(float64) bool) float64 {
	for range 40 {
		if mid := (low + high) / 2; below(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}
