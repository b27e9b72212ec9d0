package iron

import (
	"math"
	"math/rand"
	"slices"
	"testing"

	"busgauss/model/geom"
)

// The Jacobian against differences of the residual, at a potential that puts the iron
// on the knee of its curve.
func TestJacobian(t *testing.T) {
	p := oneChannel(t)
	l := p.levels[0]
	bar := longBar(0, 0, 20*mm, 4*mm)
	s, err := p.Draft(func(r geom.Point3) geom.Point3 { return bar(r).Scale(800) })
	if err != nil {
		t.Fatal(err)
	}
	d, err := l.m.drive(mix{NewBasis([]Source{bar}), []float64{800}}, even, false)
	if err != nil {
		t.Fatal(err)
	}
	n := &newton{m: l.m, laws: []law{newLaw(&p.pieces[0])}, act: l.withRaw(even), d: d, size: 1}
	at := n.at(s.at.phi)
	r := rand.New(rand.NewSource(11))
	step := make([]float64, len(at.phi))
	for i := range step {
		step[i] = 1e-6 * r.NormFloat64() * norm(at.phi)
	}
	got := make([]float64, len(step))
	n.jacobian(at.bends).multiply(step, got)
	up, down := slices.Clone(at.phi), slices.Clone(at.phi)
	for i := range step {
		up[i] += step[i]
		down[i] -= step[i]
	}
	a, b := n.at(up), n.at(down)
	diff := make([]float64, len(step))
	for i := range diff {
		diff[i] = got[i] - (a.residual[i]-b.residual[i])/2
	}
	if e := norm(diff) / norm(got); !(e < 2e-3) {
		t.Errorf("Jacobian off by %.2g", e)
	}
	secants := slices.Clone(at.bends)
	most := 0.0
	for e := range secants {
		most = math.Max(most, secants[e].secant/(1+secants[e].slope))
	}
	if most < 3 { // otherwise slope and secant are one, and nothing is tested
		t.Errorf("iron is linear here: secant over slope %.2g", most)
	}
}
