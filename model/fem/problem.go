package fem

import (
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/material"
	"busgauss/model/work"
)

// Round makes the outline of a piece one or two true circles. InnerM zero is a
// solid round. A ring may have a slit with parallel sides, SlitM wide and narrower than the hole: its middle lies in the
// direction +y turned by TurnRad.
type Round struct {
	Centre         geom.Point
	OuterM, InnerM float64
	SlitM, TurnRad float64
}

// Piece is a bar or a shield. A bar carries current; a shield carries none unless
// it is bonded to a bar.
type Piece struct {
	Name   string
	Region geom.Region // outline; ignored when Round is set
	Round  *Round
	IsBar  bool

	SigmaSPerM float64         // conductivity; 0 is insulating
	MuRel      float64         // relative permeability; 0 means 1
	Curve      *material.Curve // magnetisation; the linear solver uses its initial permeability when MuRel is 0
	SheetM     float64         // lamination thickness; 0 is solid
}

// Problem is a plane arrangement. Bars are counted in the order of Pieces among
// those with IsBar, shields among the others.
type Problem struct {
	Pieces  []Piece
	Bonded  [][]int      // groups of indices into Pieces that are joined at both ends
	Sensors []geom.Point // where values are wanted to the certainty asked
}

// Options steer the solvers. The zero value is usable.
type Options struct {
	Certainty   float64 // relative bound wanted for |B| at each sensor, of uniform fields uniformSlack times it where it is 0.005 or more; 0 means 0.005
	MaxUnknowns int     // ceiling; 0 means 300,000
	MaxBytes    int64   // ceiling on the memory of matrix and solutions; 0 means 220 MB
	MaxLevels   int     // meshes tried, the first included; 0 means 6
	MaxSteps    int     // Newton steps in all; 0 means 60

	Meshes *Meshes // of the arrangement; nil: none are kept
	// Like is a solution of the same arrangement at the same frequency with other permeabilities, whose last mesh is
	// the first one tried; nil: none. Where its mesh does not serve it counts as none.
	Like *Solution
	// Work is what the solution and its answers may take, and Shelf is where it is kept; nil: all that it asks for.
	Work  *work.Budget
	Shelf *work.Shelf
	// Answers of earlier solutions, with which a problem need not be solved again; nil: none are kept.
	Answers *Answers
}

func (o Options) resolved() Options {
	if o.Certainty == 0 {
		o.Certainty = firstCertainty
	}
	if o.MaxUnknowns == 0 {
		o.MaxUnknowns = 300_000
	}
	if o.MaxBytes == 0 {
		o.MaxBytes = 220 << 20
	}
	if o.MaxLevels == 0 {
		o.MaxLevels = 6
	}
	if o.MaxSteps == 0 {
		o.MaxSteps = 60
	}
	return o
}

// MaxFreqHz is the highest frequency accepted: a megahertz. Above it the current
// along z changes over the length of a bar and the plane picture ends.
const MaxFreqHz = 1e6

// InputError says what is wrong with a problem; Piece is -1 where none is to blame.
type InputError struct {
	Piece int
	What  string
}

// Error returns the reason.
func (e *InputError) Error() string { return "plane field: " + e.What }

// TooLarge says that the mesh or the memory needed would pass the ceiling.
type TooLarge struct {
	NeededUnknowns, MaxUnknowns int
	NeededBytes, MaxBytes       int64
	Why                         string
}

// Error returns what is needed and the ceiling.
func (e *TooLarge) Error() string {
	if e.NeededBytes > 0 {
		return fmt.Sprintf("plane field: %s needs %d MB, the ceiling is %d MB", e.Why, e.NeededBytes>>20, e.MaxBytes>>20)
	}
	return fmt.Sprintf("plane field: %s needs more than %d unknowns, the ceiling is %d", e.Why, e.NeededUnknowns, e.MaxUnknowns)
}

// check validates p for a frequency.
func (p *Problem) check(freqHz float64) error {
	if !(freqHz >= 0) || math.IsInf(freqHz, 0) {
		return &InputError{-1, "frequency must be a number, zero or more"}
	}
	if freqHz > MaxFreqHz {
		return &InputError{-1, fmt.Sprintf("frequency %g Hz is above %g Hz, where the current of a long bar is no longer the same along its length", freqHz, float64(MaxFreqHz))}
	}
	for i := range p.Pieces {
		c := &p.Pieces[i]
		bad := func(format string, args ...any) error {
			return &InputError{i, fmt.Sprintf("%q: ", c.Name) + fmt.Sprintf(format, args...)}
		}
		switch {
		case c.MuRel != 0 && !(c.MuRel >= 1) || math.IsInf(c.MuRel, 0):
			return bad("relative permeability %g is below 1 or not finite", c.MuRel)
		case !(c.SigmaSPerM >= 0) || math.IsInf(c.SigmaSPerM, 0):
			return bad("conductivity %g S/m is negative or not finite", c.SigmaSPerM)
		case !(c.SheetM >= 0):
			return bad("sheet thickness %g m is negative", c.SheetM)
		case c.IsBar && !(c.SigmaSPerM > 0) && freqHz > 0:
			return bad("a bar needs a conductivity at alternating current")
		case c.Round != nil && !(c.Round.OuterM > c.Round.InnerM && c.Round.InnerM >= 0):
			return bad("radii %g m and %g m", c.Round.OuterM, c.Round.InnerM)
		case c.Round != nil && !(c.Round.SlitM == 0 || c.Round.SlitM > 0 && c.Round.SlitM < 2*c.Round.InnerM):
			return bad("slit %g m in a hole of %g m", c.Round.SlitM, 2*c.Round.InnerM)
		case c.Round == nil && !(c.Region.AreaM2() > 0):
			return bad("outline has no area")
		}
	}
	seen := make([]bool, len(p.Pieces))
	for _, g := range p.Bonded {
		for _, i := range g {
			if i < 0 || i >= len(p.Pieces) || seen[i] {
				return &InputError{-1, "bonded groups must name existing pieces, each once"}
			}
			if !(p.Pieces[i].SigmaSPerM > 0) {
				return &InputError{i, fmt.Sprintf("%q is bonded but does not conduct", p.Pieces[i].Name)}
			}
			seen[i] = true
		}
	}
	for _, q := range p.Sensors {
		if math.IsNaN(q.X+q.Y) || math.IsInf(q.X+q.Y, 0) {
			return &InputError{-1, "a sensor has no place"}
		}
	}
	return nil
}

// bars returns the piece index of every bar.
func (p *Problem) bars() (bars, shields []int) {
	for i := range p.Pieces {
		if p.Pieces[i].IsBar {
			bars = append(bars, i)
		} else {
			shields = append(shields, i)
		}
	}
	return bars, shields
}

// areaM2 returns the exact area of the section.
func (c *Piece) areaM2() float64 {
	if r := c.Round; r != nil {
		return float64(math.Pi*(r.OuterM-r.InnerM)*(r.OuterM+r.InnerM)) - r.slitM2()
	}
	return c.Region.AreaM2()
}

// contains says whether q lies in the section, its edge included.
func (c *Piece) contains(q geom.Point) bool {
	if r := c.Round; r != nil {
		d := q.Sub(r.Centre).Norm()
		return d <= r.OuterM && d >= r.InnerM && !r.inSlit(q)
	}
	return c.Region.Contains(q)
}

// muInitial returns the relative permeability of the linear solver.
func (c *Piece) muInitial() float64 {
	switch {
	case c.MuRel > 0:
		return c.MuRel
	case c.Curve != nil:
		return math.Max(1, c.Curve.MuRelInitial())
	}
	return 1
}
