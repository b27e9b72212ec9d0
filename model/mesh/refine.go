package mesh

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// sub is a subsegment: a constraint edge of the current triangulation.
type sub struct {
	a, b   int32
	piece  int32
	queued bool
	frozen bool // cannot be divided: a row of a layer, or too short for the arithmetic
}

// candidate is a triangle waiting to be refined; it is stale when its corners have changed.
type candidate struct {
	k int32
	v [3]int32
}

const (
	queues     = 256 // half octaves of the shortest edge
	freePoint  = -2  // on no piece
	givenPoint = -1  // of the drawing
)

// refiner divides subsegments and triangles until both are good. Ruppert's algorithm with off-centres;
// sharp corners by concentric shells, as Miller, Pav and Walkington (2005) prove to end.
type refiner struct {
	triangulation
	pieces []piece
	arcs   []Arc
	subs   []sub
	on     []int32 // piece of each point, givenPoint or freePoint

	opt       Options
	size      func(geom.Point, RegionID) float64
	sin2      float64 // squared sine of the smallest angle
	offFactor float64
	floorM    float64 // shortest subsegment that may still be divided
	unitM     float64 // smallest extent, for the queue keys

	subQueue []int32
	subHead  int
	bad      [queues][]candidate
	lowest   int
	testing  bool    // triangles are being queued
	hit      []int32 // subsegments in the way of the last centre
}

// setup fills the constants from the options and the extent of the drawing.
func (r *refiner) setup(opt Options, tolM float64) {
	r.opt = opt
	r.size = opt.Size
	rad := opt.MinAngleDeg * math.Pi / 180
	s := portable.Sin(rad)
	r.sin2 = s * s
	// An apex angle slightly above the bound keeps rounding from looping (Üngör 2009, section 3).
	r.offFactor = 0.475 * math.Sqrt((1+portable.Cos(rad))/(1-portable.Cos(rad)))
	r.floorM = 8 * tolM
	r.unitM = tolM
	for i := range r.bad {
		r.bad[i] = r.bad[i][:0]
	}
	r.lowest = queues
	r.subQueue, r.subHead, r.testing = r.subQueue[:0], 0, false
}

// run refines until nothing is left to do.
func (r *refiner) run() error {
	for k := range r.tris {
		for e := range int32(3) {
			if s := r.tris[k].s[e]; s >= 0 {
				r.testSub(s, int32(k), e)
			}
		}
	}
	if err := r.drainSubs(); err != nil {
		return err
	}
	r.testing = true
	for k := range r.tris {
		r.testTriangle(int32(k))
	}
	for {
		c, ok := r.pop()
		if !ok {
			return nil
		}
		if r.tris[c.k].v != c.v {
			continue
		}
		again, err := r.improve(c)
		if err != nil {
			return err
		}
		if again && r.tris[c.k].v == c.v {
			r.testTriangle(c.k)
		}
	}
}

// pop returns the waiting triangle with the shortest edge.
func (r *refiner) pop() (candidate, bool) {
	for r.lowest < queues {
		q := r.bad[r.lowest]
		if n := len(q); n > 0 {
			c := q[n-1]
			r.bad[r.lowest] = q[:n-1]
			return c, true
		}
		r.lowest++
	}
	return candidate{}, false
}

// ceiling reports whether another point may be inserted.
func (r *refiner) ceiling() error {
	if len(r.tris) >= r.opt.MaxTriangles {
		return &CeilingError{Triangles: len(r.tris), Max: r.opt.MaxTriangles}
	}
	return nil
}

// testTriangle queues triangle k when it is too thin or too large.
func (r *refiner) testTriangle(k int32) {
	tri := &r.tris[k]
	if tri.fixed {
		return
	}
	a, b, c := r.pts[tri.v[0]], r.pts[tri.v[1]], r.pts[tri.v[2]]
	la, lb, lc := squareM2(b, c), squareM2(c, a), squareM2(a, b)
	low, high := min(la, lb, lc), max(la, lb, lc)
	mid := max(min(la, lb), min(max(la, lb), lc))
	cross := float64((b.X-a.X)*(c.Y-a.Y)) - float64((b.Y-a.Y)*(c.X-a.X))
	wanted := float64(cross*cross) < float64(r.sin2*float64(mid*high)) && !r.protected(tri, la, lb, lc)
	if !wanted && r.size != nil {
		m := geom.Point{X: (a.X + b.X + c.X) / 3, Y: (a.Y + b.Y + c.Y) / 3}
		h := r.size(m, tri.region)
		wanted = h > 0 && high > h*h
	}
	if !wanted {
		return
	}
	q := 2 * (0.5*portable.Log2(low) - portable.Log2(r.unitM))
	i := max(0, min(queues-1, int(q)+20))
	r.bad[i] = append(r.bad[i], candidate{k, tri.v})
	r.lowest = min(r.lowest, i)
}

func squareM2(a, b geom.Point) float64 {
	dx, dy := a.X-b.X, a.Y-b.Y
	return float64(dx*dx) + float64(dy*dy)
}

