package mesh

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"busgauss/model/geom"
)

// checkAreas compares the triangles inside each loop with the loop's own area (trapezium rule on its
// corners), which does not use the mesh.
func checkAreas(t *testing.T, m *Mesh, in Input) {
	t.Helper()
	for i, l := range in.Loops {
		if _, _, crossed := l.Points.SelfCrossing(); crossed || l.Arcs != nil {
			continue
		}
		got, want := 0.0, l.Points.AreaM2()
		for _, v := range m.Tris {
			a, b, c := m.Nodes[v[0]], m.Nodes[v[1]], m.Nodes[v[2]]
			if windsAround(l.Points, a.Add(b).Add(c).Scale(1.0/3)) {
				got += orient(a, b, c) / 2
			}
		}
		if math.Abs(got-want) > 1e-7*want+1e-8 {
			t.Errorf("loop %d: triangles cover %.9g m², the loop %.9g", i, got, want)
		}
	}
}

// star returns a star-shaped polygon, possibly with very uneven corners.
func star(r *rand.Rand, at geom.Point, radius float64) geom.Polygon {
	n := 3 + r.IntN(12)
	var p geom.Polygon
	for k := range n {
		s, c := math.Sincos(2 * math.Pi * (float64(k) + 0.8*r.Float64()) / float64(n))
		d := radius * (0.2 + 0.8*r.Float64())
		p = append(p, geom.Point{X: at.X + d*c, Y: at.Y + d*s})
	}
	return p
}

func TestRandomPolygons(t *testing.T) {
	const seed = 20
	r := rand.New(rand.NewPCG(seed, 3))
	rounds := 300
	if testing.Short() {
		rounds = 60
	}
	crossed, triangles := 0, 0
	for round := range rounds {
		in := Input{Loops: []Loop{{Points: rect(0, 0, 2, 2, 0)}}}
		for k := range 1 + r.IntN(5) {
			at := geom.Point{X: 1.2 * (r.Float64() - 0.5), Y: 1.2 * (r.Float64() - 0.5)}
			l := Loop{Points: star(r, at, math.Ldexp(0.35, -r.IntN(8))), Region: RegionID(k + 1), Tag: Tag(k)}
			if r.IntN(3) == 0 {
				l.Inside = Layers{FirstM: 0.002, Count: 4}
			}
			in.Loops = append(in.Loops, l)
		}
		m, err := Triangulate(in, Options{})
		var cross *CrossingError
		if errors.As(err, &cross) {
			crossed++
			continue
		}
		if err != nil {
			t.Fatalf("seed %d round %d: %v", seed, round, err)
		}
		if err := m.check(); err != nil {
			t.Fatalf("seed %d round %d: %v", seed, round, err)
		}
		checkAreas(t, m, in)
		delaunay(t, m)
		covered(t, m, in)
		triangles += len(m.Tris)
		if t.Failed() {
			t.Fatalf("seed %d round %d", seed, round)
		}
	}
	if crossed == 0 || crossed > 3*rounds/4 {
		t.Errorf("%d of %d drawings crossed; the test wants both kinds", crossed, rounds)
	}
	t.Logf("seed %d: %d drawings, %d crossing, %d triangles", seed, rounds, crossed, triangles)
}

func TestSameBytes(t *testing.T) {
	for _, c := range drawingCases() {
		a, err := Triangulate(c.in, c.opt)
		if err != nil {
			t.Fatal(err)
		}
		b, _ := Triangulate(c.in, c.opt)
		if !reflect.DeepEqual(a.Nodes, b.Nodes) || !reflect.DeepEqual(a.Tris, b.Tris) || !reflect.DeepEqual(a.Edges, b.Edges) || !reflect.DeepEqual(a.Region, b.Region) {
			t.Errorf("%s: two runs differ", c.name)
		}
		if !reflect.DeepEqual(a.P2(), b.P2()) {
			t.Errorf("%s: two numberings differ", c.name)
		}
	}
}

