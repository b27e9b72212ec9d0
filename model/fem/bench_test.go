package fem

import (
	"testing"

	"busgauss/model/geom"
	"busgauss/model/material"
)

// three is the fixture of the budgets: three bars, each in a channel of iron, three
// sensors.
func three() *Problem {
	p := &Problem{}
	for k := range 3 {
		x := float64(k-1) * 34
		p.Pieces = append(p.Pieces, Piece{Name: "bar", IsBar: true, SigmaSPerM: 50e6, Region: mmPoly(x-9, -2, x+9, -2, x+9, 2, x-9, 2)})
		p.Pieces = append(p.Pieces, Piece{Name: "U", MuRel: 2000, Region: mmPoly(x-11.2, -4.4, x+11.2, -4.4, x+11.2, 10.8, x+10, 10.8, x+10, -3.2, x-10, -3.2, x-10, 10.8, x-11.2, 10.8)})
		p.Sensors = append(p.Sensors, geom.Point{X: x / 1e3, Y: 4.6e-3})
	}
	return p
}

func BenchmarkThreeChannelsDirect(b *testing.B) {
	p := three()
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		s, err := Solve(p, 0, Options{})
		if err != nil {
			b.Fatal(err)
		}
		for i, q := range p.Sensors {
			for bar := range 3 {
				s.B(q, bar)
			}
			if _, err := s.Wall(i, []complex128{250, 250, 250}); err != nil {
				b.Fatal(err)
			}
		}
		n = s.Unknowns
	}
	b.ReportMetric(float64(n), "unknowns")
}

func BenchmarkThreeChannelsSaturating(b *testing.B) {
	p := three()
	steel, _ := material.IronByName("low-carbon-steel")
	curve, err := steel.Curve()
	if err != nil {
		b.Fatal(err)
	}
	for i := range p.Pieces {
		if !p.Pieces[i].IsBar {
			p.Pieces[i].Curve, p.Pieces[i].MuRel = curve, 0
		}
	}
	b.ReportAllocs()
	n, steps := 0, 0
	for b.Loop() {
		s, err := SolveSaturating(p, []float64{2000, -1000, -1000}, [2]float64{}, Options{})
		if err != nil {
			b.Fatal(err)
		}
		for i, q := range p.Sensors {
			s.B(q)
			if _, err := s.Wall(i); err != nil {
				b.Fatal(err)
			}
		}
		n, steps = s.Unknowns, s.Steps
	}
	b.ReportMetric(float64(n), "unknowns")
	b.ReportMetric(float64(steps), "steps")
}

func BenchmarkThreeChannelsFourFrequencies(b *testing.B) {
	p := three()
	for i := range p.Pieces {
		if !p.Pieces[i].IsBar {
			p.Pieces[i].SigmaSPerM = 2e6
		}
	}
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		n = 0
		for _, f := range []float64{50, 400, 3000, 20000} {
			s, err := Solve(p, f, Options{})
			if err != nil {
				b.Fatal(err)
			}
			for i, q := range p.Sensors {
				for bar := range 3 {
					s.B(q, bar)
				}
				if _, err := s.Wall(i, []complex128{250, 250, 250}); err != nil {
					b.Fatal(err)
				}
			}
			n = max(n, s.Unknowns)
		}
	}
	b.ReportMetric(float64(n), "unknowns")
}
