package probe_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/closedform"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/waveform"
	"busgauss/schema/load"
	"busgauss/schema/node"
)

// inSpace collects rows of the table of bars in space. Every field of ours comes from a
// layout, as the command computes it.
type inSpace struct {
	t    *testing.T
	rows []fixtures.ReferenceRow
}

func xyz(p geom.Point3) []float64 { return []float64{p.X, p.Y, p.Z} }

func mmPoint(x, y, z float64) geom.Point3 { return geom.Point3{X: x / 1e3, Y: y / 1e3, Z: z / 1e3} }

// one adds a number.
func (s *inSpace) one(name, quantity, unit string, want, got, tol, source any) {
	s.rows = append(s.rows, fixtures.ReferenceRow{Case: name, Quantity: quantity, Unit: unit,
		Want: []float64{want.(float64)}, Got: []float64{got.(float64)}, Tolerance: tol.(float64), Source: source.(string)})
}

// vector adds a field of ours, Vec times scale, against want in the same unit.
func (s *inSpace) vector(name, quantity, unit string, want geom.Point3, got field.Vec, scale, tol float64,
	source string) {
	s.rows = append(s.rows, fixtures.ReferenceRow{Case: name, Quantity: quantity, Unit: unit, Want: xyz(want),
		Got:       []float64{scale * real(got.X), scale * real(got.Y), scale * real(got.Z)},
		Tolerance: tol, Bound: scale * got.Bound, Source: source})
}

// limited is vector where the reference itself is no better than tol.
func (s *inSpace) limited(name, quantity, unit string, want geom.Point3, got field.Vec, scale, tol float64,
	source string) {
	s.vector(name, quantity, unit, want, got, scale, tol, source)
	s.rows[len(s.rows)-1].Spread = tol * want.Norm()
}

// field returns the steady field of a layout of bars, given as lines of YAML.
func (s *inSpace) field(bars ...string) *field.Field {
	s.t.Helper()
	return s.fieldOf("layout: 1\nbars:\n  " + strings.Join(bars, "\n  ") + "\n")
}

func (s *inSpace) fieldOf(yaml string) *field.Field {
	s.t.Helper()
	f, err := probe.NewModel(mustLoad(s.t, yaml)).Field(0)
	if err != nil {
		s.t.Fatal(err)
	}
	return f
}

// The table of bars in space, written with -update; each row must hold its tolerance.
func TestReferenceTableOfSpace(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds")
	}
	s := &inSpace{t: t}
	s.straight()
	s.long()
	s.wires()
	s.bends()
	s.corner()
	s.necks()
	s.slots()
	s.deep()
	if len(s.rows) < 60 {
		t.Errorf("%d rows", len(s.rows))
	}
	fixtures.ReferenceBlock(t, tableFile, "go test ./model/probe -run TestReferenceTableOfSpace -update", `
## Bars in space, and shields so deep that they are plane, against references

Vectors are (x, y, z). *Difference*, *tolerance* and *certainty*, our own bound, are relative to the size of the reference, for the bends of a
line to the field of a straight one. Every value of ours but that of the loop is computed from a layout, as the command does.
`, s.rows, `
Not here: demagnetising tables of plates and cubes, of which the reference files hold none.
`)
}

const (
	quadrature = "space-cases.yaml"
	biotSavart = "Jackson, 5.2"
	practice   = "common practice"
	planeCode  = "plane-cases"
)

const bar60 = "A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, length: 60 mm}"

// straight computes a bar of 20 × 3 mm, 60 mm long: against the quadrature of the
// reference file, and against 200 × 40 filaments of the law of Biot and Savart.
func (s *inSpace) straight() {
	f := s.field(bar60)
	for _, c := range reference(s.t, "space-cases.yaml", "/straight-bar/cases").Items {
		p, want := nodePoint(s.t, c, "at"), nodePoint(s.t, c, "B")
		s.limited("straight-bar, 60 mm", fmt.Sprintf("B at (%g, %g, %g) mm", p.X, p.Y, p.Z), "mT", want, f.At(p.Scale(1e-3), 0), 1e5, 1e-6, quadrature)
	}
	const nx, ny = 200, 40
	for _, p := range []geom.Point3{mmPoint(0, 5.5, 0), mmPoint(-14, 3, 25), mmPoint(4, 9, 40)} {
		var want geom.Point3
		for i := range nx {
			for j := range ny {
				x, y := 20*((float64(i)+0.5)/nx-0.5), 3*((float64(j)+0.5)/ny-0.5)
				want = want.Add(closedform.SegmentB(p, mmPoint(x, y, -30), mmPoint(x, y, 30), 100.0/(nx*ny)))
			}
		}
		s.limited("straight bar against 8000 filaments", fmt.Sprintf("B at (%g, %g, %g) mm", 1e3*p.X, 1e3*p.Y, 1e3*p.Z), "mT", want.Scale(1e3), f.At(p, 0), 1e5, 2e-5, biotSavart)
	}
}