// A drawing with four mirror planes need not give a mesh with them, but no quarter may be much finer.
func TestSymmetricDrawing(t *testing.T) {
	in := Input{Loops: []Loop{{Points: rect(0, 0, 2, 2, 0)}, CircleLoop(geom.Point{}, .3, 0, 1, 1)}}
	m, err := Triangulate(in, Options{Size: GradedSize([]SizeSource{{SizeM: 0.02, Growth: 0.1}}, 0)})
	if err != nil {
		t.Fatal(err)
	}
	var count [4]float64
	var area [4]float64
	for _, v := range m.Tris {
		a, b, c := m.Nodes[v[0]], m.Nodes[v[1]], m.Nodes[v[2]]
		p := a.Add(b).Add(c)
		q := 0
		if p.X < 0 {
			q++
		}
		if p.Y < 0 {
			q += 2
		}
		count[q]++
		area[q] += orient(a, b, c) / 2
	}
	for q := range 4 {
		if math.Abs(count[q]/float64(len(m.Tris))-0.25) > 0.02 || math.Abs(area[q]-1) > 0.01 {
			t.Errorf("quarter %d has %g of %d triangles and %g m²", q, count[q], len(m.Tris), area[q])
		}
	}
}

// The polygon of an arc's nodes approaches the disc; with curved edges the area converges two orders faster.
// Area of a disc: Euclid, Elements XII.2 with π r².
func TestDiscArea(t *testing.T) {
	for _, step := range []float64{30, 15, 5} {
		m, err := Triangulate(Input{Loops: []Loop{CircleLoop(geom.Point{X: .3}, .2, .4, 1, 1)}}, Options{ArcStepDeg: step})
		if err != nil {
			t.Fatal(err)
		}
		q := m.P2()
		want := math.Pi * .2 * .2
		straight, curved := m.AreaM2(1), 0.0
		for k := range q.Tris {
			curved += quadraticArea(q, k)
		}
		n := 0.0
		for _, e := range m.Edges {
			if math.Abs(m.Nodes[e.A].Sub(geom.Point{X: .3}).Norm()-.2) > 1e-12 {
				t.Errorf("node off the arc")
			}
			n++
		}
		phi := 2 * math.Pi / n
		if n < 360/step {
			t.Errorf("step %g°: only %g edges on the circle", step, n)
		}
		// A regular n-gon has sin φ/φ of the disc, so φ²/6 less; the parabola misses 2φ⁴/480 at most (series of the sector).
		if got := 1 - straight/want; got > 2.5*phi*phi/6 || got < phi*phi/7 {
			t.Errorf("step %g°: straight area low by %.3g, φ²/6 = %.3g", step, got, phi*phi/6)
		}
		if got := math.Abs(1 - curved/want); got > phi*phi*phi*phi/60 {
			t.Errorf("step %g°: curved area off by %.3g, φ⁴/60 = %.3g", step, got, phi*phi*phi*phi/60)
		}
		if q.Straightened != 0 {
			t.Errorf("%d edges straightened", q.Straightened)
		}
	}
}

// quadraticArea integrates the boundary of a six-node triangle (Green): each edge is a parabola, whose
// chord area is exact plus two thirds of the sagitta triangle.
func quadraticArea(q *Quadratic, k int) float64 {
	v := q.Tris[k]
	sum := q.Nodes[v[1]].Sub(q.Nodes[v[0]]).Cross(q.Nodes[v[2]].Sub(q.Nodes[v[0]])) / 2
	for e := range 3 {
		a, b, m := q.Nodes[v[e]], q.Nodes[v[(e+1)%3]], q.Nodes[v[3+e]]
		bulge := m.Sub(a.Add(b).Scale(0.5))
		sum += 2.0 / 3 * bulge.Cross(b.Sub(a))
	}
	return sum
}

