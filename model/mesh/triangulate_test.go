package mesh

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"busgauss/model/geom"
)

func rect(x, y, w, h, turn float64) geom.Polygon {
	s, c := math.Sincos(turn)
	var p geom.Polygon
	for _, q := range [4][2]float64{{-w / 2, -h / 2}, {w / 2, -h / 2}, {w / 2, h / 2}, {-w / 2, h / 2}} {
		p = append(p, geom.Point{X: x + c*q[0] - s*q[1], Y: y + s*q[0] + c*q[1]})
	}
	return p
}

// slitRing is a ring of inner radius r and the given wall with a slit on local +y, as one loop of arcs.
func slitRing(r, wall, slit float64, region RegionID) Loop {
	l := Loop{Region: region, Tag: 7}
	put := func(radius, rad float64, arc bool) {
		s, c := math.Sincos(rad)
		l.Points = append(l.Points, geom.Point{X: radius * c, Y: radius * s})
		if arc {
			l.Arcs = append(l.Arcs, Arc{RadiusM: radius})
		} else {
			l.Arcs = append(l.Arcs, Arc{})
		}
	}
	ro := r + wall
	i, o := math.Asin(slit/2/r), math.Asin(slit/2/ro)
	for k := range 4 {
		put(ro, math.Pi/2+o+(2*math.Pi-2*o)*float64(k)/4, true)
	}
	put(ro, math.Pi/2-o, false)
	for k := range 4 {
		put(r, math.Pi/2-i-(2*math.Pi-2*i)*float64(k)/4, true)
	}
	put(r, math.Pi/2+i, false)
	return l
}

// check verifies orientation, neighbours, constraint marks and regions.
func (m *Mesh) check() error {
	for k, t := range m.Tris {
		if !(orient(m.Nodes[t[0]], m.Nodes[t[1]], m.Nodes[t[2]]) > 0) {
			return fmt.Errorf("triangle %d does not turn counter-clockwise", k)
		}
		for e := range int32(3) {
			n := m.Adj[k][e]
			if n < 0 {
				if m.EdgeOf[k][e] < 0 {
					return fmt.Errorf("rim edge %d of triangle %d is no constraint", e, k)
				}
				continue
			}
			a, b := t[next(e)], t[prev(e)]
			found := false
			for j := range int32(3) {
				if m.Tris[n][next(j)] == b && m.Tris[n][prev(j)] == a {
					found = m.Adj[n][j] == int32(k) && m.EdgeOf[n][j] == m.EdgeOf[k][e]
				}
			}
			if !found {
				return fmt.Errorf("triangle %d edge %d and its neighbour disagree", k, e)
			}
			if s := m.EdgeOf[k][e]; s >= 0 {
				g := m.Edges[s]
				if !(g.A == a && g.B == b) && !(g.A == b && g.B == a) {
					return fmt.Errorf("constraint on edge %d of triangle %d has other ends", e, k)
				}
			} else if m.Region[k] != m.Region[n] {
				return fmt.Errorf("regions meet at an edge of triangle %d that is no constraint", k)
			}
		}
	}
	return nil
}

type drawingCase struct {
	name  string
	in    Input
	opt   Options
	areas map[RegionID]float64 // m², of straight-sided loops only
	thin  bool                 // the drawing has sharp corners
}

