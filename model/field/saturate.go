package field

import (
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/fem"
	"busgauss/model/layout"
)

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

// Direct reports whether a duty is direct current alone.
func Direct(parts []layout.Component) bool {
	return len(parts) == 1 && parts[0].FreqHz == 0
}

// StateReading returns what s reads of one set of currents.
func (m *Model) StateReading(s *layout.Sensor, currentsA []float64) (Reading, error) {
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

// StatePeak returns the largest flux density that the wall of shield i reaches over the
// period of a duty with these components, with the true state of iron at instants of the period.
func (m *Model) StatePeak(i layout.ShieldIndex, parts []layout.Component) (bounded.Estimate, error) {
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
	top.High *= m.DepthFactor(i)
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
