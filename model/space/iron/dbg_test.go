package iron

import (
	"fmt"
	"testing"
	"time"

	"busgauss/model/closedform"
	"busgauss/model/geom"
)

func TestDbgDia(t *testing.T) {
	for _, half := range []float64{40 * mm} {
	var pieces []Piece
	var mu []float64
	var bars []Source
	for _, x := range []float64{-32, 0, 32} {
		u := geom.Channel(18*mm, 12*mm, 1.5*mm)
		for i := range u { u[i].X += x * mm; u[i].Y -= 3 * mm }
		pieces = append(pieces, Piece{Name: "K", Section: geom.Solid(u), FromZM: -8 * mm, ToZM: 8 * mm, MuRel: 2})
		mu = append(mu, 4000)
		bars = append(bars, func(r geom.Point3) geom.Point3 {
			b := closedform.RectangleB(geom.Point{X: r.X - x*mm, Y: r.Y}, 15*mm, 4*mm, 1)
			return geom.Point3{X: b.X, Y: b.Y}
		})
	}
	for i, x := range []float64{-32} {
		rect := geom.Rectangle(15*mm, 4*mm)
		for i := range rect { rect[i].X += x * mm }
		_ = i
		pieces = append(pieces, Piece{Name: "B", Section: geom.Solid(rect), FromZM: -half, ToZM: half, MuRel: 2})
		mu = append(mu, 1e-9)
	}
	var pts []geom.Point3
	for _, x := range []float64{-32, 0, 32} { pts = append(pts, geom.Point3{X: x * mm, Y: 5 * mm}) }
	t0 := time.Now()
	p, err := New(pieces, pts, Options{MaxNodes: 5500})
	if err != nil { t.Fatal(err) }
	fmt.Println(p.Unknowns())
	for _, dm := range []float64{1.0000001, 0.1, 0.02, 0.002} { dia := dm
		use := append([]float64(nil), mu...)
		use[3] = dm
		l := &Linear{scale: p.scale, sources: bars}
		for i, lv := range p.levels {
			a, err := lv.linear(use, NewBasis(bars))
			if err != nil { t.Fatal(err) }
			l.levels[i] = a
		}
		for s := range pts[:1] {
			for b := 1; b < 3; b++ {
				v, e := l.B(pts[s], b)
				c := l.reading(pts[s])[b].mesh
				fmt.Printf("half %g dia %v s%d b%d (%.3f %.3f) |%.3f| bound %.3f; coarse %.3f %.3f fine %.3f %.3f uT/A\n", half, dia, s, b, v.X*1e6, v.Y*1e6, v.Norm()*1e6, e*1e6, c[0].X*1e6, c[0].Y*1e6, c[1].X*1e6, c[1].Y*1e6)
			}
		}
	}
	fmt.Println(time.Since(t0))
	}
}