func drawingCases() []drawingCase {
	domain := CircleLoop(geom.Point{}, 0.2, 0.1, 0, 1)
	box := func(l ...Loop) Input { return Input{Loops: append([]Loop{domain}, l...)} }
	var many Input
	many.Loops = []Loop{{Points: rect(0, 0, 2, 2, 0), Tag: 1}}
	for k := range 200 {
		x, y := float64(k%20)*0.03-0.3, float64(k/20)*0.05-0.2
		many.Loops = append(many.Loops, Loop{Points: rect(x, y, 0.015, 0.004, 0.37*float64(k)), Region: RegionID(k + 1), Tag: 2})
	}
	wedge := func(deg float64) geom.Polygon {
		s, c := math.Sincos(deg * math.Pi / 180)
		return geom.Polygon{{X: -0.01, Y: 0.001}, {X: 0.03, Y: 0.001}, {X: -0.01 + 0.04*c, Y: 0.001 + 0.04*s}}
	}
	return []drawingCase{
		{name: "turned bars", in: box(Loop{Points: rect(0, 0, .015, .004, .3), Region: 1}, Loop{Points: rect(.03, 0, .015, .004, 1.2), Region: 2}),
			areas: map[RegionID]float64{1: 6e-5, 2: 6e-5}},
		{name: "three channels", in: threeChannels(), areas: map[RegionID]float64{1: 6e-5, 2: 6e-5, 3: 6e-5}},
		{name: "slit ring", in: box(slitRing(0.01, 0.0015, 0.001, 3), CircleLoop(geom.Point{}, 0.004, 0, 1, 2))},
		{name: "thin gap", in: box(Loop{Points: rect(0, 0, .02, .002, 0), Region: 1}, Loop{Points: rect(0, .00205, .06, .002, 0), Region: 2}),
			areas: map[RegionID]float64{1: 4e-5, 2: 1.2e-4}},
		{name: "corner of 10 degrees", in: box(Loop{Points: wedge(10), Region: 1}), areas: map[RegionID]float64{1: 0.5 * .04 * .04 * math.Sin(10*math.Pi/180)}, thin: true},
		{name: "corner of 1 degree", in: box(Loop{Points: wedge(1), Region: 1}), areas: map[RegionID]float64{1: 0.5 * .04 * .04 * math.Sin(math.Pi/180)}, thin: true},
		{name: "million to one", in: Input{Loops: []Loop{{Points: rect(0, 0, 10, 10, 0)}, {Points: rect(.1, .2, 2e-5, 1e-5, .4), Region: 1}}},
			areas: map[RegionID]float64{1: 2e-10}},
		{name: "200 bars", in: many, areas: map[RegionID]float64{1: 6e-5, 77: 6e-5, 200: 6e-5}},
		{name: "bars that touch", in: box(Loop{Points: rect(0, 0, .02, .004, 0), Region: 1, Tag: 2}, Loop{Points: rect(.004, .004, .02, .004, 0), Region: 2, Tag: 3}),
			areas: map[RegionID]float64{1: 8e-5, 2: 8e-5}},
		{name: "turned bars that touch", in: box(Loop{Points: rect(0, 0, .02, .004, .7), Region: 1, Tag: 2},
			Loop{Points: rect(-.004*math.Sin(.7)+.003*math.Cos(.7), .004*math.Cos(.7)+.003*math.Sin(.7), .02, .004, .7), Region: 2, Tag: 3}),
			areas: map[RegionID]float64{1: 8e-5, 2: 8e-5}},
		{name: "bar inside a shield's wall line", in: box(Loop{Points: rect(0, 0, .02, .02, 0), Region: 2}, Loop{Points: rect(0, -.008, .01, .004, 0), Region: 1}),
			areas: map[RegionID]float64{1: 4e-5, 2: 3.6e-4}},
		{name: "repeated and collinear corners", in: box(Loop{Points: geom.Polygon{{}, {X: .01}, {X: .01}, {X: .02}, {X: .02, Y: .005}, {X: .02, Y: .01}, {X: .01, Y: .01}, {Y: .01}, {Y: .01 + 1e-13}}, Region: 1}),
			areas: map[RegionID]float64{1: 2e-4}},
		{name: "round bar on a plate", in: box(CircleLoop(geom.Point{Y: .005}, .005, .2, 1, 2), Loop{Points: rect(.001, -.001, .03, .002, 0), Region: 2, Tag: 3}),
			areas: map[RegionID]float64{2: 6e-5}, thin: true},
		{name: "round bar in its sleeve", in: box(CircleLoop(geom.Point{}, .005, 0, 1, 2), CircleLoop(geom.Point{}, .007, .4, 2, 3), CircleLoop(geom.Point{}, .005, .9, 1, 4))},
		{name: "round bar 0.05 mm off a plate", in: box(CircleLoop(geom.Point{Y: .00505}, .005, .2, 1, 2), Loop{Points: rect(.001, -.001, .03, .002, 0), Region: 2, Tag: 3}),
			areas: map[RegionID]float64{2: 6e-5}},
		{name: "points and lines", in: Input{Loops: []Loop{domain}, Points: []geom.Point{{X: .01, Y: .02}, {X: .01, Y: .02}, {X: .05}}, Lines: []Line{{A: geom.Point{X: -.05}, B: geom.Point{X: .05}, Tag: 9}}}},
		{name: "hole", in: box(Loop{Points: rect(0, 0, .02, .02, 0), Region: Void, Tag: 4})},
		{name: "clockwise loop", in: box(Loop{Points: geom.Polygon{{}, {Y: .01}, {X: .02, Y: .01}, {X: .02}}, Region: 1}), areas: map[RegionID]float64{1: 2e-4}},
	}
}

