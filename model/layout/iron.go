package layout

import "math"

// SaturationShare returns the least that is left of the saturation of m, as a share of what it declares: at the
// end of its temperatures that takes most,
//
//	(1 + α (T − T0)) (1 − tolerance)
//
// with T0 the temperature that the data are told for. Without temperatures of its own a piece may be as warm as the
// hottest bar. 1 where nothing is known that takes from it.
func (l *Layout) SaturationShare(m *Material) float64 {
	share := 1.0
	if m.SaturationPerK.Set {
		from, to := m.TemperatureFromC.V, m.TemperatureToC.V
		if !m.TemperatureFromC.Set || !m.TemperatureToC.Set {
			from, to = m.MeasuredAtC.V, m.MeasuredAtC.V
			for i := range l.Bars {
				to = math.Max(to, l.Bars[i].TemperatureC.V)
			}
		}
		for _, t := range []float64{from, to} {
			share = math.Min(share, 1+float64(m.SaturationPerK.V*(t-m.MeasuredAtC.V)))
		}
	}
	return share * (1 - m.SaturationTol.V)
}

// WithWeakestIron returns a copy of l in which every material holds as little as SaturationShare says, and whether
// anything changed. A curve shrinks along both axes, so that the permeability of small signals stays.
func (l *Layout) WithWeakestIron() (*Layout, bool) {
	c := *l
	c.Materials = append([]Material(nil), l.Materials...)
	changed := false
	for i := range c.Materials {
		m := &c.Materials[i]
		if k := l.SaturationShare(m); m.Magnetic() && k != 1 {
			changed = true
			m.scaled(k, k)
		}
		m.SaturationPerK.Set, m.SaturationTol.V = false, 0 // counted
	}
	return &c, changed
}

// WithPermeability returns a copy of l in which material i has k times the permeability at the same flux density.
func (l *Layout) WithPermeability(i MaterialIndex, k float64) *Layout {
	c := *l
	c.Materials = append([]Material(nil), l.Materials...)
	m := &c.Materials[i]
	m.scaled(1/k, 1)
	m.MuRel.V = math.Max(1, k*m.MuRel.V)
	return &c
}

// scaled stretches curve and saturation of m by h along the field and by b along the flux density.
func (m *Material) scaled(h, b float64) {
	m.SaturationT.V *= b
	m.Curve = append([]CurvePoint(nil), m.Curve...)
	for i := range m.Curve {
		m.Curve[i].FieldAPerM *= h
		m.Curve[i].FluxDensityT *= b
	}
}

// ConductivityShares returns the least and the largest conductivity of m as shares of what it declares, over its
// tolerance and its temperatures; 1 and 1 where nothing is known that moves it.
func (m *Material) ConductivityShares() (low, high float64) {
	low, high = 1, 1
	if m.AlphaPerK.Set && m.TemperatureFromC.Set && m.TemperatureToC.Set {
		for _, t := range []float64{m.TemperatureFromC.V, m.TemperatureToC.V} {
			k := 1 / (1 + float64(m.AlphaPerK.V*(t-20)))
			low, high = math.Min(low, k), math.Max(high, k)
		}
	}
	return low * (1 - m.ConductivityTol.V), high * (1 + m.ConductivityTol.V)
}

// WithConductivity returns a copy of l in which material i conducts k times as much, in its shields alone: bars have
// a temperature and a conductivity of their own.
func (l *Layout) WithConductivity(i MaterialIndex, k float64) *Layout {
	c := *l
	c.Materials = append([]Material(nil), l.Materials...)
	c.Materials[i].SigmaSPerM.V *= k
	return &c
}

// WithSizes returns a copy of l in which the wall of shield i is wallM thicker and its opening or slit openingM wider.
func (l *Layout) WithSizes(i ShieldIndex, wallM, openingM float64) *Layout {
	c := *l
	c.Shields = append([]Shield(nil), l.Shields...)
	f := &c.Shields[i].Form
	switch f.Kind {
	case Plate:
		f.ThicknessM.V += wallM
	default:
		f.WallM.V += wallM
	}
	if f.Kind == Ring {
		f.SlitM.V += openingM
	} else {
		f.OpeningM.V += openingM
	}
	return &c
}

// WithThinnestWalls returns a copy of l in which every wall is as thin as its tolerance lets it be, and whether
// anything changed.
func (l *Layout) WithThinnestWalls() (*Layout, bool) {
	out, changed := l, false
	for i := range l.Shields {
		if t := l.Shields[i].WallTolM.V; t > 0 {
			out, changed = out.WithSizes(ShieldIndex(i), -t, 0), true
		}
	}
	return out, changed
}

// Shielding reports whether a shield is of material i.
func (l *Layout) Shielding(i MaterialIndex) bool {
	for k := range l.Shields {
		if l.Shields[k].Material == i {
			return true
		}
	}
	return false
}
