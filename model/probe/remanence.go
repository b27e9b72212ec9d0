package probe

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
)

// IronPathM returns the mean length of the path that flux of a bar takes
// through the iron of a shield, in metres: leg, floor and leg of a channel, from
// tip to tip along the middle of the wall; the width of a plate; the mean
// circumference of a slit ring less its slit. The error is an *Unknown for a ring
// without a slit, which closes on itself, and for an outline.
func IronPathM(f *layout.Form) (float64, error) {
	switch {
	case f.Kind == layout.Channel:
		t := f.WallM.V
		return f.OpeningM.V + t + 2*(f.LegM.V+t/2), nil
	case f.Kind == layout.Plate:
		return f.WidthM.V, nil
	case f.Kind == layout.Ring && f.SlitM.V > 0:
		return float64(math.Pi*(f.InnerM.V+f.WallM.V)) - f.SlitM.V, nil
	case f.Kind == layout.Ring:
		return 0,
			&field.Unknown{Reason: "a ring without a slit closes on itself, and what stays in it hangs on its history"}
	}
	return 0, &field.Unknown{Reason: "the path of flux through an outline is not known"}
}

// RemanenceA returns the largest offset, in amperes of the channel of s, that iron may leave there once it was
// driven far. Iron that a current of any bar drove far stands on the falling branch
//
//	B = μ (H + Hc û)
//
// with û the direction that it was driven in. Two patterns of û are known. Along the path l of the flux of the own
// bar through iron and the pieces that carry it on, if it is no farther from s than l, Ampère's law round iron
// and air gives the field of a current ΣHc·l in that bar; of several the largest. In one direction û, as the field of
// other bars drives it, H + Hc û is curl-free, so that the field outside is
//
//	B = μ0 Hc (U − 1) û
//
// with U the response to a uniform field (field.Field.Uniform), of all iron together, û its worst direction and Hc the
// largest of all iron. Both at once have |û| = 1, so that the root of the sum of their squares
// bounds them. Permeability is that of small signals; smaller loops leave less than Hc. Without a coercivity or a path
// NaN and an *Unknown.
//
// Source: permanent magnet circuits, A. E. Fitzgerald, C. Kingsley, S. D. Umans,
// Electric Machinery, 6th ed., section 1.5 (from memory); the second pattern by substitution in div B = 0, curl H = 0.
func (m *Model) RemanenceA(s *layout.Sensor) (float64, error) {
	l := m.Layout
	i := NearestIron(l, s)
	if i == layout.None {
		return 0, nil
	}
	// The nearest may be a speck: the path counts through whatever iron is no farther than it is long.
	pathA := 0.0
	for k := range l.Shields {
		k := layout.ShieldIndex(k)
		if !l.Materials[l.Shields[k].Material].Magnetic() {
			continue
		}
		region := l.Shields[k].Region()
		away := region.DistanceM(s.At.Point())
		pathM, sumA, err := keptPath(l, k)
		if err != nil && (k == i || away <= region.Box().Size().Norm()) {
			return math.NaN(), err
		}
		if err == nil && away <= pathM {
			pathA = math.Max(pathA, sumA)
		}
	}
	hardest := 0.0
	for k := range l.Shields {
		if c := l.Materials[l.Shields[k].Material].CoercivityAPM; c.Set {
			hardest = math.Max(hardest, c.V)
		}
	}
	perA, err := m.scaleOf(s)
	if err != nil {
		return math.NaN(), err
	}
	uniformT, err := m.keptT(s, hardest)
	return portable.Hypot(uniformT/perA.Low, pathA), err
}

// carriedOnWalls is how many walls wide a gap between two pieces of iron may be for flux to go on from one to the other:
// common practice; a wider gap has the reluctance of the air beside the bar.
const carriedOnWalls = 3

