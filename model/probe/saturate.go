package probe

import (
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/fem"
	"busgauss/model/layout"
)

// exactIron reports whether duties are computed with the true state of
// saturating iron, by Newton's method, and no longer with a range of
// permeabilities: from the second level on, since it costs a solution an instant. In
// space a duty of direct current has one instant, and takes it at once.
func (m *Model) exactIron() bool {
	if m.duty == nil || !Saturable(m.Layout) {
		return false
	}
	return m.level > 0 || m.inSpace() && direct(m.Layout.Components(m.duty))
}

// oneState reports whether the duty of m is computed as one true state of the iron: it
// carries direct current alone.
func (m *Model) oneState() bool {
	return m.exactIron() && direct(m.Layout.Components(m.duty))
}

// Stated returns a model at the first level that takes the true state of iron.
func (m *Model) Stated() *Model {
	if finer, ok := m.Refined(); ok && m.level == 0 {
		return finer
	}
	return m
}

// Drafted returns a model whose states of iron in space come from the coarse mesh
// alone, without bounds: for searches, and to see which of many states matter.
func (m *Model) Drafted() *Model {
	d := *m.Stated()
	d.draft, d.rough = true, true
	return &d
}

// curvedProblem is planeProblem with the curves of the iron.
func curvedProblem(l *layout.Layout) (*fem.Problem, error) {
	iron := make([]muRange, len(l.Shields))
	for i := range l.Shields {
		iron[i] = muRange{1, 1}
		if mat := &l.Materials[l.Shields[i].Material]; mat.MuRel.Set {
			iron[i] = muRange{mat.MuRel.V, mat.MuRel.V}
		}
	}
	p := planeProblem(l, iron, func(r muRange) float64 { return r.low })
	for i := range l.Shields {
		curve, err := curveOf(&l.Materials[l.Shields[i].Material])
		if err != nil {
			return nil, &Unknown{err.Error()}
		}
		if curve != nil {
			piece := &p.Pieces[len(l.Bars)+i]
			piece.Curve, piece.MuRel = curve, 0
		}
	}
	return p, nil
}

// direct reports whether a duty is direct current alone.
func direct(parts []layout.Component) bool {
	return len(parts) == 1 && parts[0].FreqHz == 0
}

// Method names for people how the reading of component c is computed from f.
func (m *Model) Method(f *Field, c *layout.Component) string {
	if m.oneState() {
		if m.inSpace() {
			return "volume integral equation in space, saturating iron by Newton's method"
		}
		return "finite elements, saturating iron by Newton's method"
	}
	return f.Method
}

// readState is Read for a duty of direct current with the true state of iron:
// the whole reading is that of all currents together, the own one that of the
// own current alone, and the stray one the difference.
func (m *Model) readState(s *layout.Sensor, c *layout.Component, linear Split) (Split, error) {
	all := make([]float64, len(c.PeakA))
	alone := make([]float64, len(c.PeakA))
	for b, a := range c.PeakA {
		all[b] = real(a)
	}
	alone[s.Reads] = all[s.Reads]
	total, err := m.stateReading(s, all)
	if err != nil {
		return Split{}, err
	}
	own, err := m.stateReading(s, alone)
	if err != nil {
		return Split{}, err
	}
	stray := Reading{
		B:    total.B.Add(own.B.Scale(-1)),
		Axis: total.Axis.Add(own.Axis.Scale(-1)),
	}
	if !m.inSpace() {
		own = finiteDepth(m.Layout, s, s.Reads, own)
		other := layout.BarIndex(0)
		if other == s.Reads {
			other = 1
		}
		stray = finiteDepth(m.Layout, s, other, stray)
	}
	out := linear
	out.Total = own.B.Add(stray.B)
	out.Own, out.Stray = own.Axis, stray.Axis
	out.PerBar[s.Reads] = own.Axis
	if m.inSpace() {
		// What one other bar does alone is known for small signals only; together they do
		// stray. In the section the range of permeability holds both.
		off := cmplx.Abs(out.Stray.V - linear.Stray.V)
		for b := range out.PerBar {
			if layout.BarIndex(b) != s.Reads && c.PeakA[b] != 0 {
				out.PerBar[b].Bound += off
			}
		}
	}
	if i := c.PeakA[s.Reads]; i != 0 {
		out.PerAmpere = own.Axis.Scale(1 / i)
	}
	return out, nil
}

