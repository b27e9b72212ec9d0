package iron

import (
	"math"
	"math/rand"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
)

func randomPoint(r *rand.Rand) geom.Point3 {
	return geom.Point3{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}
}

// The short formulas for triangles against closedform.Face, itself tested against
// quadrature: near, far, in the plane, on a corner and on an edge.
func TestTriangleAgainstFace(t *testing.T) {
	r := rand.New(rand.NewSource(7))
	for k := range 2000 {
		p := [3]geom.Point3{randomPoint(r), randomPoint(r), randomPoint(r)}
		cross := p[1].Sub(p[0]).Cross(p[2].Sub(p[0]))
		n := cross.Scale(1 / cross.Norm())
		q := randomPoint(r).Scale(math.Pow(10, float64(k%4)-2))
		onEdge := false
		switch k % 9 {
		case 6:
			q = p[0].Add(p[1].Sub(p[0]).Scale(0.3)).Add(p[2].Sub(p[0]).Scale(2 * r.Float64()))
		case 7:
			q, onEdge = p[2], true
		case 8:
			q, onEdge = p[0].Add(p[1].Sub(p[0]).Scale(0.25)), true
		}
		potential, field := closedform.Face(q, p[:])
		got := trianglePotentialM(q, p[0], p[1], p[2], n)
		if !(math.Abs(got-potential) <= 1e-9*potential) {
			t.Fatalf("case %d: potential %.15g, want %.15g", k, got, potential)
		}
		if onEdge {
			continue
		}
		f := triangleField(q, p[0], p[1], p[2], n)
		if k%9 == 6 { // in the plane, rounding picks a side
			f, field = f.Sub(n.Scale(f.Dot(n))), field.Sub(n.Scale(field.Dot(n)))
		}
		if !(f.Sub(field).Norm() <= 1e-8*(1+field.Norm())) {
			t.Fatalf("case %d: field %v, want %v", k, f, field)
		}
	}
}

// Moments against the closed form at the distance where one takes over from the other.
func TestMomentsAgainstFaces(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	worst, worstField := 0.0, 0.0
	for range 300 {
		nodes := []geom.Point3{randomPoint(r), randomPoint(r), randomPoint(r), randomPoint(r)}
		m := newTetra(nodes, [][4]int32{{0, 1, 2, 3}}, []int32{0}, 1)
		u := randomPoint(r)
		q := m.centre[0].Add(u.Scale(1.0001 * m.nearM[0] / u.Norm()))
		var g [2][]geom.Point3
		var f [2]geom.Point3
		mag := randomPoint(r)
		for k := range g {
			g[k] = make([]geom.Point3, 1)
			m.vectors(q, newScratch(m), [2]int{0, 1}, g[k])
			f[k] = m.scatter(q, [][]geom.Point3{{mag}}, cut{each: len(m.tets)})[0]
			m.nearM[0] *= 2
		}
		worst = math.Max(worst, g[0][0].Sub(g[1][0]).Norm()/g[1][0].Norm())
		worstField = math.Max(worstField, f[0].Sub(f[1]).Norm()/f[1].Norm())
	}
	t.Logf("largest error of the vector %.1e, of the field %.1e", worst, worstField)
	if !(worst < 1e-2 && worstField < 2e-2) || worst == 0 {
		t.Errorf("moments off by %.2g and %.2g", worst, worstField)
	}
}