func TestQuadraticNumbering(t *testing.T) {
	for _, c := range drawingCases() {
		m, err := Triangulate(c.in, c.opt)
		if err != nil {
			t.Fatal(err)
		}
		q := m.P2()
		edges := make(map[[2]int32]int32)
		next := int32(len(m.Nodes))
		for k, six := range q.Tris {
			for e := range 3 {
				a, b := six[e], six[(e+1)%3]
				key := [2]int32{min(a, b), max(a, b)}
				mid, seen := edges[key]
				if !seen && six[3+e] != -1 {
					edges[key] = six[3+e]
				} else if mid != six[3+e] {
					t.Fatalf("%s: triangle %d edge %d has middle %d, its neighbour %d", c.name, k, e, six[3+e], mid)
				}
			}
			if !q.unfolded(k) {
				t.Errorf("%s: triangle %d folds", c.name, k)
			}
		}
		if int(next)+len(edges) != len(q.Nodes) {
			t.Errorf("%s: %d nodes, want %d corners and %d middles", c.name, len(q.Nodes), next, len(edges))
		}
		for i, e := range m.Edges {
			if edges[[2]int32{min(e.A, e.B), max(e.A, e.B)}] != q.Mid[i] {
				t.Errorf("%s: edge %d has another middle", c.name, i)
			}
		}
	}
}

func TestLocate(t *testing.T) {
	const seed = 5
	r := rand.New(rand.NewPCG(seed, 1))
	for _, c := range drawingCases() {
		m, err := Triangulate(c.in, c.opt)
		if err != nil {
			t.Fatal(err)
		}
		hits := 0
		for range 400 {
			p := geom.Point{X: math.Ldexp(r.NormFloat64(), -r.IntN(10)), Y: math.Ldexp(r.NormFloat64(), -r.IntN(10))}
			k, want := m.Locate(p), m.search(p)
			if (k < 0) != (want < 0) {
				t.Fatalf("%s: seed %d, %v: walk says %d, search %d", c.name, seed, p, k, want)
			}
			if k >= 0 {
				hits++
				v := m.Tris[k]
				for e := range 3 {
					if orient(m.Nodes[v[e]], m.Nodes[v[(e+1)%3]], p) < 0 {
						t.Fatalf("%s: triangle %d does not hold %v", c.name, k, p)
					}
				}
			}
		}
		if hits < 50 {
			t.Errorf("%s: only %d points inside", c.name, hits)
		}
	}
	m, _ := Triangulate(threeChannels(), Options{})
	if m.Locate(geom.Point{X: math.NaN()}) != -1 || m.Locate(geom.Point{X: math.Inf(1)}) != -1 {
		t.Error("a point that is not a number was found")
	}
}

func TestRefine(t *testing.T) {
	for _, c := range drawingCases() {
		if len(c.in.Loops) > 100 {
			continue
		}
		in := c.in
		in.Loops = append([]Loop(nil), in.Loops...)
		if c.name == "turned bars" {
			in.Loops[1].Inside = Layers{FirstM: 1e-4, Count: 4}
		}
		c.in = in
		m, err := Triangulate(in, c.opt)
		if err != nil {
			t.Fatal(err)
		}
		for range 2 {
			before := *m
			marked := make([]bool, len(m.Tris))
			for k := range marked {
				marked[k] = k%7 == 0 || (m.Region[k] == 1 && len(m.Tris) < 3000)
			}
			if err := m.Refine(marked, 0); err != nil {
				t.Fatal(err)
			}
			if len(m.Tris) <= len(before.Tris) {
				t.Errorf("%s: no more triangles than before", c.name)
			}
			for i, p := range before.Nodes {
				if m.Nodes[i] != p {
					t.Fatalf("%s: node %d moved", c.name, i)
				}
			}
			for k := range m.Tris {
				v := m.Tris[k]
				a, b, c3 := m.Nodes[v[0]], m.Nodes[v[1]], m.Nodes[v[2]]
				p := geom.Point{X: (a.X + b.X + c3.X) / 3, Y: (a.Y + b.Y + c3.Y) / 3}
				if o := before.Locate(p); o >= 0 && marked[o] && !before.Layer[o] && wellInside(&before, o, p) && m.longestM(k) > before.longestM(o)/2*(1+1e-9) {
					t.Fatalf("%s: a marked triangle of %g m still holds one of %g m", c.name, before.longestM(o), m.longestM(k))
				}
			}
			examine(t, m, c)
		}
		before := *m
		var ceiling *CeilingError
		if err := m.Refine(make([]bool, len(m.Tris)), 1); err == nil {
			// Nothing marked needs no point, so the ceiling does not matter.
			if len(m.Tris) != len(before.Tris) {
				t.Errorf("%s: nothing marked, yet %d became %d triangles", c.name, len(before.Tris), len(m.Tris))
			}
		} else if !errors.As(err, &ceiling) {
			t.Error(err)
		}
	}
}

