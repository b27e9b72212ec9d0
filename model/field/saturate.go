package field

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/fem"
	"busgauss/model/layout"
	"busgauss/model/waveform"
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

// StateReading returns what s reads of one set of currents of the circuits.
func (m *Model) StateReading(s *layout.Sensor, circuitA []float64) (Reading, error) {
	n, err := m.stateOf(circuitA)
	if err != nil {
		return Reading{}, err
	}
	barsA, err := m.steadyBarsA(circuitA)
	return m.stateSum(s, n, barsA), err
}

// stateSum returns what s reads of a state, with the allowance for the currents of its bars.
func (m *Model) stateSum(s *layout.Sensor, n ironState, barsA []float64) Reading {
	r := Summed(s.Elements(), func(e layout.Element) Vec { return n.at(e.At, m.rough) })
	r.B.Far, r.Axis.Far = m.farOf(s.Elements(), barsA)
	return r
}

// AloneReading returns what s reads of a current currentA that it reads, where nothing else
// flows.
func (m *Model) AloneReading(s *layout.Sensor, currentA float64) (Reading, error) {
	alone, err := m.aloneA(s, currentA)
	if err != nil {
		return Reading{}, err
	}
	n, err := m.state(alone)
	if err != nil {
		return Reading{}, err
	}
	return m.stateSum(s, n, alone), nil
}

// stateOf is state for currents of the circuits.
func (m *Model) stateOf(circuitA []float64) (ironState, error) {
	barsA, err := m.steadyBarsA(circuitA)
	if err != nil {
		return nil, err
	}
	return m.state(barsA)
}

const (
	fewestInstants = 12 // of a period are solved where iron saturates, and a multiple of them
	mostInstants   = 120
	mostInSpace    = 48 // a state in space takes some hundred times as long
	perOrder       = 4  // instants in a period of the highest order; 2 would only just tell it
)

// Instants returns the times of the main group of a duty at which the true state of iron
// is solved: as many as its highest order asks, one of them at the peak of its largest
// current. The error is an *Unknown where that is more than can be paid for.
func (m *Model) Instants(cur *waveform.Currents) ([]float64, error) {
	main := cur.Main()
	if main == waveform.NoGroup {
		return cur.InstantsS(1), nil
	}
	most := mostInstants
	if m.inSpace() {
		most = mostInSpace
	}
	order := cur.HighestOrder(main)
	count := fewestInstants * ((perOrder*order + fewestInstants - 1) / fewestInstants)
	if count > most {
		return nil, &Unknown{fmt.Sprintf("saturating iron at order %d of duty %q asks for %d states of a period, and %d are the most that are computed",
			order, cur.Duty.ID, count, most)}
	}
	return cur.InstantsS(count), nil
}

