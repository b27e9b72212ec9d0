package iron

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// outline is the boundary of a section as straight edges with the iron on their left.
type outline struct {
	a, b   []geom.Point
	loop   []int  // of each edge
	next   []int  // edge that starts where this one ends
	corner []bool // edge starts at a corner of the drawing
	thickM []float64
	extent float64 // larger side of the box
}

const cornerTurnRad = 20 * math.Pi / 180

func newOutline(r geom.Region) *outline {
	o := &outline{}
	for k, p := range append([]geom.Polygon{r.Outer}, r.Holes...) {
		p = p.Normal()
		n := len(p)
		first := len(o.a)
		for i := range p {
			a, b, before := p[i], p[(i+1)%n], p[(i+n-1)%n]
			if k > 0 { // holes run clockwise
				a, b, before = p[n-1-i], p[(2*n-2-i)%n], p[(n-i)%n]
			}
			u, v := a.Sub(before), b.Sub(a)
			o.a, o.b, o.loop = append(o.a, a), append(o.b, b), append(o.loop, k)
			o.corner = append(o.corner, math.Abs(portable.Atan2(u.Cross(v), u.Dot(v))) > cornerTurnRad)
			o.next = append(o.next, first+(i+1)%n)
		}
	}
	size := r.Box().Size()
	o.extent = math.Max(size.X, size.Y)
	for i := range o.a {
		t := math.Inf(1)
		for _, f := range []float64{0.25, 0.5, 0.75} {
			_, depth := o.chord(i, f)
			t = math.Min(t, depth)
		}
		if o.corner[i] && o.corner[o.next[i]] { // the end of a wall is as thin as the wall
			t = math.Min(t, o.b[i].Sub(o.a[i]).Norm())
		}
		o.thickM = append(o.thickM, math.Min(t, o.extent))
	}
	return o
}

// chord returns the start of the chord at the share f of edge i, and how far it runs
// along the inward normal to the opposite boundary.
func (o *outline) chord(i int, f float64) (from geom.Point, lengthM float64) {
	d := o.b[i].Sub(o.a[i])
	from = o.a[i].Add(d.Scale(f))
	return from, o.depthAlong(i, from, leftNormal(d))
}

func (o *outline) depthAlong(i int, p, normal geom.Point) float64 {
	best := math.Inf(1)
	for j := range o.a {
		if j == i {
			continue
		}
		a, b := o.a[j].Sub(p), o.b[j].Sub(p)
		sa, sb := normal.Cross(a), normal.Cross(b)
		if (sa > 0) == (sb > 0) {
			continue
		}
		g := sa / (sa - sb)
		if depth := normal.Dot(a.Add(b.Sub(a).Scale(g))); depth > 1e-9*o.extent && depth < best {
			best = depth
		}
	}
	return best
}

func leftNormal(d geom.Point) geom.Point {
	l := d.Norm()
	return geom.Point{X: -d.Y / l, Y: d.X / l}
}

// footings returns the positions along edge i, in metres, at the feet of corners that
// stand across the wall from it: the mesh should divide both faces of a wall alike.
func (o *outline) footings(i int) []float64 {
	d := o.b[i].Sub(o.a[i])
	length := d.Norm()
	u := d.Scale(1 / length)
	n := leftNormal(d)
	near := float64(0.3 * o.thickM[i])
	var out []float64
	for j := range o.a {
		if !o.corner[j] || j == i || j == o.next[i] {
			continue
		}
		v := o.a[j].Sub(o.a[i])
		s, h := v.Dot(u), v.Dot(n)
		if h > 0 && h < 1.5*o.thickM[i] && s > near && s < length-near {
			out = append(out, s)
		}
	}
	return out
}