func TestDrawings(t *testing.T) {
	for _, c := range drawingCases() {
		for _, size := range []float64{0, 0.004} {
			t.Run(fmt.Sprintf("%s/%g", c.name, size), func(t *testing.T) {
				if size > 0 && len(c.in.Loops) > 100 {
					t.Skip("large")
				}
				opt := c.opt
				if size > 0 {
					opt.Size = GradedSize([]SizeSource{{SizeM: size, Growth: 0.1}}, 0)
				}
				m, err := Triangulate(c.in, opt)
				if err != nil {
					t.Fatal(err)
				}
				examine(t, m, c)
				if size > 0 {
					for k := range m.Tris {
						v := m.Tris[k]
						mid := m.Nodes[v[0]].Add(m.Nodes[v[1]]).Add(m.Nodes[v[2]]).Scale(1.0 / 3)
						if h := opt.Size(mid, 0); m.longestM(k) > h*(1+1e-9) {
							t.Fatalf("triangle %d has an edge of %g m, asked %g m", k, m.longestM(k), h)
						}
					}
				}
				s := m.Stats()
				t.Logf("%d triangles, smallest angle %.2f°, thin %d, shortest %.3g m", s.Triangles, s.MinAngleDeg, s.Thin, s.ShortestEdgeM)
			})
		}
	}
}

// examine checks what every mesh owes: topology, areas, angle bound, Euler's formula, Delaunay, edges.
func examine(t *testing.T, m *Mesh, c drawingCase) {
	t.Helper()
	if err := m.check(); err != nil {
		t.Fatal(err)
	}
	for region, want := range c.areas {
		if got := m.AreaM2(region); math.Abs(got-want) > 1e-7*want { // snapping moves edges by 1e-10 of the extent
			t.Errorf("region %d has %.9g m², want %.9g", region, got, want)
		}
	}
	s := m.Stats()
	if s.MinAngleDeg < m.opt.MinAngleDeg*(1-1e-9) && !c.thin {
		t.Errorf("smallest angle %.3f°, asked %.3f° (%d thin)", s.MinAngleDeg, m.opt.MinAngleDeg, s.Thin)
	}
	// Euler: V - E + F = 1 - holes (connected), by counting edges; holes counted from the rim's turns.
	edges := 0
	rim := make(map[int32][]int32)
	for k := range m.Tris {
		for e := range int32(3) {
			if n := m.Adj[k][e]; n < 0 || n > int32(k) {
				edges++
			}
			if m.Adj[k][e] < 0 {
				rim[m.Tris[k][next(e)]] = append(rim[m.Tris[k][next(e)]], m.Tris[k][prev(e)])
			}
		}
	}
	cycles := 0
	for len(rim) > 0 {
		var at int32
		for at = range rim {
			break
		}
		cycles++
		for to, ok := rim[at]; ok; to, ok = rim[at] {
			delete(rim, at)
			at = to[0]
		}
	}
	if got, want := len(m.Nodes)-edges+len(m.Tris), 2-cycles; got != want {
		t.Errorf("nodes - edges + triangles = %d, want %d (%d rim cycles)", got, want, cycles)
	}
	delaunay(t, m)
	covered(t, m, c.in)
}

// delaunay checks every edge without constraint locally, which by Lawson's theorem is the constrained
// Delaunay property as a whole (D. T. Lee, A. K. Lin, Discrete Comput. Geom. 1 (1986) 201).
func delaunay(t *testing.T, m *Mesh) {
	t.Helper()
	for k := range m.Tris {
		for e := range int32(3) {
			n := m.Adj[k][e]
			if n < int32(k) || m.EdgeOf[k][e] >= 0 {
				continue
			}
			v := m.Tris[k]
			for _, w := range m.Tris[n] {
				if !slices.Contains(v[:], w) && inCircle(m.Nodes[v[0]], m.Nodes[v[1]], m.Nodes[v[2]], m.Nodes[w]) > 0 {
					t.Errorf("edge %d of triangle %d is not Delaunay", e, k)
				}
			}
		}
	}
}

// covered checks that the mesh edges of each loop edge add up to its length, and lie on it.
func covered(t *testing.T, m *Mesh, in Input) {
	t.Helper()
	length := make(map[Ref]float64)
	for _, g := range m.Edges {
		a, b := m.Nodes[g.A], m.Nodes[g.B]
		for _, s := range g.From {
			if g.Layer {
				continue
			}
			var c curve
			if s.Ref.Loop < 0 {
				c = newCurve(in.Lines[s.Ref.Edge].A, in.Lines[s.Ref.Edge].B, Arc{})
			} else {
				p, q := in.Loops[s.Ref.Loop].Points.Edge(s.Ref.Edge)
				c = newCurve(p, q, in.Loops[s.Ref.Loop].arc(s.Ref.Edge))
			}
			for _, p := range []geom.Point{a, b} {
				if off := c.at(c.position(p), 0).Sub(p).Norm(); off > 2*m.tolM {
					t.Fatalf("end of an edge is %g m off %v", off, s.Ref)
				}
			}
			length[s.Ref] += math.Abs(c.position(a) - c.position(b))
		}
	}
	for i := range in.Loops {
		for e := range in.Loops[i].Points {
			a, b := in.Loops[i].Points.Edge(e)
			c := newCurve(a, b, in.Loops[i].arc(e))
			if got := length[Ref{i, e}]; math.Abs(got-c.lengthM) > 4*m.tolM && a.Sub(b).Norm() > m.tolM {
				t.Errorf("edges of %v add up to %.12g m, want %.12g", Ref{i, e}, got, c.lengthM)
			}
		}
	}
}

