package probe

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/field"
	"busgauss/model/layout"
)

// pieceTolerance is one of a bar, a shield or the material of one.
type pieceTolerance struct {
	kind     kind
	what, id string
	ends     [2]float64 // m, rad, or 1 for a share
	change   func(l *layout.Layout, by float64) *layout.Layout
}

// kind tells tolerances apart by the word that people read.
type kind string

const (
	placeX       kind = "x"
	placeY       kind = "y"
	turned       kind = "turn"
	wall         kind = "wall"
	opening      kind = "opening"
	permeability kind = "permeability"
	conductivity kind = "conductivity" // works where currents alternate
	resistance   kind = "resistance"   // of a leg of a circuit
)

// placed reports whether k is of place, not of a size or a material.
func (k kind) placed() bool { return k == placeX || k == placeY || k == turned }

// unit is that of the ends of a tolerance.
func (k kind) unit() string {
	switch k {
	case turned:
		return "rad"
	case permeability, conductivity, resistance:
		return "1"
	}
	return "m"
}

func (t *pieceTolerance) name() string { return fmt.Sprintf("%s of %s %q", t.kind, t.what, t.id) }

// at returns a model of the layout of m with t at one of its ends.
func (t *pieceTolerance) at(m *field.Model, by float64) *field.Model {
	key := fmt.Sprintf("%s %s %s %x", t.what, t.id, t.kind, math.Float64bits(by))
	return m.Variant(key, func() *layout.Layout { return t.change(m.Layout, by) })
}

// pieceTolerances returns those of bars, shields and materials that change a field, in layout order, bars first.
func (m *Model) pieceTolerances() []pieceTolerance {
	l := m.Layout
	var out []pieceTolerance
	add := func(k kind, what, id string, most float64, change func(*layout.Layout, float64) *layout.Layout) {
		if most > 0 {
			out = append(out, pieceTolerance{k, what, id, [2]float64{-most, most}, change})
		}
	}
	place := func(what, id string, p *layout.Placement, change func(*layout.Layout, layout.Shift) *layout.Layout) {
		if p == nil {
			return
		}
		add(placeX, what, id, p.XM.V,
			func(l *layout.Layout, v float64) *layout.Layout { return change(l, layout.Shift{DX: v}) })
		add(placeY, what, id, p.YM.V,
			func(l *layout.Layout, v float64) *layout.Layout { return change(l, layout.Shift{DY: v}) })
		add(turned, what, id, p.TiltRad.V,
			func(l *layout.Layout, v float64) *layout.Layout { return change(l, layout.Shift{TiltRad: v}) })
	}
	for i := range l.Bars {
		at := layout.BarIndex(i)
		place("bar", l.Bars[i].ID, l.Bars[i].Placement,
			func(l *layout.Layout, k layout.Shift) *layout.Layout { return l.DisplacedBar(at, k) })
	}
	for i := range l.Shields {
		s, at := &l.Shields[i], layout.ShieldIndex(i)
		place("shield", s.ID, s.Placement,
			func(l *layout.Layout, k layout.Shift) *layout.Layout { return l.DisplacedShield(at, k) })
		add(wall, "shield", s.ID, s.WallTolM.V,
			func(l *layout.Layout, v float64) *layout.Layout { return l.WithSizes(at, v, 0) })
		add(opening, "shield", s.ID, s.OpeningTolM.V,
			func(l *layout.Layout, v float64) *layout.Layout { return l.WithSizes(at, 0, v) })
	}
	for i := range l.Materials {
		mat, at := &l.Materials[i], layout.MaterialIndex(i)
		if !l.Shielding(at) {
			continue
		}
		if mat.Magnetic() {
			add(permeability, "material", mat.ID, mat.PermeabilityTol.V,
				func(l *layout.Layout, v float64) *layout.Layout { return l.WithPermeability(at, 1+v) })
		}
		if low, high := mat.ConductivityShares(); high > low && mat.SigmaSPerM.V > 0 && m.alternates() {
			out = append(out, pieceTolerance{conductivity, "material", mat.ID, [2]float64{low - 1, high - 1},
				func(l *layout.Layout, v float64) *layout.Layout { return l.WithConductivity(at, 1+v) }})
		}
	}
	return out
}

