package fem

import (
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/geom"
)

// Three-phase induction machine at standstill: TEAM workshop problem 30A (K. Davey),
// fixtures/reference/team30a.yaml, exact series: rotor loss 1455.511798 W/m, of which
// 17.405409 W/m in its steel. The winding is six bars of next to no conductivity,
// each a sector of 45° whose arcs are chords of 3°.
func TestInductionMachineAtStandstill(t *testing.T) {
	p := &Problem{Pieces: []Piece{
		{Name: "steel", MuRel: 30, SigmaSPerM: 1.6e6, Round: &Round{OuterM: 0.020}},
		{Name: "aluminium", SigmaSPerM: 3.72e7, Round: &Round{OuterM: 0.030, InnerM: 0.020}},
		{Name: "stator", MuRel: 30, Round: &Round{OuterM: 0.057, InnerM: 0.052}},
	}}
	// The winding ends 0.1 mm inside the stator, so that its corners do not touch the
	// circle.
	currents := make([]complex128, 0, 6)
	for k := range 6 {
		var poly geom.Polygon
		mid := float64(k) * math.Pi / 3
		const n = 15
		for i := range n + 1 {
			poly = append(poly, geom.Point{X: 0.032}.Rotate(mid-math.Pi/8+math.Pi/4*float64(i)/n))
		}
		for i := n; i >= 0; i-- {
			poly = append(poly, geom.Point{X: 0.0519}.Rotate(mid-math.Pi/8+math.Pi/4*float64(i)/n))
		}
		p.Pieces = append(p.Pieces, Piece{Name: "belt", IsBar: true, SigmaSPerM: 1, Region: geom.Solid(poly)})
		// A −C B −A C −B, phases 0, −120°, 120°.
		phase := []float64{0, 120 + 180, -120, 180, 120, -120 + 180}[k]
		currents = append(currents, cmplx.Rect(2045.2*math.Sqrt2, phase*math.Pi/180))
	}
	s, err := Solve(p, 60, Options{})
	if err != nil {
		t.Fatal(err)
	}
	loss := s.LossesWPerM(currents)
	t.Logf("%d unknowns: rotor %.4f W/m, its steel %.4f W/m", s.Unknowns, loss[0]+loss[1], loss[0])
	if r := (loss[0] + loss[1]) / 1455.511798; math.Abs(r-1) > 0.005 {
		t.Errorf("rotor loss %g of the exact one", r)
	}
	if r := loss[0] / 17.405409; math.Abs(r-1) > 0.005 {
		t.Errorf("loss of its steel %g of the exact one", r)
	}
}
