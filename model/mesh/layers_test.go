package mesh

import (
	"math"
	"testing"

	"busgauss/model/geom"
)

// layerAreaM2 sums layer triangles of a region, with curved edges.
func layerAreaM2(m *Mesh, region RegionID) float64 {
	q := m.P2()
	sum := 0.0
	for k := range m.Tris {
		if m.Layer[k] && m.Region[k] == region {
			sum += quadraticArea(q, k)
		}
	}
	return sum
}

func depthsM(l Layers) []float64 {
	d := []float64{0}
	for k := range l.Count {
		d = append(d, d[k]+l.FirstM*math.Pow(l.Growth, float64(k)))
	}
	return d
}

func TestLayersInBar(t *testing.T) {
	for _, turn := range []float64{0, 0.6} {
		l := Layers{FirstM: 5e-5, Growth: 1.5, Count: 6, EdgeM: 1e-3}
		in := Input{Loops: []Loop{CircleLoop(geom.Point{}, .15, 0, 0, 1), {Points: rect(.01, .002, .015, .004, turn), Region: 1, Tag: 2, Inside: l}}}
		m, err := Triangulate(in, Options{})
		if err != nil {
			t.Fatal(err)
		}
		examine(t, m, drawingCase{in: in, areas: map[RegionID]float64{1: 6e-5}})
		if m.Rows[1] != [2]int{6, 0} {
			t.Fatalf("rows made: %v", m.Rows[1])
		}
		depths := depthsM(l)
		deep := depths[6]
		want := .015*.004 - (.015-2*deep)*(.004-2*deep)
		if got := layerAreaM2(m, 1); math.Abs(got-want) > 1e-9*want {
			t.Errorf("layers cover %.9g m², want %.9g", got, want)
		}
		// Every node of a layer lies at one of the depths, and each depth runs the whole way round.
		length := make([]float64, 7)
		for k := range m.Tris {
			for _, v := range m.Tris[k] {
				if !m.Layer[k] {
					continue
				}
				d := in.Loops[1].Points.BoundaryDistanceM(m.Nodes[v])
				off := math.Inf(1)
				for _, x := range depths {
					off = math.Min(off, math.Abs(d-x))
				}
				if off > 1e-9 {
					t.Fatalf("node at depth %.9g m, want one of %v", d, depths)
				}
			}
		}
		for _, e := range m.Edges {
			da, db := in.Loops[1].Points.BoundaryDistanceM(m.Nodes[e.A]), in.Loops[1].Points.BoundaryDistanceM(m.Nodes[e.B])
			for k, x := range depths {
				if math.Abs(da-x)+math.Abs(db-x) < 1e-9 && in.Loops[1].Points.Contains(m.Nodes[e.A]) {
					l := m.Nodes[e.A].Sub(m.Nodes[e.B]).Norm()
					length[k] += l
					if k == 0 && l > 1e-3*(1+1e-9) {
						t.Errorf("surface edge of %g m, asked 1e-3", l)
					}
				}
			}
		}
		for k, x := range depths {
			if k > 0 && math.Abs(length[k]-(2*.019-8*x)) > 1e-8 {
				t.Errorf("line %d is %.9g m long, want %.9g", k, length[k], 2*.019-8*x)
			}
		}
		s := m.Stats()
		t.Logf("%d triangles, %d in layers, smallest angle outside %.2f°", s.Triangles, s.LayerTriangles, s.MinAngleDeg)
	}
}

func TestLayersInRoundBarAndRing(t *testing.T) {
	l := Layers{FirstM: 5e-5, Growth: 1.4, Count: 6}
	ring := slitRing(.012, .0015, .001, 2)
	ring.Inside = Layers{FirstM: 5e-5, Growth: 1.4, Count: 4}
	bar := CircleLoop(geom.Point{}, .005, .3, 1, 2)
	bar.Inside = l
	in := Input{Loops: []Loop{CircleLoop(geom.Point{}, .15, 0, 0, 1), bar, ring}}
	m, err := Triangulate(in, Options{})
	if err != nil {
		t.Fatal(err)
	}
	examine(t, m, drawingCase{in: in})
	if m.Rows[1] != [2]int{6, 0} || m.Rows[2] != [2]int{4, 0} {
		t.Fatalf("rows made: %v", m.Rows)
	}
	deep := depthsM(l)[6]
	want := math.Pi * (.005*.005 - (.005-deep)*(.005-deep))
	if got := layerAreaM2(m, 1); math.Abs(got-want) > 1e-5*want { // parabolas for arcs
		t.Errorf("layers cover %.9g m², want %.9g", got, want)
	}
	// The ring's layers: a ring less its core, both cut by a slit of parallel sides.
	d := depthsM(ring.Inside)[4]
	half := func(r, x float64) float64 { return (x*math.Sqrt(r*r-x*x) + r*r*math.Asin(x/r)) } // area of |x'| < x, y' > 0 in a disc
	core := func(ro, ri, x float64) float64 {
		return math.Pi*(ro*ro-ri*ri) - (half(ro, x) - half(ri, x))
	}
	want = core(.0135, .012, .0005) - core(.0135-d, .012+d, .0005+d)
	if got := layerAreaM2(m, 2); math.Abs(got-want) > 1e-5*want {
		t.Errorf("ring layers cover %.9g m², want %.9g", got, want)
	}
	if n := m.P2().Straightened; n != 0 {
		t.Errorf("%d arc edges straightened", n)
	}
	t.Logf("%+v", m.Stats())
}

