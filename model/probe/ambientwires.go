package probe

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/closedform"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// wireSources returns the foreign wires at s, with iron in the state of duty d; nil: at rest. A wire and its return are one
// source, at its worst sign; see WireReturns.
func (m *Model) wireSources(s *layout.Sensor, d *layout.Duty) ([]source, error) {
	wires := m.Layout.Surroundings.Wires
	returns := WireReturns(m.Layout)
	var list []source
	for i := range wires {
		w, name := &wires[i], fmt.Sprintf("wire %q", wires[i].ID)
		var back *layout.Wire
		if k := returns[i]; k >= 0 {
			if k < i {
				continue
			}
			back, name = &wires[k], fmt.Sprintf("wires %q and %q", w.ID, wires[k].ID)
		}
		e, err := m.wireOnAxis(s, d, w, back)
		if err == nil {
			err = knownAt(e, name)
		}
		if err != nil {
			return nil, err
		}
		list = append(list, source{name, e})
	}
	return list, nil
}

// WireReturns returns for each foreign wire of l the one that carries its current back, with which it is one cable; -1 for
// none. That is the nearest free one whose current is the negative and that stands nearer to it than half of their way to any
// sensor, beside bare bars alone: shields see each wire by itself.
func WireReturns(l *layout.Layout) []int {
	wires := l.Surroundings.Wires
	out := make([]int, len(wires))
	for i := range out {
		out[i] = -1
	}
	if len(l.Shields) > 0 {
		return out
	}
	alone := make([]bool, len(wires)) // two others stand equally near: which of them belongs to it is not said
	for {
		best := math.Inf(1)
		var nearest [][2]int
		for i := range wires {
			for k := i + 1; k < len(wires); k++ {
				d := wires[i].At.Point().Sub(wires[k].At.Point()).Norm()
				if out[i] >= 0 || out[k] >= 0 || alone[i] || alone[k] || !opposite(&wires[i], &wires[k]) || !(2*d < toSensorsM(l, i, k)) {
					continue
				}
				if d < best*(1-alike) {
					best, nearest = d, nil
				}
				if d <= best*(1+alike) {
					nearest = append(nearest, [2]int{i, k})
				}
			}
		}
		if len(nearest) == 0 {
			return out
		}
		uses := make([]int, len(wires))
		for _, p := range nearest {
			uses[p[0]]++
			uses[p[1]]++
		}
		for _, p := range nearest {
			if i, k := p[0], p[1]; uses[i] == 1 && uses[k] == 1 {
				out[i], out[k] = k, i
			} else {
				alone[i], alone[k] = true, true
			}
		}
	}
}

// alike is the share by which two distances differ at most that are drawn as one.
const alike = 1e-6

// toSensorsM returns the least distance of two wires from a sensor, in metres.
func toSensorsM(l *layout.Layout, i, k int) float64 {
	least := math.Inf(1)
	for n := range l.Sensors {
		for _, w := range []int{i, k} {
			least = math.Min(least, l.Surroundings.Wires[w].At.Point().Sub(l.Sensors[n].At.Point()).Norm())
		}
	}
	return least
}

// opposite reports whether two wires carry the negative of each other at every moment.
func opposite(a, b *layout.Wire) bool {
	phasor := func(w *layout.Wire) complex128 {
		if w.Amount.DCA.Set {
			return complex(w.Amount.DCA.V, 0)
		}
		return portable.Rect(w.Amount.AlternatingPeakA(), w.Amount.PhaseRad.V)
	}
	size := portable.Abs(phasor(a))
	return size > 0 && a.FreqHz.V == b.FreqHz.V && portable.Abs(phasor(a)+phasor(b)) <= noCurrent*size
}

// knownAt is an error where the reading e of a source has no bound.
func knownAt(e bounded.Estimate, name string) error {
	if h := e.High; math.IsNaN(h) || math.IsInf(h, 0) {
		return fmt.Errorf("it stands at %s, whose field has no bound there", name)
	}
	return nil
}

// wireOnAxis returns the magnitude of the reading of s, in tesla, at the peak of
// a foreign wire; with back, which may be nil, that of the wire and its return together.
func (m *Model) wireOnAxis(s *layout.Sensor, d *layout.Duty, w, back *layout.Wire) (bounded.Estimate, error) {
	i := w.Amount.PeakValueA()
	if m.inSpace() && len(m.Layout.Shields) > 0 {
		e, err := readsOf(s, i, func(q geom.Point3) (field.Vec, error) { return m.WireAt(q, w) })
		if err != nil {
			return e, err
		}
		return m.letThrough(e, s, d, w.FreqHz.V)
	}
	if len(m.Layout.Shields) > 0 {
		f, err := m.ForeignIn(s, d, w.FreqHz.V)
		if err != nil {
			return bounded.Estimate{}, err
		}
		b := closedform.FilamentB(s.At.Point().Sub(w.At.Point()), i)
		return m.bent(f, geom.Point3{X: b.X, Y: b.Y}, w.At.Point(), s, w.ID)
	}
	fieldOf := func(p geom.Point) geom.Point {
		b := closedform.FilamentB(p.Sub(w.At.Point()), i)
		if back != nil {
			b = b.Sub(closedform.FilamentB(p.Sub(back.At.Point()), i))
		}
		return b
	}
	if w.FreqHz.V > 0 {
		return m.amongBars(s, d, w.FreqHz.V, fieldOf)
	}
	sum := 0.0
	for _, e := range s.Elements() {
		b := fieldOf(e.At.XY())
		sum += float64(e.Weight * (float64(b.X*e.U.X) + float64(b.Y*e.U.Y)))
	}
	return bounded.Exact(math.Abs(sum)), nil
}

// amongBars returns the magnitude of the reading of s, in tesla, in an alternating field whose sources stand beside bars
// without shields. Eddy currents of the bars change it as they would change a uniform field of the strength at the
// sensor, off by as much as the field at the bars differs from that.
func (m *Model) amongBars(s *layout.Sensor, d *layout.Duty, freqHz float64, fieldOf func(geom.Point) geom.Point) (bounded.Estimate, error) {
	f, err := m.disturbed(d, freqHz)
	if err != nil {
		return bounded.Estimate{}, err
	}
	var sum bounded.Phasor
	for _, e := range s.Elements() {
		b := fieldOf(e.At.XY())
		along := f.Uniform(e.At)
		x, y := along[0], along[1]
		reading := field.OnAxis(x.Scale(complex(b.X, 0)).Add(y.Scale(complex(b.Y, 0))), e.U)
		x.X, y.Y = x.X-1, y.Y-1
		change := portable.Hypot(x.Norm()+x.Bound+x.Quad, y.Norm()+y.Bound+y.Quad)
		differs := 0.0
		for k := range m.Layout.Bars {
			for _, p := range m.Layout.Bars[k].Polygon() {
				differs = math.Max(differs, fieldOf(p).Sub(b).Norm())
			}
		}
		reading.Bound += float64(change * differs)
		sum = sum.Add(reading.Scale(complex(e.Weight, 0)))
	}
	return sum.Abs(), nil
}
