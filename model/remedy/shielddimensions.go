package remedy

import (
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
)

// dimension is one length of a shield that a remedy may change.
type dimension struct {
	of         layout.ShieldIndex
	fromM, toM float64 // drawn, and the farthest that is tried
	apply      func(m float64) layout.Shield
	say        func(of string, m float64) string
}

// dimensions returns what may change of shield i, the wall first; none for an
// outline.
func dimensions(m *probe.Model, i layout.ShieldIndex) []dimension {
	s := m.Layout.Shields[i]
	with := func(set func(*layout.Shield)) layout.Shield {
		c := s
		set(&c)
		return c
	}
	change := func(what string, from float64) func(string, float64) string {
		return func(of string, to float64) string {
			return fmt.Sprintf("%s of %s from %s to %s mm", what, of, millimetres(from), millimetres(to))
		}
	}
	f := &s.Form
	wall := dimension{i, f.WallM.V, mostWall * f.WallM.V,
		func(x float64) layout.Shield { return with(func(c *layout.Shield) { c.Form.WallM.V = x }) },
		change("wall", f.WallM.V)}
	var deeper []dimension
	if in, _ := m.InSpace(); in && straightBars(m) {
		deeper = []dimension{{i, s.DepthM.V, mostDepth * s.DepthM.V,
			func(x float64) layout.Shield { return with(func(c *layout.Shield) { c.DepthM.V = x }) },
			change("depth", s.DepthM.V)}}
	}
	switch f.Kind {
	case layout.Ring:
		return append([]dimension{wall}, deeper...)
	case layout.Channel:
		return append([]dimension{wall, {i, f.OpeningM.V, mostOpening * f.OpeningM.V,
			func(x float64) layout.Shield { return with(func(c *layout.Shield) { c.Form.OpeningM.V = x }) },
			change("opening", f.OpeningM.V)}, {i, f.LegM.V, leastLeg * f.LegM.V,
			func(x float64) layout.Shield { return with(func(c *layout.Shield) { c.Form.LegM.V = x }) },
			change("legs", f.LegM.V)}}, deeper...)
	case layout.Plate:
		return append([]dimension{thicker(m, i)}, deeper...)
	}
	return nil
}

// straightBars reports whether nothing bends away from z, where a shield may grow.
func straightBars(m *probe.Model) bool {
	for b := range m.Layout.Bars {
		if len(m.Layout.Bars[b].Run) > 0 {
			return false
		}
	}
	return true
}

// thicker grows a plate on the side away from the nearest bar.
func thicker(m *probe.Model, i layout.ShieldIndex) dimension {
	s := m.Layout.Shields[i]
	from := s.Form.ThicknessM.V
	sin, cos := portable.Sincos(s.TurnRad.V)
	away := geom.Point{X: -sin, Y: cos} // local +y
	nearest, least := s.At.Point(), math.Inf(1)
	for b := range m.Layout.Bars {
		if d := m.Layout.Bars[b].DistanceM(s.At.Point()); d < least {
			nearest, least = m.Layout.Bars[b].Centre(), d
		}
	}
	if nearest.Sub(s.At.Point()).Dot(away) > 0 {
		away = away.Scale(-1)
	}
	at := func(x float64) geom.Point { return s.At.Point().Add(away.Scale((x - from) / 2)) }
	return dimension{i, from, mostWall * from,
		func(x float64) layout.Shield {
			c := s
			c.Form.ThicknessM.V = x
			c.At.X.V, c.At.Y.V = at(x).X, at(x).Y
			return c
		},
		func(of string, x float64) string {
			return fmt.Sprintf("thickness of %s from %s to %s mm, its face towards the bars kept: at [%s mm, %s mm]", of,
				millimetres(from), millimetres(x), millimetres(at(x).X), millimetres(at(x).Y))
		}}
}