// stateReading returns what s reads of one set of currents.
func (m *Model) stateReading(s *layout.Sensor, currentsA []float64) (Reading, error) {
	n, err := m.state(currentsA)
	if err != nil {
		return Reading{}, err
	}
	var sum Vec
	for _, e := range s.Elements() {
		sum = sum.Add(n.at(e.At, m.rough).Scale(complex(e.Sign, 0)))
	}
	return Reading{B: sum, Axis: OnAxis(sum, s.Axis.U)}, nil
}

// instants is how many instants of a period are solved where iron saturates.
// Between two of them a cosine falls by at most 1 - cos(π/12), 3.4 %.
const instants = 12

// instantCurrents returns the currents of a duty at phase angle x of its lowest
// frequency, components of unknown phase left out.
func instantCurrents(parts []layout.Component, x float64) []float64 {
	base := 0.0
	for i := range parts {
		if f := parts[i].FreqHz; f > 0 && !parts[i].FreePhase && (base == 0 || f < base) {
			base = f
		}
	}
	out := make([]float64, len(parts[0].PeakA))
	for i := range parts {
		c := &parts[i]
		if c.FreePhase {
			continue
		}
		turn := complex(1, 0)
		if c.FreqHz > 0 {
			turn = cmplx.Rect(1, c.FreqHz/base*x)
		}
		for b, a := range c.PeakA {
			out[b] += real(a * turn)
		}
	}
	return out
}

// instantSets returns the currents at several phase angles.
func instantSets(parts []layout.Component, angles []float64) [][]float64 {
	out := make([][]float64, len(angles))
	for i, x := range angles {
		out[i] = instantCurrents(parts, x)
	}
	return out
}

// phases returns the phase angles at which a duty is solved.
func phases(parts []layout.Component) []float64 {
	for i := range parts {
		if parts[i].FreqHz > 0 && !parts[i].FreePhase {
			out := make([]float64, instants)
			for k := range out {
				out[k] = 2 * math.Pi * float64(k) / instants
			}
			return out
		}
	}
	return []float64{0}
}

// stateSwing is ElementSwing with the true state of iron at instants of the
// period. Each instant is static: what eddy currents change is taken from the
// linear field, as the difference of each component against direct current, and
// added to the bound; so is a component of unknown phase, with its size.
func (m *Model) stateSwing(s *layout.Sensor, parts []layout.Component) ([]Swing, error) {
	elements := s.Elements()
	angles := phases(parts)
	values := make([][]float64, len(elements))
	bounds := make([]float64, len(elements))
	states, err := m.dutyStates(instantSets(parts, angles))
	if err != nil {
		return nil, err
	}
	for _, n := range states {
		for e := range elements {
			v := n.at(elements[e].At, m.rough)
			r := Reading{B: v, Axis: OnAxis(v, s.Axis.U)}
			if !m.inSpace() {
				r = finiteDepth(m.Layout, s, s.Reads, r)
			}
			values[e] = append(values[e], real(r.Axis.V))
			bounds[e] = math.Max(bounds[e], r.Axis.Bound)
		}
	}
	extra, err := m.eddyChange(s, parts)
	if err != nil {
		return nil, err
	}
	out := make([]Swing, len(elements))
	for e := range elements {
		low, high := parabolic(values[e])
		b := bounds[e] + extra[e]
		out[e] = Swing{Low: bounded.Estimate{Value: low, Low: low - b, High: low + b}, High: bounded.Estimate{Value: high, Low: high - b, High: high + b}}
	}
	return out, nil
}