func TestLayersInChannel(t *testing.T) {
	in := threeChannels()
	l := Layers{FirstM: 5e-5, Growth: 1.5, Count: 9}
	for i := range in.Loops[1:] {
		in.Loops[i+1].Inside = l
	}
	m, err := Triangulate(in, Options{})
	if err != nil {
		t.Fatal(err)
	}
	examine(t, m, drawingCase{in: in})
	for i, r := range m.Rows[1:] {
		shield := i%2 == 1
		if (shield && r[0] != 4) || (!shield && r[0] != 6) { // two fifths of 1.5 mm and of 4 mm
			t.Errorf("loop %d: %d rows", i+1, r[0])
		}
	}
	// The lines inside the U: its area less that of the U shrunk by d on every side.
	d := depthsM(Layers{FirstM: 5e-5, Growth: 1.5, Count: 4})[4]
	area := func(d float64) float64 {
		w := .0015 - 2*d
		return 2*w*(.013+.0021+.0015-2*d) + w*(2*.0076+2*d)
	}
	want := area(0) - area(d)
	if got := layerAreaM2(m, 11); math.Abs(got-want) > 1e-8*want {
		t.Errorf("layers cover %.9g m², want %.9g", got, want)
	}
	t.Logf("%+v", m.Stats())
}

// A wall of ten skin depths: the layers keep the count of triangles far below what an even mesh as fine
// at the surface would need.
func TestLayersAreCheap(t *testing.T) {
	wall := 0.0015
	first := wall / 10 / 3
	in := threeChannels()
	for i := 2; i < len(in.Loops); i += 2 {
		in.Loops[i].Inside = Layers{FirstM: first, Growth: 1.5, Count: 8}
	}
	m, err := Triangulate(in, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i := 2; i < len(in.Loops); i += 2 {
		in.Loops[i].Inside = Layers{}
		in.Loops[i].MaxEdgeM = 2 * first
	}
	even, err := Triangulate(in, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("layers %d triangles, even surface %d", len(m.Tris), len(even.Tris))
	if 2*len(m.Tris) > len(even.Tris) {
		t.Errorf("layers need %d triangles, an even surface %d", len(m.Tris), len(even.Tris))
	}
}

func TestLayersWithoutRoom(t *testing.T) {
	s, c := math.Sincos(10 * math.Pi / 180)
	wedge := Loop{Points: geom.Polygon{{}, {X: .01}, {X: .01 * c, Y: .01 * s}}, Region: 1, Inside: Layers{FirstM: 1e-4, Count: 5}}
	in := Input{Loops: []Loop{CircleLoop(geom.Point{}, .15, 0, 0, 1), wedge}}
	m, err := Triangulate(in, Options{})
	if err != nil {
		t.Fatal(err)
	}
	examine(t, m, drawingCase{in: in, thin: true})
	if m.Rows[1][0] != 0 {
		t.Errorf("%d rows in a corner of ten degrees", m.Rows[1][0])
	}
	for _, e := range m.Edges {
		if l := m.Nodes[e.A].Sub(m.Nodes[e.B]).Norm(); e.From[0].Ref.Loop == 1 && l > 2e-4*(1+1e-3) {
			t.Errorf("surface edge of %g m, want 2e-4 at most", l)
		}
	}
	// Two bars that face each other over 0.05 mm leave no room for layers in the gap, and none may cross.
	in = Input{Loops: []Loop{CircleLoop(geom.Point{}, .15, 0, 0, 1),
		{Points: rect(0, 0, .02, .002, 0), Region: 1, Outside: Layers{FirstM: 1e-5, Count: 6}, Inside: Layers{FirstM: 1e-4, Count: 3}},
		{Points: rect(0, .00205, .06, .002, 0), Region: 2, Outside: Layers{FirstM: 1e-5, Count: 6}}}}
	if m, err = Triangulate(in, Options{}); err != nil {
		t.Fatal(err)
	}
	examine(t, m, drawingCase{in: in, areas: map[RegionID]float64{1: 4e-5, 2: 1.2e-4}})
	if m.Rows[1] != [2]int{3, 1} || m.Rows[2] != [2]int{0, 1} { // 10 µm fit two fifths of 50 µm, 25 µm do not
		t.Errorf("rows made: %v", m.Rows)
	}
}

// Layers at shared edges of touching bars, and on both sides of one surface.
func TestLayersWhereBarsTouch(t *testing.T) {
	l := Layers{FirstM: 1e-4, Growth: 1.5, Count: 4}
	in := Input{Loops: []Loop{CircleLoop(geom.Point{}, .15, 0, 0, 1),
		{Points: rect(0, 0, .02, .004, .3), Region: 1, Inside: l},
		{Points: rect(-.004*math.Sin(.3), .004*math.Cos(.3), .02, .004, .3), Region: 2, Inside: l, Outside: Layers{}}}}
	m, err := Triangulate(in, Options{})
	if err != nil {
		t.Fatal(err)
	}
	examine(t, m, drawingCase{in: in, areas: map[RegionID]float64{1: 8e-5, 2: 8e-5}})
	if m.Rows[1][0] != 4 || m.Rows[2][0] != 4 {
		t.Errorf("rows made: %v", m.Rows)
	}
}