// wellInside says whether p keeps clear of the edges of triangle k, on which either side may answer.
func wellInside(m *Mesh, k int, p geom.Point) bool {
	v := m.Tris[k]
	area := orient(m.Nodes[v[0]], m.Nodes[v[1]], m.Nodes[v[2]])
	for e := range 3 {
		if orient(m.Nodes[v[e]], m.Nodes[v[(e+1)%3]], p) < 1e-9*area {
			return false
		}
	}
	return true
}

func FuzzTriangulate(f *testing.F) {
	f.Add([]byte{3, 10, 10, 90, 10, 50, 90, 4, 20, 20, 40, 20, 40, 40, 20, 40}, uint8(0))
	f.Add([]byte{4, 0, 0, 99, 0, 99, 99, 0, 99, 4, 0, 0, 99, 0, 99, 99, 0, 99}, uint8(1))
	f.Add([]byte{5, 10, 10, 10, 10, 90, 10, 50, 10, 50, 90, 3, 20, 10, 40, 10, 40, 40}, uint8(7))
	f.Fuzz(func(t *testing.T, data []byte, mode uint8) {
		in := Input{Loops: []Loop{{Points: rect(0, 0, 2, 2, 0)}}}
		scale := math.Ldexp(1, -int(mode&7))
		for len(data) > 0 && len(in.Loops) < 8 {
			n := int(data[0]) % 12
			data = data[1:]
			var p geom.Polygon
			for ; n > 0 && len(data) >= 2; n-- {
				p = append(p, geom.Point{X: scale * (float64(data[0])/128 - 1) * 0.99, Y: scale * (float64(data[1])/128 - 1) * 0.99})
				data = data[2:]
			}
			l := Loop{Points: p, Region: RegionID(len(in.Loops))}
			if mode&8 != 0 {
				l.Inside = Layers{FirstM: 0.01 * scale, Count: 3}
			}
			if mode&16 != 0 {
				l.Outside = Layers{FirstM: 0.003 * scale, Count: 3}
			}
			if len(p) > 1 && mode&32 != 0 {
				in.Lines = append(in.Lines, Line{A: p[0], B: p[1]})
				in.Points = append(in.Points, p[len(p)-1])
				continue
			}
			in.Loops = append(in.Loops, l)
		}
		m, err := Triangulate(in, Options{MaxTriangles: 20000})
		if err != nil {
			return
		}
		if err := m.check(); err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for r := range in.Loops {
			sum += m.AreaM2(RegionID(r))
		}
		if math.Abs(sum-4) > 1e-9 {
			t.Fatalf("areas add up to %.12g, want 4", sum)
		}
		checkAreas(t, m, in)
		marked := make([]bool, len(m.Tris))
		for k := range marked {
			marked[k] = k%5 == int(mode)%5
		}
		if m.Refine(marked, 40000) == nil {
			if err := m.check(); err != nil {
				t.Fatal(err)
			}
		}
	})
}
