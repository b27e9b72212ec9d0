package space

import (
	"io/fs"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

func num(v float64) layout.Num { return layout.Num{V: v, Set: true} }

func place(x, y, z float64) layout.Place { return layout.Place{X: num(x), Y: num(y), Z: num(z)} }

// flat returns a bar of width × thickness in metres, with its place at the origin.
func flat(w, t float64) *layout.Bar {
	return &layout.Bar{
		Section: layout.Section{Kind: layout.Rectangle, WidthM: num(w), ThicknessM: num(t)},
		At:      layout.Place{X: num(0), Y: num(0)},
	}
}

func runOf(b *layout.Bar, points ...geom.Point3) *layout.Bar {
	c := *b
	c.Run = nil
	for _, p := range points {
		c.Run = append(c.Run, place(p.X, p.Y, p.Z))
	}
	return &c
}

func conductor(t testing.TB, b *layout.Bar) *Conductor {
	t.Helper()
	c, err := NewConductor(b)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func mm(x, y, z float64) geom.Point3 { return geom.Point3{X: 1e-3 * x, Y: 1e-3 * y, Z: 1e-3 * z} }

func same(t *testing.T, what string, got, want geom.Point3, tolT float64) {
	t.Helper()
	if d := got.Sub(want).Norm(); !(d <= tolT) {
		t.Errorf("%s: %v, want %v, off %g of %g", what, got, want, d, tolT)
	}
}

// even returns the field of the legs alone, without what the bends add.
func (c *Conductor) even(p geom.Point3) geom.Point3 {
	var sum geom.Point3
	for i := range c.pieces {
		v, _ := c.pieces[i](p)
		sum = sum.Add(v)
	}
	return sum
}

var triple = regexp.MustCompile(`([\w-]+): \[([^\]]*)\]`)

// spaceRows returns the rows of a block of fixtures/reference/space-cases.yaml: what
// stands in brackets, as points, and the line.
func spaceRows(t *testing.T, block string) (rows []map[string]geom.Point3, lines []string) {
	t.Helper()
	b, err := fs.ReadFile(fixtures.FS, "reference/space-cases.yaml")
	if err != nil {
		t.Fatal(err)
	}
	in := false
	for line := range strings.Lines(string(b)) {
		if !strings.HasPrefix(line, " ") {
			in = strings.HasPrefix(line, block+":")
		}
		if !in || !strings.Contains(line, "- {") {
			continue
		}
		row := map[string]geom.Point3{}
		for _, m := range triple.FindAllStringSubmatch(line, -1) {
			var v [3]float64
			for i, s := range strings.Split(m[2], ",") {
				if v[i], err = strconv.ParseFloat(strings.TrimSpace(s), 64); err != nil {
					t.Fatal(err)
				}
			}
			row[m[1]] = geom.Point3{X: v[0], Y: v[1], Z: v[2]}
		}
		rows, lines = append(rows, row), append(lines, line)
	}
	if len(rows) == 0 {
		t.Fatalf("no rows in %s", block)
	}
	return rows, lines
}

// fixtures/reference/space-cases.yaml, straight-bar: adaptive quadrature of the
// filament formula, relative uncertainty 2e-8. The currents there are 100 A, in mT.
func TestStraightBarReference(t *testing.T) {
	bar := flat(0.020, 0.003)
	bar.LengthM = num(0.060)
	c := conductor(t, bar)
	rows, _ := spaceRows(t, "straight-bar")
	for _, r := range rows {
		got, bound := c.B(r["at"].Scale(1e-3))
		same(t, "straight bar", got.Scale(1e5), r["B"], 2e-8*r["B"].Norm())
		if !(bound < 1e-12) {
			t.Errorf("bound %g T/A", bound)
		}
	}
}

// fixtures/reference/space-cases.yaml, corner-run: two full prisms whose centre
// lines end at the corner and which overlap there, which is not how a bar bends:
// the mitre is compared with it in TestMitreAgainstOverlap.
func TestCornerRunReference(t *testing.T) {
	rows, lines := spaceRows(t, "corner-run")
	z := geom.Point3{Z: 1}
	first := layout.Leg{From: mm(0, 0, -60), To: mm(0, 0, 0), Along: z, U: geom.Point3{X: 1}, V: geom.Point3{Y: 1}, FromNormal: z, ToNormal: z}
	for i, r := range rows {
		along := geom.Point3{X: 1}
		second := layout.Leg{Along: along, To: along.Scale(0.060), U: geom.Point3{Z: 1}, V: geom.Point3{Y: -1}, FromNormal: along, ToNormal: along}
		if strings.Contains(lines[i], "second-leg: up") {
			along = geom.Point3{Y: 1}
			second = layout.Leg{Along: along, To: along.Scale(0.060), U: geom.Point3{X: 1}, V: geom.Point3{Z: -1}, FromNormal: along, ToNormal: along}
		}
		p := r["at"].Scale(1e-3)
		one, _ := newBlock(&first, 0.020, 0.003).b(p)
		two, _ := newBlock(&second, 0.020, 0.003).b(p)
		same(t, "first leg", one.Scale(1e5), r["first-leg-alone"], 2e-8*r["B"].Norm())
		same(t, "both legs", one.Add(two).Scale(1e5), r["B"], 2e-8*r["B"].Norm())
	}
}

// A mitred piece against the law of Biot and Savart with 200 × 40 filaments cut at
// the same planes (J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.2):
// near, inside, far, on both sides of where the rule takes over.
func TestPrismAgainstFilaments(t *testing.T) {
	w, th := 0.020, 0.004
	c := conductor(t, runOf(flat(w, th), mm(-30, 20, -40), mm(0, 0, -40), mm(0, 0, 50), mm(40, 30, 60)))
	l := &c.legs[1]
	const nx, ny = 200, 40
	for _, p := range []geom.Point3{mm(2, 9, 5), mm(14, 3, -45), mm(-25, 14, 60), mm(40, 60, 10), mm(7, 300, -200), mm(2, 0.7, 20.3)} {
		var want geom.Point3
		for i := range nx {
			for j := range ny {
				q := geom.Point{X: w * ((float64(i)+0.5)/nx - 0.5), Y: th * ((float64(j)+0.5)/ny - 0.5)}
				from, to := l.Edge(q)
				want = want.Add(closedform.SegmentB(p, from, to, 1.0/(nx*ny)))
			}
		}
		got, _ := prismOf(c.bar, l)(p)
		tol := 2e-5 // midpoint rule of h²/24 curvature, outside
		if c.Contains(p) {
			tol = 5e-3 // by half a filament's spacing inside
		}
		same(t, "leg", got, want, tol*want.Norm())
	}
}

// The rule of filaments and the closed form of the prism meet: at random places the
// difference stays within the two bounds.
func TestFilamentsMeetPrism(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 1))
	c := conductor(t, runOf(flat(0.020, 0.003), mm(-40, 0, -60), mm(0, 0, -60), mm(0, 0, 50), mm(30, 90, 90)))
	for i := range c.legs {
		w := newBlock(&c.legs[i], 0.020, 0.003)
		far := 0
		for range 1000 {
			d := math.Exp(4*r.Float64()) * 0.01
			p := geom.Point3{X: d * r.NormFloat64(), Y: d * r.NormFloat64(), Z: d * r.NormFloat64()}
			exact, e1 := w.exact.b(p)
			got, e2 := w.b(p)
			if got != exact {
				far++
			}
			if off := got.Sub(exact).Norm(); !(off <= e1+e2) {
				t.Fatalf("leg %d at %v: differ by %g of %g, bounds %g and %g", i, p, off, exact.Norm(), e1, e2)
			}
		}
		if far < 250 {
			t.Errorf("leg %d: %d of 1000 places by filaments", i, far)
		}
	}
}

