package field

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/layout"
)

// UniformWall returns the flux density that a uniform field, of xT along x and yT along y as peak phasors, brings to
// the wall of shield i: see Wall. A field along z brings none to a section.
func (f *Field) UniformWall(i layout.ShieldIndex, xT, yT complex128) (bounded.Estimate, error) {
	if w, ok := f.way.(blend); ok {
		f = w.high
	}
	bars := len(f.layout.Bars)
	drive := make([]complex128, bars+2)
	drive[bars], drive[bars+1] = xT, yT
	return f.foreignWall(i, []complex128{xT, yT}, drive)
}

// foreignWall takes the wall in space from the sources after the bars, and what frequency and the state of iron
// change from the plane section under drive.
func (f *Field) foreignWall(i layout.ShieldIndex, sources, drive []complex128) (bounded.Estimate, error) {
	w, ok := f.way.(solid)
	if !ok || w.space.iron == nil || w.space.piece[i] < 0 {
		in, err := f.section.wall(i, drive)
		return in.Most, err
	}
	static, err := w.space.othersWall(w.space.piece[i], sources)
	if err != nil || w.base == nil {
		return static, err
	}
	still, err := w.base.section.wall(i, drive)
	if err != nil {
		return bounded.Estimate{}, err
	}
	moving, err := f.section.wall(i, drive)
	if err != nil {
		return bounded.Estimate{}, err
	}
	return carriedWall(static, still.Peak, moving.Peak, f.endShare(f.layout.Shields[i].At.Z.V)), nil
}

// WireWall and MagnetWall return the flux density that a foreign wire, in tesla per ampere, and a magnet bring to the
// wall of shield i with iron at rest, where the layout is computed in space.
func (m *Model) WireWall(i layout.ShieldIndex, w *layout.Wire) (bounded.Estimate, error) {
	return m.sourceWall(i, m.wireSource(w))
}

// MagnetWall is WireWall of a magnet.
func (m *Model) MagnetWall(i layout.ShieldIndex, g *layout.Magnet) (bounded.Estimate, error) {
	return m.sourceWall(i, m.magnetSource(g))
}

func (m *Model) sourceWall(i layout.ShieldIndex, src int) (bounded.Estimate, error) {
	f, err := m.spaceField()
	if err != nil {
		return bounded.Estimate{}, err
	}
	if f.iron == nil || f.piece[i] < 0 {
		return bounded.Exact(0), nil
	}
	one := make([]complex128, src-len(m.Layout.Bars)+1)
	one[len(one)-1] = 1
	return f.othersWall(f.piece[i], one)
}

// othersWall is wall for sources after the bars, whose weights may end early.
func (f *spaceField) othersWall(piece int, weights []complex128) (bounded.Estimate, error) {
	f.solveOthers()
	if f.err != nil {
		return bounded.Estimate{}, f.err
	}
	all := make([]complex128, len(f.sources)-len(f.bars))
	copy(all, weights)
	w := f.others.Wall(piece, all)
	near := bounded.Around(w.PeakT, w.PeakBoundT)
	if f.far == nil {
		return near, nil
	}
	far, err := f.far.othersWall(piece, weights)
	return joinedEstimate(near, far, f.beyond), err
}

// WithWires returns a model of the layout of m in which every foreign wire is a bar, after those of the file, so
// that the plane section has its field about iron; and its place among the bars.
func (m *Model) WithWires() (*Model, layout.BarIndex) {
	l := *m.Layout
	l.Sensors = nil // walls are asked, for which the first mesh serves
	first := layout.BarIndex(len(l.Bars))
	l.Bars, l.Circuits = append([]layout.Bar(nil), l.Bars...), append([]layout.Circuit(nil), l.Circuits...)
	for i := range l.Surroundings.Wires {
		w := &l.Surroundings.Wires[i]
		bar := layout.Bar{ID: fmt.Sprintf("wire %s", w.ID), Span: w.Span, At: w.At, MuRel: 1,
			SigmaSPerM: copperSPerM, Material: layout.None}
		bar.Section.Kind, bar.Section.DiameterM = layout.Round, layout.Num{V: wireM, Set: true}
		l.Bars = append(l.Bars, bar)
		l.Circuits = append(l.Circuits, layout.Circuit{ID: bar.ID,
			Members: []layout.Member{{Bar: layout.BarIndex(len(l.Bars) - 1), Factor: 1}}})
	}
	return m.Another("foreign wires as bars", &l), first
}