// eddyChange returns, for each element, the sum over alternating components of
// the change of the linear reading from direct current to its frequency; for a
// component of unknown phase its whole size. In tesla.
func (m *Model) eddyChange(s *layout.Sensor, parts []layout.Component) ([]float64, error) {
	out := make([]float64, len(s.Elements()))
	for i := range parts {
		c := &parts[i]
		if c.FreqHz == 0 {
			continue
		}
		at, err := m.elementPhasors(s, c.FreqHz, c.PeakA)
		if err != nil {
			return nil, err
		}
		still, err := m.elementPhasors(s, 0, c.PeakA)
		if err != nil {
			return nil, err
		}
		for e := range out {
			if c.FreePhase {
				out[e] += at[e].Abs().High
				continue
			}
			out[e] += cmplx.Abs(at[e].V - still[e].V)
		}
	}
	return out, nil
}

// elementPhasors returns the linear field on the axis of each element.
func (m *Model) elementPhasors(s *layout.Sensor, freqHz float64, peakA []complex128) ([]bounded.Phasor, error) {
	f, err := m.Field(freqHz)
	if err != nil {
		return nil, err
	}
	sums := make([]bounded.Phasor, len(s.Elements()))
	for b, a := range peakA {
		if a == 0 {
			continue
		}
		for e, p := range f.ElementPerAmpere(s, layout.BarIndex(b)) {
			sums[e] = sums[e].Add(p.Scale(a))
		}
	}
	return sums, nil
}

// statePeak is WallPeak with the true state of iron at instants of the period.
func (m *Model) statePeak(i layout.ShieldIndex, parts []layout.Component) (bounded.Estimate, error) {
	var top bounded.Estimate
	angles := phases(parts)
	states, err := m.fullest(i, instantSets(parts, angles))
	if err != nil {
		return bounded.Estimate{}, err
	}
	for _, n := range states {
		w, err := n.wall(i)
		if err != nil {
			return bounded.Estimate{}, err
		}
		top = bounded.LargerOf(top, w.Peak)
	}
	if len(angles) > 1 {
		top.High /= math.Cos(math.Pi / instants)
	}
	for k := range parts {
		c := &parts[k]
		if c.FreqHz == 0 || m.draft {
			continue
		}
		at, err := m.linearWall(i, c.FreqHz, c.PeakA)
		if err != nil {
			return bounded.Estimate{}, err
		}
		still, err := m.linearWall(i, 0, c.PeakA)
		if err != nil {
			return bounded.Estimate{}, err
		}
		slack := math.Abs(at.Value - still.Value)
		if c.FreePhase {
			slack = at.High
		}
		top.Low, top.High = math.Max(0, top.Low-slack), top.High+slack
	}
	top.High *= m.depthFactor(i)
	return top, nil
}

// nearlyFullest is the share of the fullest wall from which on an instant may be the
// fullest one on the fine mesh, whose walls differ from the coarse one's by some
// per cent, all in the same direction.
const nearlyFullest = 0.93

// fullest returns the states of those sets of currents that may fill the wall of
// shield i most. In space the coarse mesh chooses them.
func (m *Model) fullest(i layout.ShieldIndex, sets [][]float64) ([]ironState, error) {
	if !m.inSpace() || m.draft || len(sets) < 2 {
		return m.states(sets)
	}
	drafts, err := m.Drafted().states(sets)
	if err != nil {
		return nil, err
	}
	walls := make([]float64, len(sets))
	most := 0.0
	for k, n := range drafts {
		w, err := n.wall(i)
		if err != nil {
			return nil, err
		}
		walls[k] = w.Peak.Value
		most = math.Max(most, walls[k])
	}
	var out []ironState
	for k, set := range sets {
		if walls[k] < nearlyFullest*most {
			continue
		}
		n, err := m.state(set)
		if err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	return out, nil
}

func (m *Model) linearWall(i layout.ShieldIndex, freqHz float64, peakA []complex128) (bounded.Estimate, error) {
	f, err := m.Field(freqHz)
	if err != nil {
		return bounded.Estimate{}, err
	}
	w, err := f.wall(i, peakA)
	return w.Peak, err
}

// stateWall is Wall for direct current with the true state of iron.
func (m *Model) stateWall(i layout.ShieldIndex, c *layout.Component) (Wall, error) {
	n, err := m.state(instantCurrents([]layout.Component{*c}, 0))
	if err != nil {
		return Wall{}, err
	}
	return n.wall(i)
}
