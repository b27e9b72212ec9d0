package probe_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/waveform"
)

// randomRow is n turned bars in a row with a sensor above each; mirror sends x
// to -x, and turns with it.
type randomRow struct {
	n                int
	x, y, w, h, turn []float64
	sx, sy, axis     []float64
}

func newRow(r *rand.Rand, n int) randomRow {
	var out randomRow
	out.n = n
	for i := range n {
		out.x = append(out.x, float64(i)*45+4*r.Float64())
		out.y = append(out.y, 6*r.NormFloat64())
		out.w = append(out.w, 8+15*r.Float64())
		out.h = append(out.h, 2+4*r.Float64())
		out.turn = append(out.turn, 40*r.NormFloat64())
		out.sx = append(out.sx, out.x[i]+5*r.NormFloat64())
		out.sy = append(out.sy, out.y[i]+16+6*r.Float64())
		out.axis = append(out.axis, 180+50*r.NormFloat64())
	}
	return out
}

func (o randomRow) yaml(mirror bool) string {
	sign := 1.0
	if mirror {
		sign = -1
	}
	var b strings.Builder
	b.WriteString("layout: 1\nbars:\n")
	for i := range o.n {
		fmt.Fprintf(&b, "  b%d: {section: {width: %.12g mm, thickness: %.12g mm}, at: [%.12g mm, %.12g mm], turn: %.12g deg, metal: copper}\n",
			i, o.w[i], o.h[i], sign*o.x[i], o.y[i], math.Mod(sign*o.turn[i], 360))
	}
	b.WriteString("sensors:\n")
	for i := range o.n {
		// Flux density is an axial vector: mirrored at x = 0 its x component stays and its y
		// component turns round, together with the current, which runs along z.
		axis := o.axis[i]
		if mirror {
			axis = -axis
		}
		fmt.Fprintf(&b, "  s%d: {reads: b%d, at: [%.12g mm, %.12g mm], axis: %.12g deg}\n", i, i, sign*o.sx[i], o.sy[i], math.Mod(axis, 360))
	}
	return b.String()
}

const seed = 20260

// Mirroring a layout at x = 0 leaves what each sensor reads of each bar.
func TestMirroredLayoutReadsTheSame(t *testing.T) {
	r := rand.New(rand.NewPCG(seed, 1))
	for trial := range 20 {
		row := newRow(r, 3)
		a, errA := probe.NewModel(mustLoad(t, row.yaml(false))).Coupling(0)
		b, errB := probe.NewModel(mustLoad(t, row.yaml(true))).Coupling(0)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		for i := range a.PerCircuit {
			for j := range a.PerCircuit[i] {
				x, y := a.PerCircuit[i][j].V, b.PerCircuit[i][j].V
				if cmplx.Abs(x-y) > 1e-9*cmplx.Abs(a.PerCircuit[i][i].V) {
					t.Errorf("seed %d, trial %d: sensor %d, bar %d: %g, mirrored %g", seed, trial, i, j, x, y)
				}
			}
		}
	}
}

// Reciprocity: two thin round bars a and b and two sensors at each other's place
// read the same of each other, with opposite sign along one common axis.
func TestReciprocity(t *testing.T) {
	r := rand.New(rand.NewPCG(seed, 2))
	for range 20 {
		dx, dy, axis := 20+60*r.Float64(), 40*r.NormFloat64(), 360*r.Float64()
		yaml := fmt.Sprintf(`layout: 1
bars:
  a: {section: {diameter: 1 mm}, at: [0 mm, 0 mm], metal: copper}
  b: {section: {diameter: 1 mm}, at: [%.9g mm, %.9g mm], metal: copper}
sensors:
  sa: {reads: a, at: [3 mm, 4 mm], axis: %.9g deg}
  sb: {reads: b, at: [%.9g mm, %.9g mm], axis: %.9g deg}
`, dx, dy, axis, dx-3, dy-4, axis)
		c, err := probe.NewModel(mustLoad(t, yaml)).Coupling(0)
		if err != nil {
			t.Fatal(err)
		}
		if x, y := c.PerCircuit[0][1].V, c.PerCircuit[1][0].V; cmplx.Abs(x+y) > 1e-9*cmplx.Abs(c.PerCircuit[0][0].V) {
			t.Errorf("seed %d: %g and %g", seed, x, y)
		}
	}
}

