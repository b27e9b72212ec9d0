package probe

import (
	"cmp"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/waveform"
)

// Stray is the part of a sensor's reading that belongs to other circuits, over one duty.
type Stray struct {
	Ratio     bounded.Estimate // stray over own: the largest of all views of the duty
	View      string           // which one it is: "fundamental", "direct", or of several components
	StrayA    bounded.Estimate // the stray of that view over the own field per ampere at its frequencies, A peak
	OwnA      float64          // what Ratio refers to, A peak; 0 where there is nothing to hold the stray against
	OwnIdle   bool             // the own circuit carries nothing in this duty: Ratio refers to the full scale
	WholeA    bounded.Estimate // all components over the own field per ampere at steady current, A peak
	Amplitude float64          // relative error of the amplitude of the fundamental (or direct) reading
	PhaseRad  float64          // error of its phase
	Largest   layout.CircuitIndex
	WorstCase bounded.Estimate // alternating currents of all others at their worst phase, over own
}

// strayView is a set of components that a stray is compared over, in time.
type strayView struct {
	words      string
	own, stray waveform.Signal // both in amperes of the own current
	worstA     bounded.Estimate
}

// noCurrent is the share of the largest current of a duty below which a current is what
// arithmetic leaves of none.
const noCurrent = 1e-9

// Stray returns the stray reading of s in duty d against its own one. Each component is divided by the own field
// per ampere at its own frequency, and the ratio is the largest of
//
//   - |stray| over |own| in the component in which the own current is largest, unless points draw it;
//   - the peak over time of the stray over that of the own current, for direct part and fundamentals, with their
//     harmonics, and with ripple, left-over and the decaying part of a fault:
//
// so that what the duty adds to the own current beside its main part never makes the ratio smaller. Where the own
// current is none the full scale stands in: see ReachA. Sizes of shields and materials that may lie within
// tolerances add, each at the end that adds more. With an error Ratio is what is known of it without a ripple, if anything.
func (m *Model) Stray(s *layout.Sensor, d *layout.Duty) (Stray, error) {
	out, err := m.strayDrawn(s, d)
	if err != nil {
		return out, err
	}
	more, worst, err := m.strayOfTolerances(s, d)
	out.Ratio, out.WorstCase = out.Ratio.Plus(bounded.Exact(more)), out.WorstCase.Plus(bounded.Exact(worst))
	out.StrayA = out.StrayA.Plus(bounded.Exact(more * out.OwnA))
	return out, err
}

// strayDrawn is Stray of the layout as drawn.
func (m *Model) strayDrawn(s *layout.Sensor, d *layout.Duty) (Stray, error) {
	m = m.For(d)
	out := Stray{Largest: layout.None}
	cur := m.Currents(d)
	views, open := m.strayViews(s, cur, &out)
	if views == nil {
		return out, open
	}
	largestA := 0.0
	for i := range cur.Components {
		for _, a := range cur.Components[i].PeakA {
			largestA = math.Max(largestA, portable.Abs(a))
		}
	}
	whole := &views[len(views)-1]
	if !(magnitude(&whole.own).High > noCurrent*largestA) {
		out.OwnIdle = true
		a, err := m.ReachA(s)
		if err != nil || open != nil {
			return out, cmp.Or(err, open)
		}
		out.OwnA = a
		out.StrayA = magnitude(&whole.stray)
		out.keep(whole, bounded.Exact(out.OwnA))
		return out, m.openEnds(s, cur, &out)
	}
	for i := range views {
		if own := magnitude(&views[i].own); own.High > noCurrent*largestA {
			out.keep(&views[i], own)
		}
	}
	return out, cmp.Or(m.openEnds(s, cur, &out), open)
}

// openEnds widens a stray by what ends of bars that declare none may take from both readings of s: see
// field.Field.OpenEndsT.
func (m *Model) openEnds(s *layout.Sensor, cur *waveform.Currents, out *Stray) error {
	f, err := m.Field(0)
	if err != nil {
		return err
	}
	perA := f.Own(s).Axis.Abs().Low
	own := f.OpenEndsT(s, s.Circuit) / perA
	strayA := 0.0
	for i := range cur.Components {
		c := &cur.Components[i]
		for k, a := range c.PeakA {
			if a != 0 && layout.CircuitIndex(k) != s.Circuit {
				strayA += factorOf(cur, c) * portable.Abs(a) * f.OpenEndsT(s, layout.CircuitIndex(k)) / perA
			}
		}
	}
	if out.OwnA > 0 {
		out.Ratio.Low = math.Max(0, out.Ratio.Low-strayA/out.OwnA)
	}
	if !(own < 1) {
		own = math.NaN()
	}
	out.Ratio.High /= 1 - own
	out.WorstCase.High /= 1 - own
	return nil
}

