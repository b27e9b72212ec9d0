package eddy

import (
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
)

func bar(widthM, thickM float64) Source {
	return func(q geom.Point3) geom.Point3 {
		v := closedform.RectangleB(q.XY(), widthM, thickM, 1)
		return geom.Point3{X: v.X, Y: v.Y}
	}
}

func solid(p geom.Polygon, x, y float64) geom.Region {
	return geom.Solid(p).Place(geom.Point{X: x, Y: y}, 0)
}

// Independent computations of one bar beside a short wall, fixtures/reference/space-frequency.yaml.
func TestShortWalls(t *testing.T) {
	const mm = 1e-3
	for _, c := range []struct {
		name    string
		section geom.Region
		depthM  float64
		at      geom.Point3
		hz      []float64
		mT, deg []float64
	}{
		{"channel", solid(geom.Channel(20*mm, 14*mm, 1.2*mm), 0, -3.2*mm), 12 * mm, geom.Point3{Y: 4.6 * mm},
			[]float64{1000, 5000}, []float64{2.381, 2.192}, []float64{-3.1, -3.0}},
		{"plate", solid(geom.Rectangle(40*mm, 1*mm), 0, 9*mm), 20 * mm, geom.Point3{Y: 6 * mm},
			[]float64{1000, 5000}, []float64{2.438, 2.678}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := New([]Piece{{Name: "W", Section: c.section, FromZM: -c.depthM / 2, ToZM: c.depthM / 2, SigmaSPerM: 58e6}}, []geom.Point3{c.at}, Options{})
			if err != nil {
				t.Fatal(err)
			}
			coarse, fine := p.Cells()
			source := bar(18*mm, 4*mm)
			r, err := p.Respond([]Source{source}, nil)
			if err != nil {
				t.Fatal(err)
			}
			for i, hz := range c.hz {
				now := r.At(hz, [][]complex128{{1}})
				b, bound := now.B(c.at, 0)
				own := source(c.at)
				at := func(v complex128) (float64, float64) {
					x := -(v + complex(own.X, 0)) * 1e5
					return cmplx.Abs(x), cmplx.Phase(x) * 180 / math.Pi
				}
				m, d := at(b[0])
				m0, d0 := at(now.rough(0, c.at, 0)[0])
				m1, d1 := at(now.rough(1, c.at, 0)[0])
				t.Logf("%g Hz: %.4f mT %.2f deg ± %.4f (coarse %.4f %.2f, fine %.4f %.2f), want %.3f; %d, %d cells, %d vectors, n %d", hz, m, d, bound*1e5, m0, d0, m1, d1, c.mT[i], coarse, fine, len(r.parts[1][0].g.v), r.parts[1][0].g.y.u.n)
				if !(math.Abs(m/c.mT[i]-1) <= 0.02) {
					t.Errorf("off by %.2f %%", 100*(m/c.mT[i]-1))
				}
			}
		})
	}
}