// instantSets returns the currents of the bars at several times of a duty.
func (m *Model) instantSets(cur *waveform.Currents, timesS []float64) ([][]float64, error) {
	out := make([][]float64, len(timesS))
	for i, t := range timesS {
		var err error
		if out[i], err = m.steadyBarsA(cur.InstantA(t)); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// StatePeak returns the largest flux density that the wall of shield i reaches in a duty,
// with the true state of iron. The instants of Instants come first; then the stretch between two
// that may hold most is halved until no stretch may hold more than the largest by wallSpare, or
// mostHalvings are spent. A stretch of width h holds at most
//
//	the larger end + c h²/8
//
// with c the largest second difference quotient of the walls at it and its neighbours, doubled since
// it is taken from samples. What is left is in the bound; so are components of
// other groups, with their whole linear flux, and what eddy currents change.
func (m *Model) StatePeak(i layout.ShieldIndex, cur *waveform.Currents) (bounded.Estimate, error) {
	timesS, err := m.Instants(cur)
	if err != nil {
		return bounded.Estimate{}, err
	}
	top, err := m.fullest(i, cur, timesS)
	if err != nil {
		return bounded.Estimate{}, err
	}
	for k := range cur.Components {
		c := &cur.Components[k]
		if c.FreqHz == 0 || m.draft {
			continue
		}
		at, err := m.linearWall(i, c)
		if err != nil {
			return bounded.Estimate{}, err
		}
		still, err := m.linearWall(i, &waveform.Component{PeakA: c.PeakA})
		if err != nil {
			return bounded.Estimate{}, err
		}
		slack := float64((math.Abs(at.Value-still.Value) + math.Max(0, at.High-at.Value-(still.High-still.Value))) *
			cur.PeakFactor)
		if !cur.InMain(c) {
			slack = float64(at.High * cur.PeakFactor)
		}
		top.Low, top.High = math.Max(0, top.Low-slack), top.High+slack
	}
	left, err := m.LeftOverWall(i, cur)
	if err != nil {
		return bounded.Estimate{}, err
	}
	top.Low, top.High = math.Max(0, top.Low-left), top.High+left
	top.High *= m.DepthFactor(i)
	return top, nil
}

// LeftOverWall bounds what the left-over of a waveform adds to a wall, in tesla: every
// circuit's by its linear flux at steady current.
func (m *Model) LeftOverWall(i layout.ShieldIndex, cur *waveform.Currents) (float64, error) {
	sum := 0.0
	for c, a := range cur.LeftOverA {
		if a == 0 {
			continue
		}
		alone := make([]complex128, len(cur.LeftOverA))
		alone[c] = complex(a, 0)
		w, err := m.linearWall(i, &waveform.Component{PeakA: alone})
		if err != nil {
			return 0, err
		}
		sum += w.High
	}
	return sum, nil
}

// nearlyFullest is the share of the fullest wall from which on an instant may be the
// fullest one on the fine mesh, whose walls differ from the coarse one's by some
// per cent, all in the same direction.
const nearlyFullest = 0.93

const (
	wallSpare    = 0.005 // of the largest wall: what a stretch may hold beyond it unhalved
	mostHalvings = 8
)

// fullest returns the largest wall of shield i over the instants of a duty and between
// them. In space the coarse mesh says where it is.
func (m *Model) fullest(i layout.ShieldIndex, cur *waveform.Currents, timesS []float64) (bounded.Estimate, error) {
	sets, err := m.instantSets(cur, timesS)
	if err != nil {
		return bounded.Estimate{}, err
	}
	if len(timesS) == 1 {
		return m.largestWall(i, sets)
	}
	finder := m
	if m.inSpace() && !m.draft {
		finder = m.Drafted()
	}
	if _, err := finder.states(sets); err != nil { // together
		return bounded.Estimate{}, err
	}
	wall := func(timeS float64) (float64, error) {
		set, err := m.instantSets(cur, []float64{timeS})
		if err != nil {
			return 0, err
		}
		w, err := finder.largestWall(i, set)
		return w.Value, err
	}
	peaks, err := between(timesS, 1/cur.BaseHz(cur.Main()), wall)
	if err != nil {
		return bounded.Estimate{}, err
	}
	var near [][]float64
	for _, p := range peaks.samples {
		if p.value >= nearlyFullest*peaks.top || finder == m && p.value == peaks.top {
			set, err := m.instantSets(cur, []float64{p.timeS})
			if err != nil {
				return bounded.Estimate{}, err
			}
			near = append(near, set[0])
		}
	}
	top, err := m.largestWall(i, near)
	if peaks.top > 0 {
		top.High *= peaks.roof / peaks.top
	}
	return top, err
}

// largestWall returns the largest wall of shield i over sets of currents of the bars.
func (m *Model) largestWall(i layout.ShieldIndex, sets [][]float64) (bounded.Estimate, error) {
	var top bounded.Estimate
	for _, set := range sets {
		n, err := m.state(set)
		if err != nil {
			return top, err
		}
		w, err := n.wall(i)
		if err != nil {
			return top, err
		}
		top = bounded.LargerOf(top, w.Peak)
	}
	return top, nil
}

func (m *Model) linearWall(i layout.ShieldIndex, c *waveform.Component) (bounded.Estimate, error) {
	f, err := m.FieldOf(c)
	if err != nil {
		return bounded.Estimate{}, err
	}
	w, err := f.Wall(i, c.PeakA)
	return w.Peak, err
}

// stateWall is Wall for direct current with the true state of iron.
func (m *Model) stateWall(i layout.ShieldIndex, c *waveform.Component) (Wall, error) {
	n, err := m.stateOf(c.SteadyA())
	if err != nil {
		return Wall{}, err
	}
	return n.wall(i)
}