// protected says whether the shortest edge of a thin triangle spans a sharp corner of the drawing, between
// points at the same distance from it: dividing it would never end and never help.
func (r *refiner) protected(tri *triangle, la, lb, lc float64) bool {
	e := int32(0)
	if lb < la && lb <= lc {
		e = 1
	} else if lc < la && lc < lb {
		e = 2
	}
	u, w := tri.v[next(e)], tri.v[prev(e)]
	p, q := r.on[u], r.on[w]
	if p < 0 || q < 0 || p == q {
		return false
	}
	x, y := &r.pieces[p], &r.pieces[q]
	for _, apex := range [2]int32{x.a, x.b} {
		if apex == y.a || apex == y.b {
			du, dw := squareM2(r.pts[apex], r.pts[u]), squareM2(r.pts[apex], r.pts[w])
			if du < 1.002*dw && dw < 1.002*du {
				return true
			}
		}
	}
	return false
}

// improve inserts a point that removes a bad triangle, or divides the subsegments in its way. again says
// that the triangle should be looked at once more.
func (r *refiner) improve(c candidate) (again bool, err error) {
	if err := r.ceiling(); err != nil {
		return false, err
	}
	tri := &r.tris[c.k]
	centre, ok := r.offCentre(tri)
	if !ok {
		return false, nil
	}
	k, edge, ok := r.walk(c.k, centre, false)
	if !ok {
		return false, nil
	}
	r.hit = r.hit[:0]
	if edge >= 0 {
		r.hit = append(r.hit, r.tris[k].s[edge])
	} else {
		r.begin(k)
		r.grow(centre, -1, -1)
		for i := range r.rim {
			if m := &r.rim[i]; m.s >= 0 && obtuse(r.pts[m.a], r.pts[m.b], centre) {
				r.hit = append(r.hit, m.s)
			}
		}
	}
	if len(r.hit) > 0 {
		for _, s := range r.hit {
			if s >= 0 && !r.subs[s].frozen {
				r.queueSub(s)
				again = true
			}
		}
		return again, r.drainSubs()
	}
	if r.starShaped(centre) {
		r.on = append(r.on, freePoint)
		r.fill(r.addPoint(centre))
	} else {
		p := r.addPoint(centre)
		if !r.insert(p, k) {
			r.dropPoint()
			return false, nil
		}
		r.on = append(r.on, freePoint)
	}
	r.afterInsert()
	return false, r.drainSubs()
}

// dropPoint takes back the point added last.
func (r *refiner) dropPoint() {
	n := len(r.pts) - 1
	r.pts, r.at, r.start = r.pts[:n], r.at[:n], r.start[:n]
}

// obtuse says whether p sees a–b at more than a right angle, that is, lies in its diametral circle.
func obtuse(a, b, p geom.Point) bool {
	return float64((a.X-p.X)*(b.X-p.X))+float64((a.Y-p.Y)*(b.Y-p.Y)) < 0
}

// offCentre returns the circumcentre of a triangle, or the point on the way to it where the shortest edge
// first makes a good enough triangle.
//
// Source: A. Üngör, Comput. Geom. 42 (2009) 109, doi:10.1016/j.comgeo.2008.06.002.
func (r *refiner) offCentre(tri *triangle) (geom.Point, bool) {
	a, b, c := r.pts[tri.v[0]], r.pts[tri.v[1]], r.pts[tri.v[2]]
	la, lb, lc := squareM2(b, c), squareM2(c, a), squareM2(a, b)
	switch { // turn so that a–b is the shortest edge
	case la <= lb && la <= lc:
		a, b, c = b, c, a
	case lb <= lc:
		a, b, c = c, a, b
	}
	bx, by, cx, cy := b.X-a.X, b.Y-a.Y, c.X-a.X, c.Y-a.Y
	cross := orient(a, b, c)
	if !(cross > 0) {
		return geom.Point{}, false
	}
	lb, lc = float64(cx*cx)+float64(cy*cy), float64(bx*bx)+float64(by*by)
	f := 0.5 / cross
	dx := float64((float64(cy*lc) - float64(by*lb)) * f)
	dy := float64((float64(bx*lb) - float64(cx*lc)) * f)
	ox := float64(0.5*bx) - float64(r.offFactor*by)
	oy := float64(0.5*by) + float64(r.offFactor*bx)
	if float64(ox*ox)+float64(oy*oy) < float64(dx*dx)+float64(dy*dy) {
		dx, dy = ox, oy
	}
	p := geom.Point{X: a.X + dx, Y: a.Y + dy}
	if p == a || p == b || p == c || math.IsNaN(dx) || math.IsInf(dx, 0) || math.IsNaN(dy) || math.IsInf(dy, 0) {
		return geom.Point{}, false
	}
	return p, true
}

// afterInsert looks at what the last insertion changed.
func (r *refiner) afterInsert() {
	for _, k := range r.fresh {
		for e := range int32(3) {
			if s := r.tris[k].s[e]; s >= 0 {
				r.testSub(s, k, e)
			}
		}
		if r.testing {
			r.testTriangle(k)
		}
	}
}