// nodePoint reads three numbers of a mapping.
func nodePoint(t *testing.T, n *node.Node, key string) geom.Point3 {
	t.Helper()
	c, _, ok := n.At("/" + key)
	if !ok || len(c.Items) != 3 {
		t.Fatalf("no three numbers at %q", key)
	}
	return geom.Point3{X: cellNumber(c.Items[0]), Y: cellNumber(c.Items[1]), Z: cellNumber(c.Items[2])}
}

// long computes bars of 400 m against the plane value of the same section.
func (s *inSpace) long() {
	for _, section := range []string{"{width: 20 mm, thickness: 3 mm}", "{diameter: 12 mm}", "{outline: [[-10 mm, 0 mm], [20 mm, 0 mm], [20 mm, 4 mm], [-6 mm, 4 mm], [-6 mm, 15 mm], [-10 mm, 15 mm]]}"} {
		plane := s.field(fmt.Sprintf("A: {section: %s, at: [0 mm, 0 mm], metal: copper}", section))
		f := s.field(fmt.Sprintf("A: {section: %s, at: [0 mm, 0 mm], metal: copper, length: 400 m}", section))
		p := mmPoint(3, 19, 0)
		w := plane.At(p, 0)
		kind, _, _ := strings.Cut(strings.TrimPrefix(section, "{"), ":")
		s.limited("bar of 400 m", "B of a section by "+kind+" at (3, 19, 0) mm", "mT", geom.Point3{X: 1e5 * real(w.X), Y: 1e5 * real(w.Y)}, f.At(p, 0), 1e5, 1e-6, "plane closed form, analytic-cases.yaml")
	}
}

// wires computes what is as good as a line: bars of 0.2 mm against formulas of lines.
func (s *inSpace) wires() {
	const thin = "{width: 0.2 mm, thickness: 0.2 mm}"
	for _, c := range []struct{ from, to, want float64 }{{-50, 50, 1.961161351}, {0, 100, 0.995037190}} {
		f := s.field(fmt.Sprintf("A: {section: %s, at: [0 mm, 0 mm], metal: copper, length: %g mm}", thin, c.to-c.from))
		s.limited("finite wire", fmt.Sprintf("100 A, from z = %g to %g mm, 10 mm off", c.from, c.to), "mT", geom.Point3{X: -c.want},
			f.At(mmPoint(0, 10, -(c.from+c.to)/2), 0), 1e5, 1e-4, "analytic-cases.yaml")
	}
	// A polygon of 240 sides whose area is that of the circle of 20 mm.
	const n = 240
	out := 20 * math.Sqrt(2*math.Pi/n/math.Sin(2*math.Pi/n))
	for _, r := range referenceNumbers(s.t, "analytic-cases.yaml", "/circular_loop/case_a20mm_100A/rows") {
		var sum geom.Point3
		corner := func(k int) geom.Point3 {
			sn, co := math.Sincos(2 * math.Pi * float64(k) / n)
			return mmPoint(out*co, out*sn, 0)
		}
		for k := range n {
			sum = sum.Add(closedform.SegmentB(mmPoint(r[0], 0, r[1]), corner(k), corner(k+1), 1e5))
		}
		s.rows = append(s.rows, fixtures.ReferenceRow{Case: "circular loop of 240 segments", Quantity: fmt.Sprintf("100 A, radius 20 mm, at ρ = %g, z = %g mm", r[0], r[1]), Unit: "mT",
			Want: []float64{r[2], 0, r[3]}, Got: xyz(sum), Tolerance: 5e-4, Source: "analytic-cases.yaml"})
	}
	// Four sides of 100 mm: two runs that meet end to end.
	f := s.field("A: {section: "+thin+", at: [0 mm, 0 mm], metal: copper, run: [[50 mm, 0 mm, -50 mm], [0 mm, 0 mm, -50 mm], [0 mm, 0 mm, 50 mm], [50 mm, 0 mm, 50 mm]]}",
		"B: {section: "+thin+", at: [100 mm, 0 mm], metal: copper, run: [[50 mm, 0 mm, -50 mm], [100 mm, 0 mm, -50 mm], [100 mm, 0 mm, 50 mm], [50 mm, 0 mm, 50 mm]]}")
	a, b := f.At(mmPoint(50, 0, 0), 0), f.At(mmPoint(50, 0, 0), 1)
	sum := field.Vec{X: a.X - b.X, Y: a.Y - b.Y, Z: a.Z - b.Z, Bound: a.Bound + b.Bound}
	s.limited("square coil of 100 mm", "100 A, at its centre, 2√2 μ0 I/(π a)", "mT", geom.Point3{Y: 1e5 * 2 * math.Sqrt2 * mu0 / (math.Pi * 0.1)}, sum, 1e5, 1e-4, "textbook (from memory) and "+biotSavart)
}

