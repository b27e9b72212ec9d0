package plan

import (
	"fmt"
	"math"

	"busgauss/model/layout"
	"busgauss/model/si"
)

// Drawing is a flat bar with cuts in its plan.
type Drawing struct {
	WidthM, ThicknessM float64
	// FromM and ToM are the ends along z, where the current enters and leaves evenly
	// over the width that is left there. −Inf and +Inf stand for a bar that goes on.
	FromM, ToM float64
	Cuts       []layout.Cut
}

// CutError says what is wrong with a cut. Cut is its place in Drawing.Cuts, Other
// that of the cut it meets, -1 for none.
type CutError struct {
	Cut, Other int
	What       string
}

func (e *CutError) Error() string {
	if e.Other >= 0 {
		return fmt.Sprintf("cuts %d and %d of the bar: %s", e.Cut+1, e.Other+1, e.What)
	}
	return fmt.Sprintf("cut %d of the bar: %s", e.Cut+1, e.What)
}

// leastBridge is the narrowest metal, as a share of the width, that is drawn at all.
const leastBridge = 1e-4

// leastCut is the shortest and the shallowest cut, as a share of the width, that is drawn: steps that are nearer to one
// another share their corners.
const leastCut = leastBridge / 100

// step is metal taken from one edge: depthM over fromM <= z <= toM.
type step struct {
	cut                int
	fromM, toM, depthM float64
}

// round is a hole or slot: all points within radiusM of the line from z = fromM to
// toM at x = acrossM.
type round struct {
	cut                         int
	acrossM, fromM, toM, radius float64
}

// parts holds the cuts of a drawing by what they do to its outline.
type parts struct {
	left, right []step // sorted along z
	rounds      []round
}

func positive(v ...float64) bool {
	for _, x := range v {
		if !(x > 0) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// parts checks each cut by itself and shares it out.
func (d *Drawing) parts() (*parts, error) {
	if !positive(d.WidthM, d.ThicknessM) {
		return nil, fmt.Errorf("width %s and thickness %s of a flat bar must be above zero",
			si.Format(d.WidthM, "m"), si.Format(d.ThicknessM, "m"))
	}
	if !(d.FromM < d.ToM) || math.IsInf(d.FromM, 1) || math.IsInf(d.ToM, -1) {
		return nil, fmt.Errorf("a flat bar from %s to %s has no length", si.Format(d.FromM, "m"), si.Format(d.ToM, "m"))
	}
	p := &parts{}
	for i := range d.Cuts {
		if err := d.add(p, i); err != nil {
			return nil, err
		}
	}
	return p, nil
}

func (d *Drawing) add(p *parts, i int) error {
	c := &d.Cuts[i]
	fail := func(format string, args ...any) error {
		return &CutError{Cut: i, Other: -1, What: fmt.Sprintf(format, args...)}
	}
	at, w := c.AlongM.V, d.WidthM
	if math.IsNaN(at) || math.IsInf(at, 0) || math.IsNaN(c.AcrossM.V) || math.IsInf(c.AcrossM.V, 0) {
		return fail("its place is not a number")
	}
	var name string
	var lengthM float64
	switch c.Kind {
	case layout.Neck:
		name, lengthM = "neck", c.LengthM.V
		if !positive(lengthM, c.WidthM.V) {
			return fail("a neck needs a length and a width above zero")
		}
		if c.WidthM.V >= w {
			return fail("a neck of %s is no narrower than the bar of %s", si.Format(c.WidthM.V, "m"), si.Format(w, "m"))
		}
	case layout.Notch:
		name, lengthM = "notch", c.LengthM.V
		if !positive(lengthM, c.DepthM.V) {
			return fail("a notch needs a length and a depth above zero")
		}
		if c.Side != 1 && c.Side != -1 {
			return fail("a notch is on the left or on the right")
		}
		if c.DepthM.V >= w {
			return fail("a notch %s deep parts the bar of %s", si.Format(c.DepthM.V, "m"), si.Format(w, "m"))
		}
	case layout.Hole:
		name, lengthM = "hole", c.DiameterM.V
		if !positive(lengthM) {
			return fail("a hole needs a diameter above zero")
		}
		p.rounds = append(p.rounds, round{i, c.AcrossM.V, at, at, lengthM / 2})
	case layout.Slot:
		name, lengthM = "slot", c.LengthM.V
		if !positive(lengthM, c.WidthM.V) {
			return fail("a slot needs a length and a width above zero")
		}
		if c.WidthM.V > lengthM {
			return fail("a slot of %s is shorter than its width of %s", si.Format(lengthM, "m"), si.Format(c.WidthM.V, "m"))
		}
		r := c.WidthM.V / 2
		p.rounds = append(p.rounds, round{i, c.AcrossM.V, at - lengthM/2 + r, at + lengthM/2 - r, r})
	default:
		return fail("it is of no known kind")
	}
	if least := leastCut * w; !(lengthM >= least && acrossM(c, w) >= least) {
		return fail("the %s is smaller than %s, the least that is drawn of a bar of %s", name, si.Format(least, "m"), si.Format(w, "m"))
	}
	from, to := at-lengthM/2, at+lengthM/2
	tol := float64(leastBridge * w)
	if to <= d.FromM+tol || from >= d.ToM-tol {
		return fail("the %s lies beyond the end of the bar", name)
	}
	switch c.Kind {
	case layout.Neck:
		depth := (w - c.WidthM.V) / 2
		p.left = append(p.left, step{i, from, to, depth})
		p.right = append(p.right, step{i, from, to, depth})
	case layout.Notch:
		if c.Side < 0 {
			p.left = append(p.left, step{i, from, to, c.DepthM.V})
		} else {
			p.right = append(p.right, step{i, from, to, c.DepthM.V})
		}
	default:
		if from < d.FromM+tol || to > d.ToM-tol {
			return fail("the %s reaches over the end of the bar", name)
		}
		if r := &p.rounds[len(p.rounds)-1]; math.Abs(r.acrossM)+r.radius > w/2-tol {
			return fail("the %s reaches over the edge of the bar", name)
		}
	}
	return nil
}

// acrossM is what a cut takes of the width, on each side where it is a neck.
func acrossM(c *layout.Cut, widthM float64) float64 {
	switch c.Kind {
	case layout.Neck:
		return (widthM - c.WidthM.V) / 2
	case layout.Notch:
		return c.DepthM.V
	case layout.Slot:
		return c.WidthM.V
	}
	return c.DiameterM.V
}