// keep takes the ratio of a view where it is the largest so far. NaN counts as the largest.
func (r *Stray) keep(v *strayView, own bounded.Estimate) {
	strayA := magnitude(&v.stray)
	ratio := strayA.Over(own)
	if strayA == (bounded.Estimate{}) {
		ratio = bounded.Exact(0)
	}
	if r.View != "" && (ratio.High <= r.Ratio.High || math.IsNaN(r.Ratio.High)) {
		return
	}
	r.View, r.Ratio, r.StrayA, r.WorstCase = v.words, ratio, strayA, v.worstA.Over(own)
	if !r.OwnIdle {
		r.OwnA = own.Value
	}
}

// ReachA returns what an idle channel is held against: the largest peak of the direct part and the fundamentals of
// what s reads in a continuous or peak duty, which no ripple and no harmonic makes larger; where none gives it a
// current the range that a need claims for it; 0 where neither is there.
func (m *Model) ReachA(s *layout.Sensor) (float64, error) {
	top := 0.0
	for i := range m.Layout.Duties {
		d := &m.Layout.Duties[i]
		if d.Kind == layout.Fault {
			continue
		}
		md := m.For(d)
		own, err := md.OwnCurrent(s, d)
		if err != nil {
			return 0, err
		}
		cur := m.Currents(d)
		main := waveform.Signal{Exact: own.Exact, LeftOver: own.LeftOver}
		pointed := drawnByPoints(d, s.Circuit)
		for k := range cur.Components {
			if firstView(&cur.Components[k], pointed) == 0 {
				main.Lines = append(main.Lines, own.Lines[k])
			}
		}
		if !pointed {
			main.Exact, main.LeftOver = nil, 0
		}
		top = math.Max(top, main.PeakAbs().High)
	}
	if top == 0 {
		n, _ := m.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.RangeA })
		top = n.V
	}
	return top, nil
}

func magnitude(s *waveform.Signal) bounded.Estimate {
	e := s.PeakAbs()
	return bounded.Estimate{Value: e.Value, Low: e.Low, High: e.High}
}

// strayPart is one component of a duty as s reads it, in amperes of the own current.
type strayPart struct {
	own, stray waveform.Line
	worstA     bounded.Estimate
}

// strayViews returns the views of a duty, the whole of it last, and fills what out says of all of it. Where a ripple is
// not known it returns the others with the error.
func (m *Model) strayViews(s *layout.Sensor, cur *waveform.Currents, out *Stray) ([]strayView, error) {
	perA, err := m.scaleOf(s)
	if err != nil {
		return nil, err
	}
	main := strayView{words: "direct"}
	views := []strayView{{words: "direct part and fundamentals"}, {words: "direct part, fundamentals and harmonics"},
		{words: "all components"}}
	largest, most, mostStrayA := 0.0, -1.0, 0.0
	var open error
	pointed := drawnByPoints(cur.Duty, s.Circuit)
	for i := range cur.Components {
		c := &cur.Components[i]
		r, err := m.Read(s, c)
		if err != nil {
			return nil, err
		}
		part, err := m.strayPart(s, c, &r, perA)
		if err != nil && c.Ripple() {
			open = err
			continue
		}
		if err != nil {
			return nil, err
		}
		out.WholeA = out.WholeA.Plus(r.Stray.Abs().Over(perA).Scale(factorOf(cur, c)))
		for k, p := range r.PerCircuit {
			if a := p.Abs().Value; a > 0 && m.leads(a, layout.CircuitIndex(k), largest, out.Largest) {
				largest, out.Largest = a, layout.CircuitIndex(k)
			}
		}
		first := firstView(c, pointed)
		for k := first; k < len(views); k++ {
			views[k].add(part)
		}
		// Of components in which the own current is as large the one with most stray counts, whichever a layout names first.
		own, strayA := portable.Abs(r.OwnA), part.stray.V
		if first == 0 && !pointed && (own > most*(1+noCurrent) || own >= most*(1-noCurrent) && portable.Abs(strayA) > mostStrayA) {
			most, mostStrayA = own, portable.Abs(strayA)
			main = strayView{words: c.Role}
			main.add(part)
			if r.Own.V != 0 {
				q := 1 + portable.Quotient(r.Stray.V, r.Own.V)
				out.Amplitude, out.PhaseRad = portable.Abs(q)-1, portable.Phase(q)
			}
		}
	}
	whole := &views[len(views)-1]
	for i := range cur.Offsets { // which flow as direct current
		c := waveform.Component{PeakA: cur.Offsets[i].PeakA}
		r, err := m.Read(s, &c)
		if err != nil {
			return nil, err
		}
		part, err := m.strayPart(s, &c, &r, perA)
		if err != nil {
			return nil, err
		}
		whole.own.Offset = append(whole.own.Offset, lineAs(&cur.Offsets[i], part.own))
		whole.stray.Offset = append(whole.stray.Offset, lineAs(&cur.Offsets[i], part.stray))
		whole.worstA = whole.worstA.Plus(part.worstA)
	}
	left, err := m.leftOver(s, cur)
	if err != nil {
		return nil, err
	}
	leftA := left.strayT / perA.Low
	whole.own.LeftOver, whole.stray.LeftOver = left.ownA, leftA
	whole.worstA.High += leftA
	out.WholeA.High += leftA
	if open != nil {
		views = views[:len(views)-1]
	}
	if pointed {
		views[0].words = "as drawn by its points"
		return views, open
	}
	return append([]strayView{main}, views...), open
}