// bends computes a line conductor with a bend of 90° at L along it and the sensor d = 10
// mm off: a bar of 1 × 1 mm, which is a line but for its corner.
func (s *inSpace) bends() {
	for _, way := range []struct {
		name, end string
		want      [4]float64
	}{
		{"across the sensor's distance", "[10 m, 0 mm, %g mm]", [4]float64{-5.28, -1.49, -0.68, -0.25}},
		{"away from the sensor", "[0 mm, -10 m, %g mm]", [4]float64{-19.1, -11.0, -7.6, -4.75}},
		{"toward the sensor", "[0 mm, 10 m, %g mm]", [4]float64{30.9, 14.0, 9.0, 5.25}},
	} {
		for i, ratio := range []float64{2, 4, 6, 10} {
			z := 10 * ratio
			f := s.field("A: {section: {width: 1 mm, thickness: 1 mm}, at: [0 mm, 0 mm], metal: copper, run: [[0 mm, 0 mm, -10 m], [0 mm, 0 mm, " + fmt.Sprintf("%g mm], "+way.end, z, z) + "]}")
			got := real(f.At(mmPoint(0, 10, 0), 0).X)/(-2e-7/0.01) - 1
			// The source rounds to half of 0.1.
			s.rows = append(s.rows, fixtures.ReferenceRow{Case: "bend of a line, " + way.name, Quantity: fmt.Sprintf("change of the field at L/d = %g", ratio), Unit: "%",
				Want: []float64{way.want[i]}, Got: []float64{100 * got}, Of: 100, Tolerance: 0.00055, Source: practice + "; " + biotSavart})
		}
	}
}

// corner computes two full prisms that meet at a corner and overlap there (space-cases.yaml,
// corner-run): a bar of 60 mm, and the same turned into the place of the second leg. How
// a real bar bends is another matter: see the tests of model/space.
func (s *inSpace) corner() {
	f := s.field(bar60)
	for _, c := range reference(s.t, "space-cases.yaml", "/corner-run/cases").Items {
		leg, _, _ := c.At("/second-leg")
		far, _, _ := c.At("/distance")
		// The second leg's own x, y and z in the frame of the layout.
		x, y, z := geom.Point3{Z: -1}, geom.Point3{Y: 1}, geom.Point3{X: 1}
		if leg.Text == "up" {
			x, y, z = geom.Point3{X: 1}, geom.Point3{Z: -1}, geom.Point3{Y: 1}
		}
		p := nodePoint(s.t, c, "at").Scale(1e-3)
		one := f.At(p.Add(geom.Point3{Z: 0.030}), 0)
		two := f.At(geom.Point3{X: p.Dot(x), Y: p.Dot(y), Z: p.Dot(z) - 0.030}, 0)
		turned := x.Scale(real(two.X)).Add(y.Scale(real(two.Y))).Add(z.Scale(real(two.Z)))
		sum := field.Vec{X: one.X + complex(turned.X, 0), Y: one.Y + complex(turned.Y, 0),
			Z: one.Z + complex(turned.Z, 0), Bound: one.Bound + two.Bound}
		s.limited("corner-run, second leg "+leg.Text, fmt.Sprintf("B %g mm before the corner", cellNumber(far)), "mT", nodePoint(s.t, c, "B"), sum, 1e5, 1e-6, quadrature)
	}
}

// difference returns that of By between x = ±1.29 mm in mT per kA.
func difference(f *field.Field, yMM float64, circuit layout.CircuitIndex) float64 {
	return 1e6 * real(f.At(mmPoint(1.29, yMM, 0), circuit).Y-f.At(mmPoint(-1.29, yMM, 0), circuit).Y)
}

