package mesh

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// makeSubs turns every piece into one subsegment, so that edge marks number subsegments from here on.
func (r *refiner) makeSubs() {
	r.subs = make([]sub, len(r.pieces))
	for i := range r.pieces {
		p := &r.pieces[i]
		r.subs[i] = sub{a: p.a, b: p.b, piece: int32(i), frozen: p.kind == row}
	}
	r.on = make([]int32, len(r.pts))
	for i := range r.on {
		r.on[i] = givenPoint
	}
}

// queueSub asks for a subsegment to be divided.
func (r *refiner) queueSub(s int32) {
	if !r.subs[s].queued && !r.subs[s].frozen {
		r.subs[s].queued = true
		r.subQueue = append(r.subQueue, s)
	}
}

// testSub queues the subsegment on edge e of triangle k when the apex lies in its diametral circle or it is
// longer than wanted. Triangles in layers do not count.
func (r *refiner) testSub(s, k, e int32) {
	q := &r.subs[s]
	if q.queued || q.frozen {
		return
	}
	tri := &r.tris[k]
	a, b := r.pts[q.a], r.pts[q.b]
	if !tri.fixed && obtuse(a, b, r.pts[tri.v[e]]) {
		r.queueSub(s)
		return
	}
	l2 := squareM2(a, b)
	if h := r.pieces[q.piece].edgeM; h > 0 && l2 > 1.0001*h*h {
		r.queueSub(s)
		return
	}
	if r.size != nil && !tri.fixed {
		m := geom.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}
		if h := r.size(m, tri.region); h > 0 && l2 > 1.0001*h*h {
			r.queueSub(s)
		}
	}
}

// drainSubs divides waiting subsegments until none is left.
func (r *refiner) drainSubs() error {
	for r.subHead < len(r.subQueue) {
		s := r.subQueue[r.subHead]
		r.subHead++
		r.subs[s].queued = false
		if err := r.ceiling(); err != nil {
			return err
		}
		r.divide(s)
	}
	r.subQueue, r.subHead = r.subQueue[:0], 0
	return nil
}

// divide splits a subsegment in two, or freezes it when the arithmetic leaves no room.
func (r *refiner) divide(s int32) bool {
	q := r.subs[s]
	if !(squareM2(r.pts[q.a], r.pts[q.b]) > r.floorM*r.floorM) {
		r.subs[s].frozen = true
		return false
	}
	k, e := r.edgeOfSub(s)
	at := r.splitPoint(&q)
	if !r.splitEdge(at, k, e, s) {
		r.subs[s].frozen = true
		return false
	}
	r.afterInsert()
	return true
}

// edgeOfSub returns a triangle and its edge that is subsegment s. Where holes touch at a point its triangles
// form several fans, of which only one is on record: then the other end is tried, and last every triangle.
func (r *refiner) edgeOfSub(s int32) (k, e int32) {
	q := &r.subs[s]
	for _, ends := range [2][2]int32{{q.a, q.b}, {q.b, q.a}} {
		if k, e, ok := r.findEdge(ends[0], ends[1]); ok {
			return k, e
		}
	}
	for k := range r.tris {
		for e := range int32(3) {
			if r.tris[k].s[e] == s {
				return int32(k), e
			}
		}
	}
	panic("mesh: subsegment without an edge")
}

// splitPoint returns where to divide: half-way, or at a power of two metres from a sharp corner, so that all
// pieces that meet there are divided on the same circles.
//
// Source: J. Ruppert, J. Algorithms 18 (1995) 548, section 5 (concentric shells).
func (r *refiner) splitPoint(q *sub) geom.Point {
	p := &r.pieces[q.piece]
	a, b := r.pts[q.a], r.pts[q.b]
	sharpA := (q.a == p.a && p.sharp[0]) || (q.a == p.b && p.sharp[1])
	sharpB := (q.b == p.a && p.sharp[0]) || (q.b == p.b && p.sharp[1])
	if sharpA == sharpB {
		if p.arc >= 0 {
			return arcMiddle(r.arcs[p.arc], a, b)
		}
		return geom.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}
	}
	if sharpB {
		a, b = b, a
	}
	dx, dy := b.X-a.X, b.Y-a.Y
	l := math.Sqrt(float64(dx*dx) + float64(dy*dy))
	shell := portable.Exp2(math.Floor(portable.Log2(l * 2 / 3))) // between a third and two thirds of l
	if p.arc < 0 {
		f := shell / l
		return geom.Point{X: a.X + float64(f*dx), Y: a.Y + float64(f*dy)}
	}
	arc := r.arcs[p.arc]
	c := newCurve(a, b, arc)
	return c.at(2*arc.RadiusM*portable.Asin(shell/(2*arc.RadiusM)), 0)
}

// splitEdge inserts the point at on the constraint edge e of triangle k, which is subsegment s. On arcs the
// point lies off the chord; both triangles at the chord join the cavity, so the region boundary moves to it.
// It changes nothing and reports false when the new triangles would not all turn the right way.
func (r *refiner) splitEdge(at geom.Point, k, e, s int32) bool {
	tri := &r.tris[k]
	a, b := tri.v[next(e)], tri.v[prev(e)]
	n := tri.n[e]
	r.begin(k, n)
	r.grow(at, a, b)
	if !r.starShaped(at) {
		r.begin(k, n)
		r.collectRim(a, b)
		if !r.starShaped(at) {
			return false
		}
	}
	p := r.addPoint(at)
	q := r.subs[s]
	r.on = append(r.on, q.piece)
	r.fill(p)
	half := int32(len(r.subs))
	r.subs[s].b = p
	r.subs = append(r.subs, sub{a: p, b: q.b, piece: q.piece, frozen: q.frozen})
	mark := func(end, id int32) {
		k, i, ok := r.findEdge(p, end)
		if !ok {
			panic("mesh: half of a subsegment without an edge")
		}
		r.tris[k].s[i] = id
		if n := r.tris[k].n[i]; n >= 0 {
			r.tris[n].s[r.edgeOf(n, r.tris[k].v[prev(i)])] = id
		}
	}
	mark(q.a, s)
	mark(q.b, half)
	if r.pieces[q.piece].arc >= 0 {
		r.legalise(p)
	}
	return true
}
