package field

import (
	"fmt"
	"math"

	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/sharing"
)

// alikeLegs is an error where the legs of a parallel circuit differ in length or cuts: the section tells the impedance of a
// metre of each, and alternating current divides by that of the whole.
func (m *Model) alikeLegs(circuits []sharing.Circuit) error {
	const alike = 0.01
	return m.eachJoined(circuits, func(i int, ohms []float64) error {
		least, most := math.Inf(1), 0.0 // of the resistance over that of a metre
		for n, k := range circuits[i].Bars {
			b := &m.Layout.Bars[k]
			metres := ohms[n] * b.SigmaSPerM * b.AreaM2()
			least, most = math.Min(least, metres), math.Max(most, metres)
		}
		if most > (1+alike)*least {
			return &Unknown{fmt.Sprintf("how circuit %q shares its alternating current is not computed: its legs differ in length or cuts; give the shares of its bars",
				m.Layout.Circuits[i].ID)}
		}
		return nil
	})
}

// eachJoined calls do with the number of each circuit whose bars are joined at both ends without declared shares, and their
// resistances in ohms: see ohmsOf.
func (m *Model) eachJoined(circuits []sharing.Circuit, do func(i int, ohms []float64) error) error {
	for i := range circuits {
		if circuits[i].Factors != nil {
			continue
		}
		ohms, err := m.ohmsOf(circuits[i].Bars, fmt.Sprintf("circuit %q shares its current", m.Layout.Circuits[i].ID))
		if err != nil {
			return err
		}
		if err := do(i, ohms); err != nil {
			return err
		}
	}
	return nil
}

// BondShares returns the share of each bar of a bond in what they carry together, by their conductance with length and
// cuts, and an *Unknown where that is not known.
func (m *Model) BondShares(bond *layout.Bond) ([]float64, error) {
	var bars []int
	for _, b := range bond.Bars {
		bars = append(bars, int(b))
	}
	ohms, err := m.ohmsOf(bars, fmt.Sprintf("bar %q shares its current with what is bonded to it", m.Layout.Bars[bars[0]].ID))
	if err != nil {
		return nil, err
	}
	whole := 0.0
	for _, r := range ohms {
		whole += 1 / r
	}
	out := make([]float64, len(ohms))
	for n, r := range ohms {
		out[n] = 1 / r / whole
	}
	return out, nil
}

// ohmsOf returns the direct-current resistance of bars that are joined, in ohms: per metre where one of them declares no
// length. The error says how what does is not known.
func (m *Model) ohmsOf(bars []int, what string) ([]float64, error) {
	l := m.Layout
	long := false
	for _, k := range bars {
		long = long || !(pathM(&l.Bars[k]) > 0)
	}
	out := make([]float64, len(bars))
	for n, k := range bars {
		b := &l.Bars[k]
		if !(b.SigmaSPerM > 0) {
			return nil, &Unknown{fmt.Sprintf("how %s is not known: bar %q declares no conductivity", what, b.ID)}
		}
		lengthM := 1.0
		if !long {
			lengthM = pathM(b)
		}
		out[n] = lengthM / (b.SigmaSPerM * b.AreaM2())
		if len(b.Cuts) > 0 {
			flow, err := m.Flow(layout.BarIndex(k))
			if err != nil {
				return nil, err
			}
			squares, _ := flow.ExtraSquares()
			out[n] += squares / (b.SigmaSPerM * b.Section.ThicknessM.V)
		}
	}
	return out, nil
}

// shareBonds divides what bars that are bonded to each other carry together by their conductance: the section does so by
// itself, in space nothing else does, and what changes with frequency is carried over from the section. A piece that conducts and is bonded to them carries a part that is not computed.
func (m *Model) shareBonds(s *shares) error {
	l := m.Layout
	for i := range l.Bonded {
		bond := &l.Bonded[i]
		for _, k := range bond.Shields {
			if mat := &l.Materials[l.Shields[k].Material]; len(bond.Bars) > 0 && (mat.SigmaSPerM.V > 0 || !mat.SigmaSPerM.Set) {
				return &Unknown{fmt.Sprintf("shield %q is bonded to bar %q and carries a part of its current, which is not computed in space",
					l.Shields[k].ID, l.Bars[bond.Bars[0]].ID)}
			}
		}
		if len(bond.Bars) < 2 {
			continue
		}
		parts, err := m.BondShares(bond)
		if err != nil {
			return err
		}
		for c := range s.m[bond.Bars[0]] {
			var sum complex128
			for _, b := range bond.Bars {
				sum += s.m[b][c]
			}
			for n, b := range bond.Bars {
				s.m[b][c] = portable.Times(sum, complex(parts[n], 0))
			}
		}
	}
	return nil
}
