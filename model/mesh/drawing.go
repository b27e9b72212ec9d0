package mesh

import (
	"math"

	"busgauss/model/geom"
)

// kind says what a constraint edge does.
type kind uint8

const (
	plain kind = iota // edge of the drawing: separates regions
	limit             // deepest line of a skin layer: ends the unrefined rows
	row               // edge between rows of a skin layer: never split
)

// stroke is an edge of the drawing between two points, before points on it divide it further.
type stroke struct {
	a, b  int32
	ref   Ref
	tag   Tag
	arc   int32 // index into arcs, -1 straight
	kind  kind
	edgeM float64 // longest edge wanted, 0 none
	owner int32   // loop whose layers made it, -1
}

// cell is a square of the merging grid.
type cell struct{ x, y int64 }

// drawing is the input with points merged, arcs divided and layers laid.
type drawing struct {
	tolM    float64
	box     geom.Box
	pts     []geom.Point
	strokes []stroke
	arcs    []Arc
	outline [][]int32      // points of each loop, arcs divided
	nodes   []int32        // point of each Input.Points
	rows    [][2]int       // rows made inside and outside each loop
	cells   map[cell]int32 // newest point of each square
	older   []int32        // the point before in the same square, -1
}

// largestCoordinateM keeps the fourth powers of the in-circle test far from overflow; the smallest extent
// keeps them from underflow.
const (
	largestCoordinateM = 1e30
	smallestExtentM    = 1e-30
)

// newDrawing checks the input and merges points. cut limits the rows of each loop's layers, and is nil at first.
func newDrawing(in *Input, opt Options, cut [][2]int) (*drawing, error) {
	d := &drawing{box: geom.EmptyBox(), cells: make(map[cell]int32)}
	if err := d.measure(in); err != nil {
		return nil, err
	}
	extent := math.Max(d.box.Size().X, d.box.Size().Y)
	if !(extent > smallestExtentM) {
		return nil, &InputError{What: "drawing has no extent", Loop: -1, Edge: -1}
	}
	reach := math.Max(math.Max(math.Abs(d.box.Min.X), math.Abs(d.box.Max.X)), math.Max(math.Abs(d.box.Min.Y), math.Abs(d.box.Max.Y)))
	if reach > 1e5*extent {
		return nil, &InputError{What: "drawing lies too far from the origin for its extent", Loop: -1, Edge: -1}
	}
	d.tolM = opt.SnapRel * extent
	for _, p := range in.Points {
		d.nodes = append(d.nodes, d.point(p))
	}
	touch := arcTouches(in, d.tolM)
	curves := make([][]curve, len(in.Loops))
	for i := range in.Loops {
		curves[i] = loopCurves(&in.Loops[i], opt, touch[i])
	}
	d.rows = make([][2]int, len(in.Loops))
	fits := newThickness(in, curves)
	for i := range in.Loops {
		d.addLoop(in, i, curves[i], fits, opt, cut)
	}
	for i, l := range in.Lines {
		a, b := d.point(l.A), d.point(l.B)
		d.add(stroke{a: a, b: b, ref: Ref{-1, i}, tag: l.Tag, arc: -1, edgeM: l.MaxEdgeM, owner: -1})
	}
	if err := d.clearArcs(); err != nil {
		return nil, err
	}
	d.cells = nil
	return d, nil
}