// Superposition: a duty with all currents reads the sum of duties with one each.
func TestSuperposition(t *testing.T) {
	r := rand.New(rand.NewPCG(seed, 3))
	row := newRow(r, 3)
	l := mustLoad(t, row.yaml(false)+`duties:
  all: {kind: continuous, frequency: 1 Hz, currents: {b0: {peak: 100 A, phase: 20 deg}, b1: {rms: 30 A, phase: -100 deg}, b2: {peak: 80 A}}}
  one: {kind: continuous, frequency: 1 Hz, currents: {b0: {peak: 100 A, phase: 20 deg}}}
  two: {kind: continuous, frequency: 1 Hz, currents: {b1: {rms: 30 A, phase: -100 deg}}}
  three: {kind: continuous, frequency: 1 Hz, currents: {b2: {peak: 80 A}}}
`)
	m := probe.NewModel(l)
	for i := range l.Sensors {
		var sum [4]complex128
		for d := range l.Duties {
			split, err := m.Read(&l.Sensors[i], &waveform.Of(l, &l.Duties[d]).Components[0])
			if err != nil {
				t.Fatal(err)
			}
			sum[d] = split.Own.V + split.Stray.V
		}
		if d := sum[0] - sum[1] - sum[2] - sum[3]; cmplx.Abs(d) > 1e-12*cmplx.Abs(sum[0]) {
			t.Errorf("sensor %d: %g left of %g", i, d, sum[0])
		}
	}
}

// The inverse times the matrix is one: the currents come back.
func TestCouplingInverse(t *testing.T) {
	r := rand.New(rand.NewPCG(seed, 4))
	for _, n := range []int{1, 2, 3, 6} {
		l := mustLoad(t, newRow(r, n).yaml(false))
		c, err := probe.NewModel(l).Coupling(0)
		if err != nil || c.Fit == nil {
			t.Fatalf("%d bars: %v, %s", n, err, c.NoInverse)
		}
		for i := range n {
			for j := range n {
				var sum complex128
				for k := range n {
					sum += c.Fit.Inverse[i][k] * c.PerCircuit[k][c.Circuits[j]].V
				}
				want := complex128(0)
				if i == j {
					want = 1
				}
				if cmplx.Abs(sum-want) > 1e-12 {
					t.Errorf("%d bars: (%d, %d) of inverse times matrix is %g", n, i, j, sum)
				}
			}
		}
	}
}

// Two sensors on one bar are a check on each other: both enter, and what comes back is its current.
func TestCouplingOfABarReadTwice(t *testing.T) {
	const twice = `layout: 1
bars: {a: {section: {diameter: 8 mm}, at: [0 mm, 0 mm], metal: copper}}
sensors: {s: {reads: a, at: [0 mm, 9 mm], axis: 180 deg}, t: {reads: a, at: [9 mm, 0 mm], axis: 90 deg}}
`
	c, err := probe.NewModel(mustLoad(t, twice)).Coupling(0)
	if err != nil || c.Fit == nil || len(c.Circuits) != 1 || len(c.Fit.Inverse) != 1 {
		t.Fatalf("a bar read twice: %v %+v", err, c)
	}
	a, b := c.Fit.Inverse[0][0]*c.PerCircuit[0][0].V, c.Fit.Inverse[0][1]*c.PerCircuit[1][0].V
	if cmplx.Abs(a+b-1) > 1e-12 || !(real(a) > 0.1 && real(b) > 0.1) {
		t.Errorf("of one ampere %g and %g come back", a, b)
	}
}

// Two sensors at one place with one axis read the same of both bars.
func TestCouplingWithoutInverse(t *testing.T) {
	const same = `layout: 1
bars:
  a: {section: {diameter: 8 mm}, at: [0 mm, 0 mm], metal: copper}
  b: {section: {diameter: 8 mm}, at: [20 mm, 0 mm], metal: copper}
sensors: {s: {reads: a, at: [10 mm, 9 mm], axis: 180 deg}, t: {reads: b, at: [10 mm, 9 mm], axis: 180 deg}}
`
	c, err := probe.NewModel(mustLoad(t, same)).Coupling(0)
	if err != nil || c.Fit != nil || c.NoInverse != `the sensors do not tell apart what flows in bar "a" and bar "b"` {
		t.Errorf("two sensors that read the same: %v %+v", err, c)
	}
}

