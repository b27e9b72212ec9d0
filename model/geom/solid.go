package geom

import "math"

// Convex is a convex polyhedron in space: a prism, or what two mitre planes leave
// of one. The zero value is empty. It is not changed once made and may be used
// from several goroutines.
type Convex struct {
	corners []Point3
	edges   []edge3
	faces   []face3
	centre  Point3
	radiusM float64 // of the ball about centre that holds the corners
}

type edge3 struct {
	a, b Point3
	mid  Point3
	half float64
}

type face3 struct {
	normal  Point3 // unit, outwards
	level   float64
	corners []Point3
}

// Prism returns the solid between two convex plane polygons with the same number
// of corners, corner i of one joined to corner i of the other by an edge; the edges are
// parallel, the planes of the polygons need not be. from is counter-clockwise when
// seen against the way to to. Edges and faces of no size (planes that meet at a
// corner) are left out. Neither list is kept.
func Prism(from, to []Point3) Convex {
	n := len(from)
	if n < 3 || len(to) != n {
		panic("geom: a prism wants two polygons of the same length")
	}
	var c Convex
	c.corners = append(append(c.corners, from...), to...)
	for _, p := range c.corners {
		c.centre = c.centre.Add(p.Scale(1 / float64(2*n)))
	}
	for _, p := range c.corners {
		c.radiusM = math.Max(c.radiusM, p.Sub(c.centre).Norm())
	}
	down := make([]Point3, n)
	for i := range from {
		down[n-1-i] = from[i]
	}
	c.addFace(down)
	c.addFace(to)
	for i := range from {
		j := (i + 1) % n
		c.addFace([]Point3{from[i], from[j], to[j], to[i]})
		c.addEdge(from[i], from[j])
		c.addEdge(to[i], to[j])
		c.addEdge(from[i], to[i])
	}
	return c
}

func (c *Convex) addEdge(a, b Point3) {
	if half := b.Sub(a).Norm() / 2; half > c.toleranceM() {
		c.edges = append(c.edges, edge3{a, b, a.Add(b).Scale(0.5), half})
	}
}

// addFace keeps a face with its normal (M. E. Newell's sum; from memory). All
// faces come counter-clockwise seen from outside.
func (c *Convex) addFace(corners []Point3) {
	var n Point3
	for i := 1; i+1 < len(corners); i++ {
		n = n.Add(corners[i].Sub(corners[0]).Cross(corners[i+1].Sub(corners[0])))
	}
	tol := c.toleranceM()
	if size := n.Norm(); size > tol*c.radiusM {
		n = n.Scale(1 / size)
		c.faces = append(c.faces, face3{n, n.Dot(corners[0]), append([]Point3(nil), corners...)})
	}
}

// toleranceM is the length below which two places of the solid are the same, as
// explained at Point.
func (c *Convex) toleranceM() float64 {
	reach := c.radiusM
	for _, x := range []float64{c.centre.X, c.centre.Y, c.centre.Z} {
		reach = math.Max(reach, math.Abs(x)+c.radiusM)
	}
	return relTolerance * reach
}

// Empty reports whether c holds nothing.
func (c Convex) Empty() bool { return len(c.faces) == 0 }

// Corners returns the corners of c; the caller must not change them.
func (c Convex) Corners() []Point3 { return c.corners }

// Contains reports whether p lies in c; the surface belongs to it, with the
// tolerance of the package comment.
func (c Convex) Contains(p Point3) bool {
	if c.Empty() || p.Sub(c.centre).Norm() > c.radiusM*(1+1e-9) {
		return false
	}
	tol := c.toleranceM()
	for i := range c.faces {
		if !(c.faces[i].normal.Dot(p)-c.faces[i].level <= tol) {
			return false
		}
	}
	return true
}

// DistanceM returns the distance in metres from p to c; 0 inside, +Inf for an
// empty solid. Exact but for rounding: the least over the faces.
func (c Convex) DistanceM(p Point3) float64 {
	if c.Contains(p) {
		return 0
	}
	least := math.Inf(1)
	for i := range c.faces {
		least = math.Min(least, c.faces[i].distanceM(p))
	}
	return least
}

func (f *face3) distanceM(p Point3) float64 {
	h := f.normal.Dot(p) - f.level
	least, over := math.Inf(1), true
	a := f.corners[len(f.corners)-1]
	for _, b := range f.corners {
		d := b.Sub(a)
		if f.normal.Cross(d).Dot(p.Sub(a)) < 0 {
			over = false
		}
		least = math.Min(least, p.Sub(nearestOnSegment3(p, a, b)).Norm())
		a = b
	}
	if over {
		return math.Abs(h)
	}
	return least
}

func nearestOnSegment3(q, a, b Point3) Point3 {
	d := b.Sub(a)
	l2 := d.Dot(d)
	if l2 == 0 {
		return a
	}
	return a.Add(d.Scale(math.Min(1, math.Max(0, q.Sub(a).Dot(d)/l2))))
}
