package field

import (
	"slices"

	"busgauss/model/layout"
	"busgauss/model/portable"
)

// LegEffect is what the resistance of one leg of a circuit does to a reading of it.
type LegEffect struct {
	Leg   layout.BarIndex
	Share complex128 // relative change of the reading per ampere of the circuit
}

// LegEffects returns, for each leg of the circuit of s, whose bars are joined at both ends, by how much the reading
// of s per ampere of that circuit changes where the resistance of the leg is larger by the share spread and no other;
// of a sensor that reads one leg the current of the leg. Declared shares divide as conductances do. At frequency the
// impedances of the plane section divide, to which the resistance at direct current is added. Nil where the bars of
// the circuit are not joined.
//
// With the shares s of legs of resistances R alone, to first order
//
//	Δs_k/s_k = (s_j − δ_jk) ΔR_j/R_j
//
// Source: G. Kirchhoff, Annalen der Physik 72 (1847) 497 (from memory); derivative of a conductance over their sum.
func (f *Field) LegEffects(m *Model, s *layout.Sensor, spread float64) ([]LegEffect, error) {
	c := &m.Layout.Circuits[s.Circuit]
	if c.Kind != layout.Parallel && c.Kind != layout.Shared {
		return nil, nil
	}
	var out []LegEffect
	for j, leg := range c.Members {
		other, err := m.sharesAt(f, s.Circuit, j, spread)
		if err != nil {
			return nil, err
		}
		e := LegEffect{Leg: leg.Bar}
		if s.Leg != layout.None {
			e.Share = portable.Quotient(other.of(s.Leg, s.Circuit), f.shares.of(s.Leg, s.Circuit)) - 1
		} else {
			var change complex128
			for _, k := range c.Members {
				change += portable.Times(other.of(k.Bar, s.Circuit)-f.shares.of(k.Bar, s.Circuit), f.OfBar(s, k.Bar).Axis.V)
			}
			e.Share = portable.Quotient(portable.Times(change, complex(s.Sign, 0)), f.Own(s).Axis.V)
		}
		out = append(out, e)
	}
	return out, nil
}

// sharesAt returns the shares at the frequency of f with the resistance of leg j of circuit c larger by spread.
func (m *Model) sharesAt(f *Field, c layout.CircuitIndex, j int, spread float64) (*shares, error) {
	circuits := m.sharing()
	z := square(len(m.Layout.Bars))
	own := &m.Layout.Circuits[c]
	if own.Kind == layout.Shared {
		factors := slices.Clone(circuits[c].Factors)
		sum := 1 - factors[j]
		factors[j] /= 1 + spread
		sum += factors[j]
		for k := range factors {
			factors[k] /= sum
		}
		circuits[c].Factors = factors
	}
	if !hasParallel(m.Layout) {
		return m.divided(z, circuits)
	}
	r := square(len(m.Layout.Bars))
	if err := m.resistances(r, circuits); err != nil {
		return nil, err
	}
	b := own.Members[j].Bar
	more := portable.Times(r[b][b], complex(spread, 0))
	if f.FreqHz == 0 {
		z = r
	} else {
		if m.pathed(c) { // impedances are those of a metre
			more = portable.Quotient(more, complex(pathM(&m.Layout.Bars[b]), 0))
		}
		impedances(dividing(f.section).low, z)
	}
	z[b][b] += more
	return m.divided(z, circuits)
}

// pathed reports whether every bar of circuit c declares a length.
func (m *Model) pathed(c layout.CircuitIndex) bool {
	for _, k := range m.Layout.Circuits[c].Members {
		if !(pathM(&m.Layout.Bars[k.Bar]) > 0) {
			return false
		}
	}
	return true
}