// A bar of 400 m gives the plane value (closedform.RectangleB, CircleB, PolygonB) at its
// middle, high by ρ²/2h² only: 1e-8 at 30 mm.
func TestLongBarIsPlane(t *testing.T) {
	round := &layout.Bar{Section: layout.Section{Kind: layout.Round, DiameterM: num(0.012)}, At: layout.Place{X: num(0.003), Y: num(-0.002)}}
	rect := flat(0.020, 0.003)
	rect.TurnRad, rect.At = num(0.6), round.At
	ell := &layout.Bar{Section: layout.Section{Kind: layout.Outline, Corners: geom.Polygon{{X: -0.01}, {X: 0.02}, {X: 0.02, Y: 0.004}, {X: -0.006, Y: 0.004}, {X: -0.006, Y: 0.015}, {X: -0.01, Y: 0.015}}},
		TurnRad: num(-0.4), At: round.At}
	for _, b := range []*layout.Bar{rect, round, ell} {
		finite := *b
		finite.LengthM = num(400)
		long, ended := conductor(t, b), conductor(t, &finite)
		for _, p := range []geom.Point3{mm(3, 9, 4), mm(-25, 12, 0), mm(4, -1.5, -3), mm(20, -20, 1)} {
			want, _ := long.B(p)
			got, _ := ended.B(p)
			same(t, "400 m", got, want, 1e-7*want.Norm())
		}
	}
}