func TestNodesGiven(t *testing.T) {
	in := Input{Loops: []Loop{{Points: rect(0, 0, 1, 1, 0)}}, Points: []geom.Point{{X: .1, Y: .2}, {X: .5, Y: .25}, {X: .1, Y: .2}}}
	m, err := Triangulate(in, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range in.Points {
		if m.Nodes[m.InputNodes[i]] != p {
			t.Errorf("point %d became %v", i, m.Nodes[m.InputNodes[i]])
		}
	}
	in.Points[1].X = 0.6
	var bad *InputError
	if _, err = Triangulate(in, Options{}); !errors.As(err, &bad) || bad.Edge != 1 {
		t.Errorf("point outside: %v, want InputError for item 1", err)
	}
}

// Areas that hang together by one point only: two squares, two holes, a chessboard without its white fields.
func TestCornersThatTouch(t *testing.T) {
	a, b := rect(-.5, -.5, 1, 1, 0), rect(.5, .5, 1, 1, 0)
	squares := Input{Loops: []Loop{{Points: a, Region: 1, MaxEdgeM: .1}, {Points: b, Region: 2}}}
	holes := Input{Loops: []Loop{{Points: rect(0, 0, 4, 4, 0)}, {Points: a, Region: Void, MaxEdgeM: .1}, {Points: b, Region: Void}}}
	var board Input // every inner edge of a chessboard has such a point at both ends
	for k := range 25 {
		if k%2 == 0 {
			board.Loops = append(board.Loops, Loop{Points: rect(float64(k%5), float64(k/5), 1, 1, 0), Region: RegionID(k % 3), MaxEdgeM: .3})
		}
	}
	for i, in := range []Input{squares, holes, board} {
		m, err := Triangulate(in, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for range 2 {
			if err := m.check(); err != nil {
				t.Fatal(err)
			}
			covered(t, m, in)
			if want := []float64{2, 14, 13}[i]; math.Abs(m.AreaM2(0)+m.AreaM2(1)+m.AreaM2(2)-want) > 1e-12 {
				t.Errorf("drawing %d: area %g, want %g", i, m.AreaM2(0)+m.AreaM2(1)+m.AreaM2(2), want)
			}
			all := make([]bool, len(m.Tris))
			for k := range all {
				all[k] = true
			}
			if err := m.Refine(all, 0); err != nil {
				t.Fatal(err)
			}
		}
	}
}

func TestSharedEdges(t *testing.T) {
	for _, turn := range []float64{0, 0.7, 2.1} {
		s, c := math.Sincos(turn)
		shift := func(u, v float64) (float64, float64) { return c*u - s*v, s*u + c*v }
		x, y := shift(.004, .004)
		in := Input{Loops: []Loop{
			CircleLoop(geom.Point{}, .2, 0, 0, 1),
			{Points: rect(0, 0, .02, .004, turn), Region: 1, Tag: 2},
			{Points: rect(x, y, .02, .004, turn), Region: 2, Tag: 3},
		}}
		m, err := Triangulate(in, Options{})
		if err != nil {
			t.Fatal(err)
		}
		shared := 0.0
		for _, g := range m.Edges {
			if len(g.From) == 2 {
				shared += m.Nodes[g.A].Sub(m.Nodes[g.B]).Norm()
				if tags := []Tag{g.From[0].Tag, g.From[1].Tag}; !slices.Equal(tags, []Tag{2, 3}) {
					t.Errorf("shared edge has tags %v", tags)
				}
			}
		}
		if math.Abs(shared-.016) > 1e-9 {
			t.Errorf("turn %g: shared length %.9g m, want 0.016", turn, shared)
		}
	}
}

func TestErrors(t *testing.T) {
	domain := Loop{Points: rect(0, 0, 1, 1, 0)}
	nan := math.NaN()
	with := func(l ...Loop) Input { return Input{Loops: append([]Loop{domain}, l...)} }
	cases := []struct {
		name string
		in   Input
		opt  Options
		want error
	}{
		{"nothing", Input{}, Options{}, &InputError{}},
		{"two corners", with(Loop{Points: geom.Polygon{{}, {X: 1}}}), Options{}, &InputError{}},
		{"no area", with(Loop{Points: geom.Polygon{{}, {X: .1}, {X: .2}}}), Options{}, &InputError{}},
		{"one spot", Input{Loops: []Loop{{Points: geom.Polygon{{}, {}, {}}}}}, Options{}, &InputError{}},
		{"NaN", with(Loop{Points: geom.Polygon{{}, {X: nan}, {X: .2, Y: 1}}}), Options{}, &InputError{}},
		{"infinite", with(Loop{Points: geom.Polygon{{}, {X: math.Inf(1)}, {X: .2, Y: 1}}}), Options{}, &InputError{}},
		{"far away", Input{Loops: []Loop{{Points: rect(1e9, 0, 1, 1, 0)}}}, Options{}, &InputError{}},
		{"tags", with(Loop{Points: rect(0, 0, .1, .1, 0), Tags: []Tag{1}}), Options{}, &InputError{}},
		{"arc off its ends", with(Loop{Points: rect(0, 0, .1, .1, 0), Arcs: []Arc{{RadiusM: 1}, {}, {}, {}}}), Options{}, &InputError{}},
		{"half turn", with(Loop{Points: geom.Polygon{{X: -.1}, {X: .1}}, Arcs: []Arc{{RadiusM: .1}, {RadiusM: .1}}}), Options{}, &InputError{}},
		{"angle", with(), Options{MinAngleDeg: 40}, &InputError{}},
		{"all void", Input{Loops: []Loop{{Points: rect(0, 0, 1, 1, 0), Region: Void}}}, Options{}, &InputError{}},
		{"seed outside", Input{Loops: []Loop{domain}, Seeds: []Seed{{At: geom.Point{X: 3}}}}, Options{}, &InputError{}},
		{"bars cross", with(Loop{Points: rect(0, 0, .2, .1, 0), Region: 1}, Loop{Points: rect(.1, .05, .2, .1, .3), Region: 2}), Options{}, &CrossingError{}},
		{"bow tie", with(Loop{Points: geom.Polygon{{}, {X: .1}, {Y: .1}, {X: .1, Y: .1}}, Region: 1}), Options{}, &CrossingError{}},
		{"line crosses", Input{Loops: []Loop{domain}, Lines: []Line{{A: geom.Point{X: -1}, B: geom.Point{X: 1}}}}, Options{}, &CrossingError{}},
		{"bars overlap along their edges", with(Loop{Points: rect(0, 0, .2, .1, 0), Region: 1}, Loop{Points: rect(.1, 0, .2, .1, 0), Region: 2}), Options{}, &OverlapError{}},
		{"same bar twice", with(Loop{Points: rect(0, 0, .2, .1, 0), Region: 1}, Loop{Points: rect(0, 0, .2, .1, 0), Region: 2}), Options{}, &OverlapError{}},
		{"round bars cross", with(CircleLoop(geom.Point{}, .1, 0, 1, 1), CircleLoop(geom.Point{X: .19}, .1, 0, 2, 1)), Options{}, &CrossingError{}},
		{"ceiling", with(), Options{Size: func(geom.Point, RegionID) float64 { return 1e-4 }, MaxTriangles: 5000}, &CeilingError{}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			m, err := Triangulate(c.in, c.opt)
			if err == nil || m != nil {
				t.Fatalf("no error, want %T", c.want)
			}
			if fmt.Sprintf("%T", err) != fmt.Sprintf("%T", c.want) {
				t.Errorf("%T (%v), want %T", err, err, c.want)
			}
			if e, ok := err.(*CeilingError); ok && (e.Triangles < 5000 || e.Triangles > 5100 || e.Max != 5000) {
				t.Errorf("ceiling says %+v", e)
			}
		})
	}
	in := with(Loop{Points: rect(0, 0, .2, .1, 0), Region: 1}, Loop{Points: rect(.1, 0, .02, .4, 0), Region: 2})
	_, err := Triangulate(in, Options{})
	var cross *CrossingError
	if !errors.As(err, &cross) || cross.First.Loop != 1 || cross.Second.Loop != 2 {
		t.Fatalf("%v, want loops 1 and 2", err)
	}
	if d := math.Abs(math.Abs(cross.At.Y) - .05); d > 1e-12 {
		t.Errorf("crossing at %v, want y = ±0.05", cross.At)
	}
}
