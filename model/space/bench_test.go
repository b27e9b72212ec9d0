package space

import (
	"testing"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

func benchBar(kind layout.SectionKind) *layout.Bar {
	b := flat(0.020, 0.003)
	b.Section.Kind = kind
	b.Section.DiameterM = num(0.010)
	b.Section.Corners = geom.Polygon{{X: -0.01, Y: -0.002}, {X: 0.01, Y: -0.002}, {X: 0.01, Y: 0.002}, {X: 0, Y: 0.002}, {X: 0, Y: 0.006}, {X: -0.01, Y: 0.006}}
	return runOf(b, mm(-100, 0, -90), mm(0, 0, -90), mm(0, 0, 90), mm(100, 0, 90))
}

// One leg with two mitred ends, at a sensor's distance, beyond three widths, and far.
func BenchmarkLeg(b *testing.B) {
	for _, kind := range []struct {
		name string
		kind layout.SectionKind
	}{{"rectangle", layout.Rectangle}, {"round", layout.Round}, {"outline", layout.Outline}} {
		c := conductor(b, benchBar(kind.kind))
		for _, p := range []struct {
			name string
			at   geom.Point3
		}{{"near", mm(1, 8, 3)}, {"far", mm(5, 65, 3)}, {"remote", mm(5, 300, 3)}} {
			b.Run(kind.name+"/"+p.name, func(b *testing.B) {
				for b.Loop() {
					c.pieces[1](p.at)
				}
			})
		}
	}
}

func BenchmarkBend(b *testing.B) {
	d := &conductor(b, benchBar(layout.Rectangle)).bends[0]
	for _, p := range []struct {
		name string
		at   geom.Point3
	}{{"near", mm(1, 8, -80)}, {"far", mm(5, 20, 3)}, {"remote", mm(5, 300, 3)}} {
		b.Run(p.name, func(b *testing.B) {
			for b.Loop() {
				d.b(p.at)
			}
		})
	}
}

func BenchmarkNewConductor(b *testing.B) {
	bar := benchBar(layout.Rectangle)
	for b.Loop() {
		conductor(b, bar)
	}
}
