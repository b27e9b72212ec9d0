package mesh

import (
	"fmt"

	"busgauss/model/geom"
)

// Ref names an edge of the input: edge Edge of loop Loop, or, when Loop is -1, line Edge.
type Ref struct {
	Loop, Edge int
}

func (r Ref) String() string {
	if r.Loop < 0 {
		return fmt.Sprintf("line %d", r.Edge)
	}
	return fmt.Sprintf("edge %d of loop %d", r.Edge, r.Loop)
}

// InputError says that the drawing or an option is malformed. Loop and Edge are -1 where they do not apply.
type InputError struct {
	What       string
	Loop, Edge int
}

func (e *InputError) Error() string {
	switch {
	case e.Loop >= 0 && e.Edge >= 0:
		return fmt.Sprintf("mesh: loop %d, edge %d: %s", e.Loop, e.Edge, e.What)
	case e.Loop >= 0:
		return fmt.Sprintf("mesh: loop %d: %s", e.Loop, e.What)
	case e.Edge >= 0:
		return fmt.Sprintf("mesh: item %d: %s", e.Edge, e.What)
	}
	return "mesh: " + e.What
}

// CrossingError says that two edges of the drawing cross.
type CrossingError struct {
	First, Second Ref
	At            geom.Point // where, to drawing accuracy
}

func (e *CrossingError) Error() string {
	return fmt.Sprintf("mesh: %v crosses %v at (%.6g, %.6g) m", e.First, e.Second, e.At.X, e.At.Y)
}

// OverlapError says that two loops cover a common area although neither holds the other, or that they
// coincide and name different regions.
type OverlapError struct {
	First, Second int // indices of the loops
	At            geom.Point
}

func (e *OverlapError) Error() string {
	return fmt.Sprintf("mesh: loops %d and %d overlap at (%.6g, %.6g) m", e.First, e.Second, e.At.X, e.At.Y)
}

// CeilingError says that the refinement reached Options.MaxTriangles.
type CeilingError struct {
	Triangles, Max int
}

func (e *CeilingError) Error() string {
	return fmt.Sprintf("mesh: %d triangles reached the ceiling of %d", e.Triangles, e.Max)
}