// A foreign wire is as thin as this in the plane section: outside, its thickness does not matter.
const (
	wireM       = 0.5e-3
	copperSPerM = 58e6
)

// BarWall returns the flux density that one ampere in bar b alone brings to the wall of shield i.
func (f *Field) BarWall(i layout.ShieldIndex, b layout.BarIndex) (bounded.Estimate, error) {
	drive := make([]complex128, len(f.layout.Bars))
	drive[b] = 1
	w, err := f.section.wall(i, drive)
	return w.Most, err
}

// SteepestIron returns the largest ratio of a slope of the curve of any shield to that at its origin: a small field may
// bring as many times more flux to a wall than it does at rest.
func (m *Model) SteepestIron() (float64, error) {
	k := 1.0
	for i, r := range m.smallSignal() {
		curve, err := m.curve(layout.ShieldIndex(i))
		if err != nil {
			return 0, &Unknown{err.Error()}
		}
		if curve != nil {
			k = math.Max(k, slopes(curve, curve.LastT(), r).high/r.high)
		}
	}
	return k, nil
}

// OwnWall returns the flux density that a current of currentA in what s reads, alone and steady, brings to the wall of
// shield i where its iron stands as in f.
func (m *Model) OwnWall(f *Field, i layout.ShieldIndex, s *layout.Sensor, currentA float64) (bounded.Estimate, error) {
	alone, err := m.aloneA(s, currentA)
	if err != nil {
		return bounded.Estimate{}, err
	}
	barsA := make([]complex128, len(alone))
	for b, a := range alone {
		barsA[b] = complex(a, 0)
	}
	w, err := f.way.wall(f, i, barsA)
	return w.Peak, err
}

// WallIn returns the flux density of the wall of shield i with the true state of its iron, for steady currents of the
// bars in a uniform field of xT and yT tesla; in the plane section alone. The bars are those of the layout of m.
func (m *Model) WallIn(i layout.ShieldIndex, barsA []float64, xT, yT float64) (bounded.Estimate, error) {
	n, err := m.stateIn(barsA, [2]float64{xT, yT})
	if err != nil {
		return bounded.Estimate{}, err
	}
	w, err := n.wall(i)
	return w.Peak, err
}

// SteadyBarsA returns the current of every bar in duty d where it is steady; false where it is not. None flows in no
// duty.
func (m *Model) SteadyBarsA(d *layout.Duty) ([]float64, bool, error) {
	if d == nil {
		return make([]float64, len(m.Layout.Bars)), true, nil
	}
	cur := m.Currents(d)
	if !cur.Steady() {
		return nil, false, nil
	}
	barsA, err := m.steadyBarsA(cur.InstantA(0))
	return barsA, true, err
}

// DriveWall returns the flux density of the wall of shield i in the plane section for steady currents of the bars in a
// uniform field of xT and yT tesla, with the iron of f.
func (f *Field) DriveWall(i layout.ShieldIndex, barsA []float64, xT, yT float64) (bounded.Estimate, error) {
	drive := make([]complex128, len(barsA)+2)
	for b, a := range barsA {
		drive[b] = complex(a, 0)
	}
	drive[len(barsA)], drive[len(barsA)+1] = complex(xT, 0), complex(yT, 0)
	w, err := f.section.wall(i, drive)
	return w.Peak, err
}
