package geom

import (
	"math"

	"busgauss/model/portable"
)

// Box is an axis-parallel rectangle, Min its lower left corner and Max its
// upper right one. A box with Min above Max is empty; EmptyBox is the neutral
// element of Join.
type Box struct{ Min, Max Point }

// EmptyBox returns a box that holds nothing.
func EmptyBox() Box {
	inf := math.Inf(1)
	return Box{Point{inf, inf}, Point{-inf, -inf}}
}

// Empty reports whether b holds no point.
func (b Box) Empty() bool { return !(b.Min.X <= b.Max.X && b.Min.Y <= b.Max.Y) }

// Size returns width and height of b.
func (b Box) Size() Point { return b.Max.Sub(b.Min) }

// Centre returns the middle of b.
func (b Box) Centre() Point { return b.Min.Add(b.Max).Scale(0.5) }

// Contains reports whether q lies in b; the edge belongs to b.
func (b Box) Contains(q Point) bool {
	return q.X >= b.Min.X && q.X <= b.Max.X && q.Y >= b.Min.Y && q.Y <= b.Max.Y
}

// DistanceM returns the distance of q from b, 0 in it.
func (b Box) DistanceM(q Point) float64 {
	return portable.Hypot(math.Max(0, math.Max(b.Min.X-q.X, q.X-b.Max.X)), math.Max(0, math.Max(b.Min.Y-q.Y, q.Y-b.Max.Y)))
}

// Join returns the smallest box that holds both b and c.
func (b Box) Join(c Box) Box {
	return Box{
		Point{math.Min(b.Min.X, c.Min.X), math.Min(b.Min.Y, c.Min.Y)},
		Point{math.Max(b.Max.X, c.Max.X), math.Max(b.Max.Y, c.Max.Y)},
	}
}

// Extend returns the smallest box that holds b and q.
func (b Box) Extend(q Point) Box { return b.Join(Box{q, q}) }

// Grow returns b with every side moved outwards by marginM.
func (b Box) Grow(marginM float64) Box {
	m := Point{marginM, marginM}
	return Box{b.Min.Sub(m), b.Max.Add(m)}
}

// Meets reports whether b and c share a point; touching counts.
func (b Box) Meets(c Box) bool {
	return b.Min.X <= c.Max.X && c.Min.X <= b.Max.X && b.Min.Y <= c.Max.Y && c.Min.Y <= b.Max.Y
}

// reach is the largest coordinate of b by magnitude.
func (b Box) reach() float64 {
	return math.Max(math.Max(math.Abs(b.Min.X), math.Abs(b.Max.X)), math.Max(math.Abs(b.Min.Y), math.Abs(b.Max.Y)))
}

// relTolerance is the share of the largest coordinate below which two places
// are the same; the package comment explains it.
const relTolerance = 1e-12

// toleranceM is the distance below which two places of the box are the same.
func (b Box) toleranceM() float64 { return relTolerance * b.reach() }