// keptPath returns the length of the path of flux through shield i and all iron that carries it on, and the sum of
// coercivity times length along it; of pieces that lie along each other, with the middle of one at the other, one counts, the
// stronger. The error is an *Unknown where a piece has no path or no coercivity.
func keptPath(l *layout.Layout, i layout.ShieldIndex) (lengthM, sumA float64, err error) {
	chain := []layout.ShieldIndex{i}
	beside := map[layout.ShieldIndex]float64{} // pieces that lie along another one, and the coercivity of that, A/m
	for n := 0; n < len(chain); n++ {
		piece := &l.Shields[chain[n]]
		mat := &l.Materials[piece.Material]
		if !mat.CoercivityAPM.Set {
			return 0, 0, &field.Unknown{Reason: fmt.Sprintf("material %q declares no coercivity", mat.ID)}
		}
		pathM, err := IronPathM(&piece.Form)
		if err != nil {
			return 0, 0, err
		}
		keepAPM := mat.CoercivityAPM.V
		if of, along := beside[chain[n]]; along {
			sumA += float64(math.Max(0, keepAPM-of) * pathM) // side by side the stronger of two counts
		} else {
			lengthM += pathM
			sumA += float64(keepAPM * pathM)
		}
		for k := range l.Shields {
			other := &l.Shields[k]
			if slices.Contains(chain, layout.ShieldIndex(k)) || !l.Materials[other.Material].Magnetic() {
				continue
			}
			wallM := math.Max(thickM(&piece.Form), thickM(&other.Form))
			if gapM, _, _ := geom.GapRegionsM(piece.Region(), other.Region()); !(gapM <= carriedOnWalls*wallM) {
				continue
			}
			chain = append(chain, layout.ShieldIndex(k))
			const layers = 1.5 // walls, from the middle of one layer to the face of the other
			if math.Min(piece.Region().DistanceM(middleOf(other)), other.Region().DistanceM(middleOf(piece))) <= layers*wallM {
				beside[layout.ShieldIndex(k)] = keepAPM
			}
		}
	}
	return lengthM, sumA, nil
}

// middleOf is the middle of the path of flux through a shield: of a plate, of the floor of a channel, of the wall of a ring
// opposite its slit.
func middleOf(s *layout.Shield) geom.Point {
	down := 0.0
	switch s.Form.Kind {
	case layout.Channel:
		down = s.Form.WallM.V / 2
	case layout.Ring:
		down = (s.Form.InnerM.V + s.Form.WallM.V) / 2
	}
	return geom.Point{Y: -down}.Rotate(s.TurnRad.V).Add(s.At.Point())
}

// thickM is the thickness of a wall or a plate; 0 for an outline.
func thickM(f *layout.Form) float64 { return f.WallM.V + f.ThicknessM.V }

// Remanence is the sensor at which the iron of a shield may leave the most of its full scale against its limit.
type Remanence struct {
	Sensor         layout.SensorIndex
	Amperes, FullA float64 // the offset at most, the full scale
}

// Remanence returns that of shield i over the sensors to which no other iron is nearer; see RemanenceA. limit is the share of
// its full scale that a sensor may keep. False where there is none with a full scale.
func (m *Model) Remanence(i layout.ShieldIndex, limit func(*layout.Sensor) float64) (worst Remanence, found bool, err error) {
	top := 0.0
	for k := range m.Layout.Sensors {
		s := &m.Layout.Sensors[k]
		if NearestIron(m.Layout, s) != i {
			continue
		}
		full := m.FullScaleA(s)
		if full == 0 {
			continue
		}
		amps, err := m.RemanenceA(s)
		if err != nil {
			return worst, false, err
		}
		if used := amps / full / limit(s); !found || !(used <= top) {
			worst, found, top = Remanence{layout.SensorIndex(k), amps, full}, true, used
		}
	}
	return worst, found, nil
}

// keptT returns the most that s reads of iron that keeps Hc in one direction, in tesla: the difference of the
// responses with and without iron.
func (m *Model) keptT(s *layout.Sensor, coercivityAPM float64) (float64, error) {
	f, err := m.Field(0)
	if err != nil {
		return 0, err
	}
	var on [3]bounded.Phasor
	for _, e := range s.Elements() {
		for k, v := range f.Uniform(e.At) {
			*[3]*complex128{&v.X, &v.Y, &v.Z}[k] -= 1
			on[k] = on[k].Add(field.OnAxis(v, e.U).Scale(complex(e.Weight, 0)))
		}
	}
	square := 0.0
	for _, p := range on {
		square += float64(p.Abs().High * p.Abs().High)
	}
	return si.Mu0HPerM * coercivityAPM * math.Sqrt(square), nil
}

// NearestIron returns the shield of iron that is nearest to s; None where there is none.
func NearestIron(l *layout.Layout, s *layout.Sensor) layout.ShieldIndex {
	best, least := layout.ShieldIndex(layout.None), math.Inf(1)
	for i := range l.Shields {
		if !l.Materials[l.Shields[i].Material].Magnetic() {
			continue
		}
		if d := l.Shields[i].Region().DistanceM(s.At.Point()); d < least {
			best, least = layout.ShieldIndex(i), d
		}
	}
	return best
}

// NearestSensor returns the sensor nearest to shield i; None when there is none.
func NearestSensor(l *layout.Layout, i layout.ShieldIndex) layout.SensorIndex {
	region := l.Shields[i].Region()
	best, least := layout.SensorIndex(layout.None), math.Inf(1)
	for k := range l.Sensors {
		if d := region.DistanceM(l.Sensors[k].At.Point()); d < least {
			best, least = layout.SensorIndex(k), d
		}
	}
	return best
}