// necks computes a pair over a long neck of 8 × 3 mm, and the neck of 10 mm in a bar of 100 mm
// that another program computed (computed-references.yaml, necked_bar_dc).
func (s *inSpace) necks() {
	f := s.field("A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, cuts: [{neck: {length: 160 mm, width: 8 mm}}]}",
		"B: {section: {width: 20 mm, thickness: 3 mm}, at: [40 mm, 0 mm], metal: copper}")
	const name = "long neck 8 × 3 mm, pair ±1.29 mm"
	at := difference(f, 3.5, 0)
	s.one(name, "difference 2 mm over the face", "mT/kA", 18.38, at, 0.001, practice)
	s.one(name, "change of it 0.3 mm higher", "%", -7.16, 100*(difference(f, 3.8, 0)/at-1), 0.005, practice)
	s.one(name, "neighbour 20 × 3 mm at 40 mm", "%", 1.82, 100*math.Abs(difference(f, 3.5, 1)/at), 0.005, practice)

	f = s.field("A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, length: 100 mm, cuts: [{neck: {length: 10 mm, width: 8 mm}}]}")
	for _, r := range referenceNumbers(s.t, "computed-references.yaml", "/necked_bar_dc/per_100A") {
		// x, y, z there are our z, x, y.
		s.vector("necked_bar_dc", fmt.Sprintf("B at (%g, %g, %g) mm", r[1], r[2], r[0]), "mT", geom.Point3{X: r[4], Y: r[5], Z: r[3]}, f.At(mmPoint(r[1], r[2], r[0]), 0), 1e5, 1e-3, "computed-references.yaml")
	}
}

// slots computes a bar of 14 × 3 mm with a slot of 3 mm in the middle, long.
func (s *inSpace) slots() {
	f := s.field("A: {section: {width: 14 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, cuts: [{slot: {length: 160 mm, width: 3 mm}}]}")
	want := []float64{39.6, 22.4, 5.26, -0.80}
	for i, y := range []float64{0, 1.5, 2.5, 3.5} {
		s.rows = append(s.rows, fixtures.ReferenceRow{Case: "long slot of 3 mm in 14 × 3 mm, pair ±1.29 mm", Quantity: fmt.Sprintf("difference %g mm from the mid-plane", y), Unit: "mT/kA",
			Want: []float64{want[i]}, Got: []float64{-difference(f, y, 0)}, Spread: []float64{0.06, 0.06, 0.006, 0.006}[i], Source: practice})
	}
}

// deep computes the shielded cases of plane-cases at direct current with shields of
// 25 m and bars of 1 km: depth to infinity. A neighbour's field behind two shields comes
// near its plane value only where the depth is hundreds of times the width.
func (s *inSpace) deep() {
	cases := planeCases(s.t)
	for _, group := range [][]string{
		{"u-shield-single-dc"}, {"turned-bar-beside-plate-dc"}, {"round-conductor-over-steel-plate-0Hz"},
		{"u-shield-three-dc-V", "u-shield-three-dc-U"}, {"u-shield-saturating-200A", "u-shield-saturating-2000A"},
	} {
		// The cases of a group differ in their currents only: one layout, a duty each.
		var duties strings.Builder
		text := ""
		for _, name := range group {
			data, err := fixtures.FS.ReadFile("reference/plane-cases/" + cases[name].File)
			if err != nil {
				s.t.Fatal(err)
			}
			before, after, _ := strings.Cut(string(data), "\nduties:\n  d: ")
			line, _, _ := strings.Cut(after, "\n")
			fmt.Fprintf(&duties, "  %s: %s\n", name, line)
			text = before
		}
		text = strings.ReplaceAll(text, "material: m1}", "material: m1, depth: 25 m}")
		text = strings.ReplaceAll(text, "metal: m0,", "metal: m0, length: 1 km,")
		l, problems := load.Load(group[0], []byte(text+"\nduties:\n"+duties.String()))
		if l == nil {
			s.t.Fatalf("%s: %v", group[0], problems)
		}
		model := probe.NewModel(l)
		if strings.Contains(group[0], "saturating") {
			model = model.Precise() // the true state, not what it is between
		}
		for k, name := range group {
			d := &l.Duties[k]
			for i := range l.Sensors {
				r, err := model.For(d).Read(&l.Sensors[i], &waveform.Of(l, d).Components[0])
				if err != nil {
					s.t.Fatalf("%s: %v", name, err)
				}
				want := cases[name].Sensors[l.Sensors[i].ID]
				s.vector("depth of 25 m: "+name, "B at "+l.Sensors[i].ID, "mT", geom.Point3{X: want.BxMT[0], Y: want.ByMT[0]}, r.Total, 1e3, 0.01, planeCode)
				s.rows[len(s.rows)-1].Spread = 0.002 * math.Hypot(want.BxMT[0], want.ByMT[0]) // 25 m are not endless
			}
		}
	}
}