// Placement against a search over the whole box of tolerances with the closed
// form: nothing inside the box may move the reading further.
func TestPlacementBoundsTheBox(t *testing.T) {
	l := mustLoad(t, `layout: 1
bars:
  a: {section: {width: 15 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper}
  b: {section: {width: 15 mm, thickness: 4 mm}, at: [25 mm, 0 mm], metal: copper}
sensors: {s: {reads: a, at: [1 mm, 4.5 mm], axis: 175 deg, placement: {x: 0.5 mm, y: 0.3 mm, tilt: 2 deg}}}
duties: {d: {kind: continuous, currents: {a: {dc: 100 A}, b: {dc: -70 A}}}}
`)
	read := func(x, y, tilt float64) (total, own float64) {
		sin, cos := math.Sincos((175 + tilt) * math.Pi / 180)
		a := closedform.RectangleB(geom.Point{X: x, Y: y}, 15e-3, 4e-3, 100)
		b := closedform.RectangleB(geom.Point{X: x - 25e-3, Y: y}, 15e-3, 4e-3, -70)
		own = a.X*cos + a.Y*sin
		return own + b.X*cos + b.Y*sin, own
	}
	nominal, own := read(1e-3, 4.5e-3, 0)
	worst := 0.0
	const n = 12
	for i := -n; i <= n; i++ {
		for j := -n; j <= n; j++ {
			for k := -n; k <= n; k++ {
				v, _ := read(1e-3+0.5e-3*float64(i)/n, 4.5e-3+0.3e-3*float64(j)/n, 2*float64(k)/n)
				worst = math.Max(worst, math.Abs(v-nominal)/math.Abs(own))
			}
		}
	}
	p, err := probe.NewModel(l).Placement(&l.Sensors[0], &l.Duties[0])
	if err != nil {
		t.Fatal(err)
	}
	near(t, "worst of the box", p.Total.Value, worst, 1e-6)
	// One tolerance alone: x, the larger side.
	a, _ := read(1.5e-3, 4.5e-3, 0)
	b, _ := read(0.5e-3, 4.5e-3, 0)
	near(t, "x alone", p.Parts[0].Change, math.Max(math.Abs(a-nominal), math.Abs(b-nominal))/math.Abs(own), 1e-6)
	near(t, "root sum of squares", p.Combined, math.Sqrt(p.Parts[0].Change*p.Parts[0].Change+p.Parts[1].Change*p.Parts[1].Change+p.Parts[2].Change*p.Parts[2].Change), 1e-12)
	if got := len(probe.NewModel(l).WithinTolerance(&l.Sensors[0])); got != 27 {
		t.Errorf("%d places, want 27", got)
	}
}

// Alignment against the filament: beside a round bar the field circles it.
func TestAlignmentRoundBar(t *testing.T) {
	for _, deg := range []float64{0, 37, 90, 200, 311} {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		l := mustLoad(t, fmt.Sprintf(`layout: 1
bars: {a: {section: {diameter: 10 mm}, at: [0 mm, 0 mm], metal: copper}}
sensors: {s: {reads: a, at: [%.12g mm, %.12g mm], axis: 120 deg}}
`, 12*cos, 12*sin))
		a, err := probe.NewModel(l).Alignment(&l.Sensors[0])
		if err != nil {
			t.Fatal(err)
		}
		best := (deg + 90) * math.Pi / 180
		if d := math.Remainder(a.BestRad-best, 2*math.Pi); math.Abs(d) > 1e-9 {
			t.Errorf("at %g deg: best axis %g rad, want %g", deg, a.BestRad, best)
		}
		want := math.Abs(math.Cos(2*math.Pi/3 - best))
		if math.Abs(a.Share.Value-want) > 1e-9 {
			t.Errorf("at %g deg: share %g, want %g", deg, a.Share.Value, want)
		}
		near(t, "own field", a.OwnT, 2e-7/12e-3, 1e-6) // B = μ0/(2πr) outside a round bar
		if a.Neighbour != layout.None {
			t.Errorf("a neighbour of a lone bar: %d", a.Neighbour)
		}
	}
}

