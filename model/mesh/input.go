package mesh

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// RegionID names a region of the drawing. Several loops may share one.
type RegionID int32

// Void is the region of holes: its triangles are removed.
const Void RegionID = -1

// Tag names a boundary. The mesh carries it on every edge of the loop or line it was given for.
type Tag int32

// Arc says that an edge is the shorter circular arc between its ends. RadiusM zero is a straight edge.
type Arc struct {
	Centre  geom.Point
	RadiusM float64
}

// Loop is a closed curve and the region just inside it. Loops lie apart, touch, or nest; where they nest
// the innermost loop decides the region. Crossing loops are an error.
type Loop struct {
	Points geom.Polygon // corners in either sense of rotation, at least three, or two when an edge is an arc
	Region RegionID
	Tag    Tag   // of every edge, unless Tags is given
	Tags   []Tag // nil, or one an edge; edge i runs from Points[i] to the next corner
	Arcs   []Arc // nil, or one an edge

	MaxEdgeM float64 // longest edge on the loop; 0 is no limit of its own

	Inside, Outside Layers // skin layers on either side of the loop; the zero value is none
}

// Layers asks for rows of thin flat elements along a surface. Row k is FirstM·Growth^k thick, k = 0 …
// Count-1. Rows are left out from the deepest up until those kept reach at most two fifths of the local
// thickness; Mesh.Rows says how many were made. Where none fits (sharp corners) the surface
// edges are limited to 2·FirstM instead and the refinement grades them.
//
// A conductor of skin depth δ is resolved to better than one per cent with quadratic elements by
// FirstM = δ/3, Growth = 1.5 and enough rows to reach 3 δ (common practice).
type Layers struct {
	FirstM float64 // thickness of the row at the surface; 0 is no layers
	Growth float64 // ratio of a row to the one above it; 0 means 1.5
	Count  int     // rows wanted
	EdgeM  float64 // longest edge along the surface; 0 leaves it to MaxEdgeM and the corners
}

// Line is an open constraint edge.
type Line struct {
	A, B     geom.Point
	Tag      Tag
	MaxEdgeM float64 // 0 is no limit of its own
}

// Seed fixes the region of the area around a point, before loops decide.
type Seed struct {
	At     geom.Point
	Region RegionID
}

// Input is a drawing. Its slices are read, never kept or changed.
type Input struct {
	Loops  []Loop
	Lines  []Line
	Points []geom.Point // nodes the mesh must have; those outside every loop are an error
	Seeds  []Seed
}

// Options steer the refinement. The zero value is usable.
type Options struct {
	// MinAngleDeg is the smallest angle wanted, in degrees; 0 means 25, above 33 is refused. Corners of
	// the drawing sharper than 60° keep their angle, and so may triangles beside them.
	MinAngleDeg float64
	// Size returns the longest edge wanted, in metres, at a point of a region; 0, NaN or infinite is no
	// limit. nil is no limit anywhere. It must be a pure function.
	Size func(geom.Point, RegionID) float64
	// MaxTriangles is the ceiling; 0 means 2,000,000. Reaching it is a CeilingError.
	MaxTriangles int
	// SnapRel is the distance, relative to the extent of the drawing, below which points are one point and a
	// point lies on an edge; 0 means 1e-10.
	SnapRel float64
	// ArcStepDeg is the largest angle a piece of an arc may span before refinement; 0 means 15.
	ArcStepDeg float64
}

const (
	defaultMinAngleDeg  = 25
	largestMinAngleDeg  = 33
	defaultMaxTriangles = 2_000_000
	defaultSnapRel      = 1e-10
	defaultArcStepDeg   = 15
)

// resolved fills in defaults and checks every field.
func (o Options) resolved() (Options, error) {
	pick := func(v *float64, standard, low, high float64, name string) error {
		if *v == 0 {
			*v = standard
		}
		if !(*v >= low && *v <= high) {
			return &InputError{What: name + " out of range", Loop: -1, Edge: -1}
		}
		return nil
	}
	if err := pick(&o.MinAngleDeg, defaultMinAngleDeg, 1, largestMinAngleDeg, "smallest angle"); err != nil {
		return o, err
	}
	if err := pick(&o.SnapRel, defaultSnapRel, 1e-13, 1e-3, "snap distance"); err != nil {
		return o, err
	}
	if err := pick(&o.ArcStepDeg, defaultArcStepDeg, 0.1, 60, "arc step"); err != nil {
		return o, err
	}
	if o.MaxTriangles == 0 {
		o.MaxTriangles = defaultMaxTriangles
	}
	if o.MaxTriangles < 1 || o.MaxTriangles > math.MaxInt32/4 {
		return o, &InputError{What: "ceiling on triangles out of range", Loop: -1, Edge: -1}
	}
	return o, nil
}

// CircleLoop returns a loop of four quarter arcs around a circle, starting at angleRad from +x.
// radiusM <= 0 gives a loop that Triangulate refuses.
func CircleLoop(centre geom.Point, radiusM, angleRad float64, region RegionID, tag Tag) Loop {
	l := Loop{Region: region, Tag: tag}
	for k := range 4 {
		s, c := portable.Sincos(angleRad + float64(k)*math.Pi/2)
		l.Points = append(l.Points, geom.Point{X: centre.X + float64(radiusM*c), Y: centre.Y + float64(radiusM*s)})
		l.Arcs = append(l.Arcs, Arc{Centre: centre, RadiusM: radiusM})
	}
	return l
}

// tag returns the tag of edge i.
func (l *Loop) tag(i int) Tag {
	if l.Tags != nil {
		return l.Tags[i]
	}
	return l.Tag
}

// arc returns the arc of edge i, zero when straight.
func (l *Loop) arc(i int) Arc {
	if l.Arcs != nil {
		return l.Arcs[i]
	}
	return Arc{}
}
