package probe_test

import (
	"fmt"
	"io/fs"
	"math"
	"strconv"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/probe"
)

// table returns the rows of a file of fixtures/reference with comma between cells.
func table(t *testing.T, name string) [][]string {
	t.Helper()
	b, err := fs.ReadFile(fixtures.FS, "reference/"+name)
	if err != nil {
		t.Fatal(err)
	}
	var out [][]string
	for _, line := range strings.Split(string(b), "\n") {
		if line != "" && !strings.HasPrefix(line, "#") {
			out = append(out, strings.Split(line, ","))
		}
	}
	return out[1:]
}

// inches reads 1/8 or 1.5, in millimetres.
func inches(t *testing.T, s string) float64 { return 25.4 * fraction(t, s) }

func fraction(t *testing.T, s string) float64 {
	t.Helper()
	top, under, ok := strings.Cut(s, "/")
	if !ok {
		under = "1"
	}
	a, errA := strconv.ParseFloat(top, 64)
	b, errB := strconv.ParseFloat(under, 64)
	if errA != nil || errB != nil {
		t.Fatal(s)
	}
	return a / b
}

// riseOf returns the rise of one copper bar with a direct current.
func riseOf(t *testing.T, widthMM, thicknessMM, currentA float64) probe.Rise {
	t.Helper()
	l := mustLoad(t, fmt.Sprintf(`layout: 1
bars: {A: {section: {width: %.6g mm, thickness: %.6g mm}, at: [0 mm, 0 mm], metal: copper}}
duties: {d: {kind: continuous, currents: {A: {dc: %.9g A}}}}
`, widthMM, thicknessMM, currentA))
	m := probe.NewModel(l)
	h, err := m.Heat(0, &l.Duties[0])
	if err != nil {
		t.Fatal(err)
	}
	return m.Rise(0, h)
}

// band collects ratios.
type band struct {
	low, high, sum float64
	n              int
}

func (b *band) add(r float64) {
	if b.n == 0 {
		b.low, b.high = r, r
	}
	b.low, b.high, b.sum, b.n = math.Min(b.low, r), math.Max(b.high, r), b.sum+r, b.n+1
}

func (b band) String() string {
	return fmt.Sprintf("%d rows, computed over table %.3f to %.3f, mean %.3f", b.n, b.low, b.high, b.sum/float64(b.n))
}

// Both ampacity tables: the rise that is computed for the current of a row against the
// rise of its column. Their skin effect is added where the table says it. The bounds are
// what README and the rule say of the formula.
func TestRiseAgainstAmpacityTables(t *testing.T) {
	var cda, bare, painted band
	for _, row := range table(t, "ampacity-copper.csv") {
		for k, rise := range []float64{30, 50, 65} {
			skin, amps := fraction(t, row[3+2*k]), fraction(t, row[4+2*k])
			cda.add(riseOf(t, inches(t, row[1]), inches(t, row[0]), amps*math.Sqrt(skin)).K / rise)
		}
	}
	for _, row := range table(t, "ampacity-din43671.csv") {
		w, thick := fraction(t, row[0]), fraction(t, row[1])
		painted.add(riseOf(t, w, thick, fraction(t, row[2])).PaintedK / 30)
		bare.add(riseOf(t, w, thick, fraction(t, row[3])).K / 30)
	}
	for _, c := range []struct {
		name      string
		b         band
		low, high float64
	}{
		{"C11000", cda, 0.91, 1.07},
		{"DIN 43671, bare", bare, 0.80, 0.90},
		{"DIN 43671, painted", painted, 0.80, 0.90},
	} {
		t.Logf("%s: %v", c.name, c.b)
		if !(c.b.low > c.low && c.b.high < c.high) || c.b.n < 24 {
			t.Errorf("%s: %v, want within %g to %g", c.name, c.b, c.low, c.high)
		}
	}
	// The same in currents of DIN 43671: 100 x 10 mm carries 1490 A at 30 K.
	if r := riseOf(t, 100, 10, 3900); !(r.K > 130) {
		t.Errorf("3.9 kA in 100 x 10 mm: %.1f K", r.K)
	}
}