// Foreign sources against their closed forms, on an axis that none of them favours.
func TestAmbientAgainstClosedForms(t *testing.T) {
	l := mustLoad(t, `layout: 1
bars: {a: {section: {diameter: 10 mm}, at: [0 mm, 0 mm], metal: copper}}
sensors: {s: {reads: a, at: [0 mm, 12 mm, 5 mm], axis: [-0.6, 0.48, 0.64]}}
surroundings:
  wires: {w: {at: [40 mm, 70 mm], rms: 20 A, frequency: 50 Hz}}
  magnets:
    disc: {form: {disc: {diameter: 6 mm, thickness: 2 mm}}, at: [-30 mm, 20 mm, 1 mm], magnetised: 30 deg, remanence: 1.2 T}
    block: {form: {block: {width: 8 mm, height: 4 mm, depth: 10 mm}}, at: [10 mm, 60 mm], magnetised: [0, 0, 1], remanence: 0.4 T}
`)
	list, total, err := probe.NewModel(l).Ambient(&l.Sensors[0])
	if err != nil {
		t.Fatal(err)
	}
	u := geom.Point3{X: -0.6, Y: 0.48, Z: 0.64}
	// Filament: μ0 I/(2πr) at right angles to r, I = 20·√2 A.
	rx, ry := -40e-3, -58e-3
	size := 2e-7 * 20 * math.Sqrt2 / (rx*rx + ry*ry)
	wire := math.Abs(u.X*-ry*size + u.Y*rx*size)
	sin, cos := math.Sincos(math.Pi / 6)
	disc := closedform.DiscMagnetB(geom.Point3{X: 30e-3, Y: -8e-3, Z: 4e-3}, geom.Point3{X: cos, Y: sin}, 6e-3, 2e-3, 1.2)
	block := closedform.BlockMagnetB(geom.Point3{X: -10e-3, Y: -48e-3, Z: 5e-3}, geom.Point3{X: 8e-3, Y: 4e-3, Z: 10e-3}, geom.Point3{Z: 0.4})
	want := map[string]float64{"Earth": 65e-6, `wire "w"`: wire, `magnet "disc"`: math.Abs(disc.Dot(u)),
		`magnet "block"`: math.Abs(block.Dot(u))}
	if len(list) != len(want) {
		t.Fatalf("%d sources: %+v", len(list), list)
	}
	sum := 0.0
	for _, o := range list {
		near(t, o.Name, o.AxisT, want[o.Name], 1e-9)
		near(t, o.Name+" in amperes", o.Amperes.Value, want[o.Name]/(2e-7/12e-3*0.6), 1e-6)
		sum += o.Amperes.Value
	}
	near(t, "sum", total.Value, sum, 1e-12)
}

// The magnetic moment leads far off: a disc on its axis makes μ0 m/(2πr³), here
// J V/(2πr³), for r far above its size (J. D. Jackson, Classical
// Electrodynamics, 3rd ed., section 5.6).
func TestAmbientMagnetFarOff(t *testing.T) {
	l := mustLoad(t, `layout: 1
bars: {a: {section: {diameter: 10 mm}, at: [0 mm, 0 mm], metal: copper}}
sensors: {s: {reads: a, at: [0 mm, 12 mm], axis: 180 deg}}
surroundings: {magnets: {m: {form: {disc: {diameter: 6 mm, thickness: 2 mm}}, at: [300 mm, 12 mm], magnetised: 0 deg, remanence: 1.2 T}}}
`)
	list, _, err := probe.NewModel(l).Ambient(&l.Sensors[0])
	if err != nil {
		t.Fatal(err)
	}
	near(t, "dipole", list[1].AxisT, 1.2*math.Pi*9e-6*2e-3/(2*math.Pi*27e-3), 1e-3)
}

// A sensor that reads nothing of its bar has no scale in amperes: unknown, never zero.
func TestNoOwnReadingIsUnknown(t *testing.T) {
	l := mustLoad(t, `layout: 1
bars: {a: {section: {diameter: 10 mm}, at: [0 mm, 0 mm], metal: copper}, b: {section: {diameter: 10 mm}, at: [30 mm, 0 mm], metal: copper}}
sensors: {s: {reads: a, at: [0 mm, 12 mm], axis: 90 deg, placement: {x: 1 mm}}}
duties: {d: {kind: continuous, currents: {a: {dc: 1 A}, b: {dc: 1 A}}}}
`)
	m, s, d := probe.NewModel(l), &l.Sensors[0], &l.Duties[0]
	_, _, ambient := m.Ambient(s)
	_, stray := m.Stray(s, d)
	_, placed := m.Placement(s, d)
	for name, err := range map[string]error{"ambient": ambient, "stray": stray, "placement": placed} {
		if !isUnknown(err) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