// measure checks every number and takes the extent.
func (d *drawing) measure(in *Input) error {
	bad := func(p geom.Point) bool {
		return !(math.Abs(p.X) <= largestCoordinateM && math.Abs(p.Y) <= largestCoordinateM)
	}
	limitOK := func(x float64) bool { return x >= 0 && !math.IsInf(x, 1) }
	for i := range in.Loops {
		l := &in.Loops[i]
		n := len(l.Points)
		curved := false
		for _, a := range l.Arcs {
			curved = curved || a.RadiusM != 0
		}
		switch {
		case n < 2 || (n == 2 && !curved):
			return &InputError{What: "fewer than three corners", Loop: i, Edge: -1}
		case l.Tags != nil && len(l.Tags) != n:
			return &InputError{What: "number of tags differs from number of edges", Loop: i, Edge: -1}
		case l.Arcs != nil && len(l.Arcs) != n:
			return &InputError{What: "number of arcs differs from number of edges", Loop: i, Edge: -1}
		case !limitOK(l.MaxEdgeM):
			return &InputError{What: "edge limit is not a length", Loop: i, Edge: -1}
		case l.Region < Void:
			return &InputError{What: "region below void", Loop: i, Edge: -1}
		}
		for _, lay := range []Layers{l.Inside, l.Outside} {
			if !limitOK(lay.FirstM) || !limitOK(lay.Growth) || !limitOK(lay.EdgeM) || lay.Count < 0 || lay.Count > 1000 || (lay.Growth != 0 && lay.Growth < 1) {
				return &InputError{What: "layers out of range", Loop: i, Edge: -1}
			}
		}
		for k, p := range l.Points {
			if bad(p) {
				return &InputError{What: "corner is not a finite position", Loop: i, Edge: k}
			}
			d.box = d.box.Extend(p)
		}
		for k := range n {
			arc := l.arc(k)
			if arc.RadiusM == 0 {
				continue
			}
			a, b := l.Points.Edge(k)
			ra, rb := arc.Centre.Sub(a).Norm(), arc.Centre.Sub(b).Norm()
			if !(arc.RadiusM > 0) || bad(arc.Centre) || !(math.Abs(ra-arc.RadiusM) <= 1e-6*arc.RadiusM) || !(math.Abs(rb-arc.RadiusM) <= 1e-6*arc.RadiusM) {
				return &InputError{What: "ends do not lie on the arc", Loop: i, Edge: k}
			}
			if a == b || math.Abs(newCurve(a, b, arc).spanRad) > math.Pi*0.999 {
				return &InputError{What: "arc of half a turn or more", Loop: i, Edge: k}
			}
		}
	}
	for i, l := range in.Lines {
		if bad(l.A) || bad(l.B) || !limitOK(l.MaxEdgeM) {
			return &InputError{What: "line is not finite", Loop: -1, Edge: i}
		}
		d.box = d.box.Extend(l.A).Extend(l.B)
	}
	for i, p := range in.Points {
		if bad(p) {
			return &InputError{What: "point is not a finite position", Loop: -1, Edge: i}
		}
		d.box = d.box.Extend(p)
	}
	for i, s := range in.Seeds {
		if bad(s.At) || s.Region < Void {
			return &InputError{What: "seed is not usable", Loop: -1, Edge: i}
		}
	}
	if len(in.Loops) == 0 {
		return &InputError{What: "no loops", Loop: -1, Edge: -1}
	}
	return nil
}

// point returns the index of p, merged with an earlier point within the snap distance.
func (d *drawing) point(p geom.Point) int32 {
	size := 8 * d.tolM
	fx, fy := (p.X-d.box.Min.X)/size, (p.Y-d.box.Min.Y)/size
	// A neighbouring square matters only when p is within the snap distance (an eighth) of it.
	x0, x1 := int64(math.Floor(fx-0.125)), int64(math.Floor(fx+0.125))
	y0, y1 := int64(math.Floor(fy-0.125)), int64(math.Floor(fy+0.125))
	for x := x0; x <= x1; x++ {
		for y := y0; y <= y1; y++ {
			i, ok := d.cells[cell{x, y}]
			for ok && i >= 0 {
				if d.pts[i].Sub(p).Norm() <= d.tolM {
					return i
				}
				i = d.older[i]
			}
		}
	}
	d.pts = append(d.pts, p)
	i := int32(len(d.pts) - 1)
	c := cell{int64(math.Floor(fx)), int64(math.Floor(fy))}
	old, taken := d.cells[c]
	if !taken {
		old = -1
	}
	d.older = append(d.older, old)
	d.cells[c] = i
	return i
}

// add appends a stroke unless merging left it without length.
func (d *drawing) add(s stroke) {
	if s.a != s.b {
		d.strokes = append(d.strokes, s)
	}
}

// addArc returns the index of an arc, -1 for none.
func (d *drawing) addArc(a Arc) int32 {
	if a.RadiusM == 0 {
		return -1
	}
	if n := len(d.arcs); n > 0 && d.arcs[n-1] == a {
		return int32(n - 1)
	}
	d.arcs = append(d.arcs, a)
	return int32(len(d.arcs) - 1)
}