// What must hold whatever the numbers: more current is hotter, paint cooler, bright and
// flat hotter, a neighbour in front hotter, and two bars joined share by conductance.
func TestRiseOrders(t *testing.T) {
	last := 0.0
	for _, amps := range []float64{100, 300, 600, 1000, 3000, 30000} {
		r := riseOf(t, 60, 5, amps)
		if !(r.K > last) || !(r.PaintedK < r.K && r.K < r.BrightK && r.K < r.FlatK) && r.K < 1000 {
			t.Errorf("%g A: %+v", amps, r)
		}
		last = r.K
	}
	if last != 1000 {
		t.Errorf("30 kA: %g K, want the end of the search", last)
	}
	rise := func(rest string) (probe.Rise, probe.Heat) {
		l := mustLoad(t, `layout: 1
bars:
  A: {section: {width: 60 mm, thickness: 5 mm}, at: [0 mm, 0 mm], metal: copper}
`+rest)
		m := probe.NewModel(l)
		h, err := m.Heat(0, &l.Duties[0])
		if err != nil {
			t.Fatal(err)
		}
		return m.Rise(0, h), h
	}
	const duty = "duties: {d: {kind: continuous, currents: {A: {dc: 1000 A}}}}\n"
	alone, _ := rise(duty)
	before := 1e9
	for _, gapMM := range []float64{1, 3, 6, 20, 60} {
		r, _ := rise(fmt.Sprintf("  B: {section: {width: 60 mm, thickness: 5 mm}, at: [0 mm, %g mm], metal: copper}\n",
			gapMM+5) + strings.Replace(duty, "A: {dc: 1000 A}", "A: {dc: 1000 A}, B: {dc: 1000 A}", 1)) // as warm: nothing passes
		if !(r.K < before && r.K > alone.K) {
			t.Errorf("a bar %g mm in front: %.2f K, nearer %.2f, alone %.2f", gapMM, r.K, before, alone.K)
		}
		before = r.K
	}
	pair := "  B: {section: {width: 20 mm, thickness: 5 mm}, at: [0 mm, 40 mm], metal: copper}\nbonded: [A, B]\n"
	if _, h := rise(pair + duty); !h.Shared || !(math.Abs(h.RMSA-750) < 1e-9) {
		t.Errorf("three quarters of 1000 A: %+v", h)
	}
	if _, h := rise(pair + strings.Replace(duty, "A: {dc: 1000 A}", "B: {dc: 1000 A}",
		1)); !(math.Abs(h.RMSA-750) < 1e-9) {
		t.Errorf("named by the other: %+v", h)
	}
	if _, h := rise(pair + strings.Replace(duty, "currents: {A: {dc: 1000 A}}",
		"frequency: 50 Hz, currents: {A: {rms: 1000 A}}", 1)); !(h.Factor > 0.3 && h.Factor < 3) ||
		math.Abs(h.Factor-1) < 1e-3 {
		t.Errorf("at 50 Hz the field shares, not the conductance: %+v", h)
	}
}

// A long shield round a bar warms it about as a screen does, which halves what leaves; a short one
// does not.
func TestRiseInsideAShield(t *testing.T) {
	rise := func(inner, depth string) float64 {
		l := mustLoad(t, fmt.Sprintf(`layout: 1
bars: {A: {section: {diameter: 10 mm}, at: [0 mm, 0 mm], metal: copper}}
shields: {R: {form: {ring: {inner: %s, wall: 2 mm}}, at: [0 mm, 0 mm], material: low-carbon-steel, depth: %s}}
duties: {d: {kind: continuous, currents: {A: {dc: 200 A}}}}
`, inner, depth))
		m := probe.NewModel(l)
		h, err := m.Heat(0, &l.Duties[0])
		if err != nil {
			t.Fatal(err)
		}
		return m.Rise(0, h).K
	}
	free, near, far := rise("14 mm", "40 mm"), rise("14 mm", "900 mm"), rise("40 mm", "900 mm")
	if !(free < near && free < far && far < 2.2*free && near < 2.2*free) {
		t.Errorf("short shield %.1f K, long and close %.1f K, long and wide %.1f K", free, near, far)
	}
}