// An outline that is a rectangle, and one with a corner cut in, against the rectangle
// and against its parts in proportion.
func TestOutlineInSpace(t *testing.T) {
	run := []geom.Point3{mm(-50, 0, -40), mm(0, 0, -40), mm(0, 0, 40), mm(30, 30, 60)}
	rect := conductor(t, runOf(flat(0.016, 0.006), run...))
	asOutline := flat(0, 0)
	asOutline.Section = layout.Section{Kind: layout.Outline, Corners: geom.Rectangle(0.016, 0.006)}
	out := conductor(t, runOf(asOutline, run...))
	for _, p := range []geom.Point3{mm(1, 9, 0), mm(5, 1, 3), mm(-30, 10, -50), mm(60, 60, 60)} {
		a, _ := rect.B(p)
		b, _ := out.B(p)
		same(t, "rectangle as outline", b, a, 1e-10*a.Norm())
	}
	// An L of 20 × 4 and 4 × 8, straight: 80 and 32 mm² of even density.
	ell := flat(0, 0)
	ell.Section = layout.Section{Kind: layout.Outline, Corners: geom.Polygon{{X: 0, Y: 0}, {X: 0.020, Y: 0}, {X: 0.020, Y: 0.004}, {X: 0.004, Y: 0.004}, {X: 0.004, Y: 0.012}, {X: 0, Y: 0.012}}}
	ell.LengthM = num(0.05)
	base, stem := flat(0.020, 0.004), flat(0.004, 0.008)
	base.LengthM, stem.LengthM = ell.LengthM, ell.LengthM
	base.At, stem.At = layout.Place{X: num(0.010), Y: num(0.002)}, layout.Place{X: num(0.002), Y: num(0.008)}
	whole, one, two := conductor(t, ell), conductor(t, base), conductor(t, stem)
	for _, p := range []geom.Point3{mm(8, 8, 0), mm(2, 6, 3), mm(-5, 3, 24.9), mm(30, -20, 50)} {
		w, _ := whole.B(p)
		a, _ := one.B(p)
		b, _ := two.B(p)
		same(t, "L of two", w, a.Scale(80.0/112).Add(b.Scale(32.0/112)), 1e-10*w.Norm())
	}
}

// A round rod with mitred ends against the prism over polygons of the same area,
// whose error falls as the square of their corners on the surface and faster elsewhere.
func TestRodAgainstPolygons(t *testing.T) {
	rod := flat(0, 0)
	rod.Section = layout.Section{Kind: layout.Round, DiameterM: num(0.010)}
	c := conductor(t, runOf(rod, mm(-60, 10, -40), mm(0, 0, -40), mm(0, 0, 50), mm(60, 0, 50)))
	for k := range c.legs {
		fine := newPolyhedron(&c.legs[k], geom.CircleSameArea(0.005, 256), math.Pi*25e-6)
		w := newRod(&c.legs[k], 0.005)
		for _, p := range []geom.Point3{mm(6, 1, 0), mm(20, 10, 40), mm(2, 1, 10), mm(-7, 1, 55), mm(3, 1, 53), mm(0, 0, 0), mm(0, 0.2, 80), mm(200, 300, 10)} {
			got, bound := w.b(p)
			want, _ := fine.b(p)
			same(t, "rod", got, want, bound+1e-8*want.Norm()+1e-20)
			if !(bound < 1e-9*got.Norm()+1e-17) {
				t.Errorf("rod at %v: bound %g of %g", p, bound, got.Norm())
			}
		}
	}
	// On the surface, by Ampère's law for a long rod: μ0 I/(2π a).
	long := *rod
	long.LengthM = num(200)
	b, _ := conductor(t, &long).B(mm(5, 0, 0))
	same(t, "surface", b, geom.Point3{Y: 2e-7 / 0.005}, 1e-6*4e-5)
}
