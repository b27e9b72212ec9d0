package layout

import "busgauss/model/span"

// CutKind tells the cuts in the plan of a flat bar apart.
type CutKind uint8

// The four cuts of a plan.
const (
	Neck  CutKind = iota + 1 // material taken from both edges, WidthM is left in the middle
	Notch                    // material taken from one edge to DepthM
	Hole                     // round, through the bar
	Slot                     // with round ends, along the bar
)

// Cut is one place where the plan of a flat bar is not full. The plan is seen
// along the thickness: across is local x of the section from its centre, along
// is z of the layout on the piece that passes the section, both for the centre
// of the cut. Only the numbers of its kind are set.
type Cut struct {
	Kind      CutKind
	AlongM    Num
	AcrossM   Num     // Hole, Slot
	LengthM   Num     // Neck, Notch, Slot: along the bar
	WidthM    Num     // Neck: what is left; Slot: across, at most its length
	DepthM    Num     // Notch: from the edge
	DiameterM Num     // Hole
	Side      float64 // Notch: 1 at local +x (right), -1 at local -x (left)
	Span      span.Span
}