// legTolerances returns those of the legs of circuits whose bars are joined at both ends.
func (m *Model) legTolerances() []pieceTolerance {
	var out []pieceTolerance
	for i := range m.Layout.Circuits {
		c, at := &m.Layout.Circuits[i], layout.CircuitIndex(i)
		if c.Spread.V == 0 {
			continue
		}
		for j := range c.Members {
			out = append(out, pieceTolerance{resistance, "leg", m.Layout.Bars[c.Members[j].Bar].ID,
				[2]float64{-c.Spread.V, c.Spread.V},
				func(l *layout.Layout, v float64) *layout.Layout { return l.WithLegResistance(at, j, 1+v) }})
		}
	}
	return out
}

// Displaced is the layout with one bar, shield or material at an end of one of its tolerances.
type Displaced struct {
	Name  string // of the tolerance: "x of bar \"U\""
	Unit  string // of By: m, rad, or 1 for a share
	Piece string // the ID of the bar, shield or material
	By    float64
	Model *Model
	Drawn *Model // the layout as drawn, computed in the same way

	Placed bool // a tolerance of place, not of a size or a material

	moving, drawnMoving *Model // Model and Drawn at every frequency: see field.Model.Small
}

// mostDisplaced is how many ends of tolerances of bars and shields are computed in a layout
// whose fields must be solved: each is a solution.
const mostDisplaced = 48

// Displacements returns the layout with each bar, shield and material that has tolerances at
// both ends of each, in layout order, bars first; where fields are solved, for small steady
// currents: see field.Model.Steady. A conductivity works where currents alternate, so that its ends are
// computed at every frequency: see field.Model.Small. Each compares with its Drawn. The error is an *Unknown where
// there are more than can be solved.
func (m *Model) Displacements() ([]Displaced, error) { return m.displaced(m.pieceTolerances()) }

// resized is Displacements by tolerances of sizes and materials alone.
func (m *Model) resized() ([]Displaced, error) { return m.displaced(m.sizeTolerances()) }

func (m *Model) sizeTolerances() []pieceTolerance {
	return slices.DeleteFunc(m.pieceTolerances(), func(t pieceTolerance) bool { return t.kind.placed() })
}

// LegSpreadA returns how much more than OwnPeakA s may read in duty d where the legs of circuits share by resistances that
// spread: of each leg the end that gives more, all together.
func (m *Model) LegSpreadA(s *layout.Sensor, d *layout.Duty) float64 {
	sum, drawnA := 0.0, m.OwnPeakA(s, d)
	for _, t := range m.legTolerances() {
		more := 0.0
		for _, by := range t.ends {
			n := &Model{t.at(m.Model, by)}
			more = math.Max(more, n.OwnPeakA(s, d)-drawnA)
		}
		sum += more
	}
	return sum
}

// varied is Displacements with the resistances of legs, which change currents.
func (m *Model) varied() ([]Displaced, error) {
	return m.displaced(append(m.pieceTolerances(), m.legTolerances()...))
}

// PiecesVary reports whether a bar, a shield or a material has a tolerance that changes a field in some duty.
func (m *Model) PiecesVary() bool { return len(m.pieceTolerances()) > 0 }

func (m *Model) displaced(list []pieceTolerance) ([]Displaced, error) {
	if err := m.solvable(2 * len(list)); err != nil {
		return nil, err
	}
	var out []Displaced
	steady, small := &Model{m.Steady()}, &Model{m.Small()}
	for _, t := range list {
		drawn, way := steady, (*field.Model).Steady
		if t.kind == conductivity {
			drawn, way = small, (*field.Model).Small
		}
		for _, by := range t.ends {
			n := t.at(m.Model, by)
			out = append(out, Displaced{Name: t.name(), Unit: t.kind.unit(), Piece: t.id, By: by,
				Model: &Model{way(n)}, Drawn: drawn, Placed: t.kind.placed(),
				moving: &Model{n.Small()}, drawnMoving: small})
		}
	}
	return out, nil
}

// solvable is an *Unknown where ends of tolerances are more than can be solved.
func (m *Model) solvable(ends int) error {
	if ends > mostDisplaced && m.solved() {
		return &field.Unknown{Reason: fmt.Sprintf(
			"the tolerances of its bars and shields take %d solutions of the field, more than %d", ends, mostDisplaced)}
	}
	return nil
}