// firstView is the first view of several components that c belongs to.
func firstView(c *waveform.Component, pointed bool) int {
	switch {
	case c.Ripple():
		return 2
	case c.FreqHz > 0 && !c.Fundamental() && !pointed:
		return 1
	}
	return 0
}

// drawnByPoints reports whether duty d gives the current of a circuit by points: its fundamental by itself says
// little then.
func drawnByPoints(d *layout.Duty, c layout.CircuitIndex) bool {
	for _, set := range append([]layout.Set{d.Set}, d.With...) {
		for i := range set.Currents {
			if set.Currents[i].Circuit == c && set.Currents[i].Points != nil {
				return true
			}
		}
	}
	return false
}

// factorOf is how much larger a component is at the first peak of a fault.
func factorOf(cur *waveform.Currents, c *waveform.Component) float64 {
	if c.FreqHz == 0 || c.Ripple() {
		return 1
	}
	return cur.PeakFactor
}

func lineAs(c *waveform.Component, l waveform.Line) waveform.Line {
	l.FreqHz, l.Group = c.FreqHz, c.Group
	return l
}

func (v *strayView) add(p strayPart) {
	v.own.Lines, v.stray.Lines = append(v.own.Lines, p.own), append(v.stray.Lines, p.stray)
	v.worstA = v.worstA.Plus(p.worstA)
}

// strayPart divides the reading of one component by the own field per ampere at its frequency; the own current of
// a component that is none may still have a stray beside it. steady is that at steady current.
func (m *Model) strayPart(s *layout.Sensor, c *waveform.Component, r *Split,
	steady bounded.Estimate) (strayPart, error) {
	perA, turn := steady, complex(1, 0)
	if c.FreqHz > 0 {
		if perA = r.PerAmpere.Abs(); !(perA.Low > 0) {
			return strayPart{}, &field.Unknown{Reason: "it may read nothing of " + m.Layout.ReadName(s) +
				" at the frequency of a duty"}
		}
		turn = portable.Quotient(r.PerAmpere.V, complex(perA.Value, 0))
	} else if real(r.PerAmpere.V) < 0 {
		turn = -1
	}
	size := r.Stray.Abs().Over(perA)
	stray := waveform.Line{FreqHz: c.FreqHz, Group: c.Group, V: portable.Quotient(portable.Quotient(r.Stray.V, turn), complex(perA.Value, 0))}
	stray.BoundAbs = math.Max(size.High-size.Value, size.Value-size.Low)
	worst := size
	if c.FreqHz > 0 {
		worst = bounded.Estimate{}
		for _, p := range r.PerCircuit {
			worst = worst.Plus(p.Abs().Over(perA))
		}
	}
	return strayPart{waveform.Line{FreqHz: c.FreqHz, Group: c.Group, V: r.OwnA}, stray, worst}, nil
}
