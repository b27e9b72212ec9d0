package geom

// Region is a polygon with holes. Outer and the holes are simple and
// counter-clockwise; holes lie inside Outer and apart from each other.
type Region struct {
	Outer Polygon
	Holes []Polygon
}

// Solid returns the region of p without holes; it shares the corners of p.
func Solid(p Polygon) Region { return Region{Outer: p} }

// AreaM2 returns the area of r in square metres, holes taken off.
func (r Region) AreaM2() float64 {
	a := r.Outer.AreaM2()
	for _, h := range r.Holes {
		a -= h.AreaM2()
	}
	return a
}

// Box returns the smallest box that holds r.
func (r Region) Box() Box { return r.Outer.Box() }

// Place returns r turned counter-clockwise by turnRad about its local origin
// and then moved so that the origin comes to at.
func (r Region) Place(at Point, turnRad float64) Region {
	out := Region{Outer: r.Outer.Place(at, turnRad)}
	for _, h := range r.Holes {
		out.Holes = append(out.Holes, h.Place(at, turnRad))
	}
	return out
}

// Contains reports whether q lies in the material of r; every boundary belongs
// to it, with the tolerance of Polygon.Contains.
func (r Region) Contains(q Point) bool {
	if !r.Outer.Contains(q) {
		return false
	}
	tol := r.Box().toleranceM()
	for _, h := range r.Holes {
		if h.encloses(q) && h.BoundaryDistanceM(q) > tol {
			return false
		}
	}
	return true
}

// BoundaryDistanceM returns the distance in metres from q to the nearest
// boundary of r, outer or hole, whether q lies inside or not.
func (r Region) BoundaryDistanceM(q Point) float64 {
	d := r.Outer.BoundaryDistanceM(q)
	for _, h := range r.Holes {
		d = min(d, h.BoundaryDistanceM(q))
	}
	return d
}

// DistanceM returns the distance in metres from q to the material of r; 0 when
// q lies in it.
func (r Region) DistanceM(q Point) float64 {
	if r.Contains(q) {
		return 0
	}
	return r.BoundaryDistanceM(q)
}

// boundaries returns the outer polygon and the holes.
func (r Region) boundaries() []Polygon {
	return append([]Polygon{r.Outer}, r.Holes...)
}

// deepInside reports whether q lies in r and further than tolM from every
// boundary.
func (r Region) deepInside(q Point, tolM float64) bool {
	if !r.Outer.encloses(q) {
		return false
	}
	for _, h := range r.Holes {
		if h.encloses(q) {
			return false
		}
	}
	return r.BoundaryDistanceM(q) > tolM
}
