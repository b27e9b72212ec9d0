package sharing_test

import (
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"

	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/sharing"
	"busgauss/model/si"
)

// bar is a rectangle of copper in millimetres, warmer than 20 °C by riseK.
func bar(w, h, x, y, riseK float64) fem.Piece {
	sigma := 58e6 / (1 + 0.00393*riseK)
	return fem.Piece{Name: "bar", IsBar: true, SigmaSPerM: sigma, Region: box(x-w/2, y-h/2, x+w/2, y+h/2)}
}

func box(x0, y0, x1, y1 float64) geom.Region {
	return corners([][2]float64{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}})
}

// corners is a polygon in millimetres.
func corners(mm [][2]float64) geom.Region {
	var p geom.Polygon
	for _, c := range mm {
		p = append(p, geom.Point{X: c[0] / 1e3, Y: c[1] / 1e3})
	}
	return geom.Solid(p)
}

// legs is a phase of two legs, 60 × 10 and 30 × 10 mm, the second 20 K warmer and
// 20 mm above, with a bar beside and, where asked, a U of iron round the second leg.
func legs(iron bool) *fem.Problem {
	p := &fem.Problem{
		Pieces:  []fem.Piece{bar(60, 10, 0, 0, 0), bar(30, 10, 0, 20, 20), bar(40, 10, 80, 10, 0)},
		Sensors: []geom.Point{{X: 2e-3, Y: 31e-3}, {X: -37e-3, Y: 4e-3}},
	}
	if iron {
		p.Pieces = append(p.Pieces, fem.Piece{Name: "U", MuRel: 1500, SigmaSPerM: 2e6, Region: corners([][2]float64{
			{-19, 12}, {19, 12}, {19, 34}, {17, 34}, {17, 13.5}, {-17, 13.5}, {-17, 34}, {-19, 34}})})
	}
	return p
}

// circulation returns ∮ B·dl / μ0 round a box in millimetres: the current in it.
func circulation(s *fem.Solution, of int, x0, y0, x1, y1 float64) complex128 {
	sum := complex128(0)
	side := func(ax, ay, bx, by float64) {
		along := geom.Point{X: (bx - ax) / 1e3, Y: (by - ay) / 1e3}
		from := geom.Point{X: ax / 1e3, Y: ay / 1e3}
		const points = 24
		t, w := make([]float64, points), make([]float64, points)
		quad.Legendre{}.FixedLocations(t, w, 0, 1)
		for i := range t {
			x, y, _ := s.B(from.Add(along.Scale(t[i])), of)
			sum += complex(w[i]/si.Mu0HPerM, 0) * (x*complex(along.X, 0) + y*complex(along.Y, 0))
		}
	}
	side(x0, y0, x1, y0)
	side(x1, y0, x1, y1)
	side(x1, y1, x0, y1)
	side(x0, y1, x0, y0)
	return sum
}

// Insulated legs that carry the net currents that Matrix finds have the fields of
// legs that the solver joins itself, where one ampere flows in the phase, and where
// one flows beside it and drives a current round the legs. The voltage of a leg
// is uncertain by ImpedanceBoundOhmPerM, so a share is by four of these over the
// impedance of the loop; a field by its bounds and by this times the fields of
// the legs. The circulation also holds the rule of 24 points a side: 1e-6.
func TestAgainstBonded(t *testing.T) {
	const freqHz = 1000
	for _, iron := range []bool{false, true} {
		p := legs(iron)
		insulated, err := fem.Solve(p, freqHz, fem.Options{})
		if err != nil {
			t.Fatal(err)
		}
		joined := *p
		joined.Bonded = [][]int{{0, 1}}
		bonded, err := fem.Solve(&joined, freqHz, fem.Options{})
		if err != nil {
			t.Fatal(err)
		}
		z, bound := make([][]complex128, 3), 0.0
		for i := range z {
			for j := range z {
				z[i] = append(z[i], insulated.ImpedanceOhmPerM(i, j))
				bound = max(bound, insulated.ImpedanceBoundOhmPerM(i, j))
			}
		}
		m, err := sharing.Matrix(z, []sharing.Circuit{{Bars: []int{0, 1}}, {Bars: []int{2}, Factors: []float64{1}}})
		if err != nil {
			t.Fatal(err)
		}
		share := 4 * bound / cmplx.Abs(z[0][0]-z[0][1]-z[1][0]+z[1][1])
		t.Logf("iron %v: shares %.4f and %.4f, %.4f round the legs, certain to %.1e", iron, m[0][0], m[1][0], m[0][1],
			share)
		if !(share < 0.01) {
			t.Errorf("shares certain to %g only", share)
		}
		// Not what conductance alone gives, and not nothing round the legs.
		if !(cmplx.Abs(m[0][0]-0.683264) > 5*share && cmplx.Abs(m[0][1]) > 5*share) {
			t.Errorf("the case shows nothing: %v", m)
		}
		for c, source := range []int{0, 2} {
			current := circulation(bonded, source, -40, -10, 40, 9) // between the lower leg and the U
			t.Logf("  lower leg %.6f, by circulation %.6f", m[0][c], current)
			if !(cmplx.Abs(current-m[0][c]) <= share+1e-6) {
				t.Errorf("iron %v, circuit %d: lower leg carries %.6f, want %.6f", iron, c, m[0][c], current)
			}
			for _, q := range p.Sensors {
				wantX, wantY, allowed := bonded.B(q, source)
				var x, y complex128
				for b := range 3 {
					bx, by, e := insulated.B(q, b)
					x, y = x+m[b][c]*bx, y+m[b][c]*by
					allowed += cmplx.Abs(m[b][c]) * e
					if b < 2 {
						allowed += share * math.Hypot(cmplx.Abs(bx), cmplx.Abs(by))
					}
				}
				diff := math.Hypot(cmplx.Abs(x-wantX), cmplx.Abs(y-wantY))
				size := math.Hypot(cmplx.Abs(wantX), cmplx.Abs(wantY))
				t.Logf("  field %.4g T/A, off by %.1e of it, allowed %.1e", size, diff/size, allowed/size)
				if !(diff <= allowed && allowed <= 0.05*size) {
					t.Errorf("iron %v, circuit %d: (%.6g, %.6g), want (%.6g, %.6g)", iron, c, x, y, wantX, wantY)
				}
			}
		}
	}
}
