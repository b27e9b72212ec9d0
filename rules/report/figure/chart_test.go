package figure

import (
	"math"
	"math/rand"
	"strings"
	"testing"
)

func TestRoundStep(t *testing.T) {
	for v, want := range map[float64]float64{1: 1, 1.01: 2, 2: 2, 2.2: 5, 0.3: 0.5, 51: 100, 7e-9: 1e-8, 1000: 1000} {
		if got := roundStep(v); math.Abs(got-want) > 1e-12*want {
			t.Errorf("%v: %v, want %v", v, got, want)
		}
	}
}

// TestTicks: whatever the range, ticks lie in it, rise, are as many as allowed,
// and a widened axis begins and ends with one.
func TestTicks(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	for range 3000 {
		a := (r.Float64() - 0.5) * math.Pow(10, float64(r.Intn(24)-12))
		b := a + math.Abs(a)*math.Pow(10, float64(r.Intn(8)-5))
		lo, hi := widen(a, b, 6)
		ticks, step := linearTicks(lo, hi, 8)
		if lo > a+1e-9*step || hi < b-1e-9*step {
			t.Fatalf("%v to %v: axis %v to %v", a, b, lo, hi)
		}
		if n := len(ticks); n < 3 || n > 8 || math.Abs(ticks[0]-lo) > 1e-6*step || math.Abs(ticks[n-1]-hi) > 1e-6*step {
			t.Fatalf("%v to %v, step %v: ticks %v", lo, hi, step, ticks)
		}
		texts := map[string]bool{}
		for k, v := range ticks {
			if k > 0 && math.Abs(v-ticks[k-1]-step) > 1e-6*step {
				t.Fatalf("ticks %v", ticks)
			}
			s := tickText(v, step)
			if texts[s] {
				t.Fatalf("%v is written %q as the tick before", v, s)
			}
			texts[s] = true
		}
		a = math.Pow(10, r.Float64()*20-10)
		b = a * math.Pow(10, r.Float64()*8)
		lo, hi = widenLog(a, b)
		if lo > a*(1+1e-9) || hi < b*(1-1e-9) || hi <= lo {
			t.Fatalf("%v to %v: logarithmic axis %v to %v", a, b, lo, hi)
		}
		ticks = logTicks(lo, hi, 9)
		if len(ticks) < 2 && hi/lo > 11 || len(ticks) > 9 {
			t.Fatalf("%v to %v: ticks %v", lo, hi, ticks)
		}
		for k, v := range ticks {
			if v < lo*(1-1e-6) || v > hi*(1+1e-6) || k > 0 && v <= ticks[k-1] {
				t.Fatalf("%v to %v: ticks %v", lo, hi, ticks)
			}
		}
	}
}

func TestTickText(t *testing.T) {
	for _, c := range []struct {
		v, step float64
		want    string
	}{{0.30000000000000004, 0.1, "0.3"}, {-0.5, 0.5, "-0.5"}, {20, 5, "20"}, {12345, 5, "12\u00a0345"}, {1500, 500, "1500"}, {2.5e7, 5e6, "2.5e7"}, {0, 1e7, "0"}, {3e-5, 1e-5, "3e-5"}} {
		if got := tickText(c.v, c.step); got != c.want {
			t.Errorf("%v by %v: %q, want %q", c.v, c.step, got, c.want)
		}
	}
}

func TestScaleFor(t *testing.T) {
	for _, c := range []struct {
		unit    string
		largest float64
		perSI   float64
		want    string
	}{
		{"T", 0.019, 1e3, "x / mT"}, {"T/A", 12e-6, 1e6, "x / (µT/A)"}, {"Hz", 16e3, 1e-3, "x / kHz"}, {"m", 5000, 1, "x / m"},
		{"m", 0.004, 1e3, "x / mm"}, {"rad", 2, 180 / math.Pi, "x / °"}, {"%", 0.5, 100, "x / %"}, {"1", 1e6, 1, "x"},
		{"m2", 1e-6, 1, "x / m2"}, {"K", 1e-3, 1, "x / K"}, {"A", 0, 1, "x / A"}, {"A", math.NaN(), 1, "x / A"},
	} {
		s := scaleFor(c.unit, c.largest)
		if math.Abs(s.perSI/c.perSI-1) > 1e-12 || s.titled("x") != c.want {
			t.Errorf("%v %s: %v %q, want %v %q", c.largest, c.unit, s.perSI, s.titled("x"), c.perSI, c.want)
		}
	}
}

// TestAxisIsExact reads points back from the drawing: the ends of the lines of
// the two samples, linear and logarithmic.
func TestAxisIsExact(t *testing.T) {
	for _, c := range []Chart{chain(), response()} {
		plan := c.plan()
		var paths []string
		for _, e := range parse(t, DrawChart(c)) {
			if e.attr["class"] == "fg-line" {
				paths = append(paths, e.attr["d"])
			}
		}
		n := 0
		for k, p := range c.Panels {
			y := plan.y[k]
			for _, s := range p.Series {
				d := numbers(t, paths[n])
				n++
				last := len(s.X) - 1
				for _, end := range []struct{ u, v, x, y float64 }{
					{d[0], d[1], s.X[0], s.Y[0]},
					{d[len(d)-2], d[len(d)-1], s.X[last], s.Y[last]},
				} {
					if x := back(plan.x, end.u); math.Abs(plan.x.unit(x)-plan.x.unit(end.x)) > 0.006 {
						t.Errorf("x reads %v, is %v", x, end.x)
					}
					if v := back(y, end.v); math.Abs(y.unit(v)-y.unit(end.y)) > 0.006 {
						t.Errorf("y reads %v, is %v", v, end.y)
					}
				}
			}
		}
		if n != len(paths) {
			t.Errorf("%d lines for %d series", len(paths), n)
		}
	}
}

// back reads an axis as a person does: between two ticks, by their places.
func back(r ruler, u float64) float64 {
	a, b := r.ticks[0], r.ticks[len(r.ticks)-1]
	f := (u - r.unit(a)) / (r.unit(b) - r.unit(a))
	if r.log {
		return a * math.Pow(b/a, f)
	}
	return a + f*(b-a)
}

// TestTicksStandAtTheirValues: the grid lines of the linear sample are evenly
// spread and the last and first are the frame.
func TestTicksStandAtTheirValues(t *testing.T) {
	plan := chain().plan()
	y := plan.y[0]
	if y.lo != 0 || y.hi != 5 || y.unit(0) != plan.panels[0].v1 || y.unit(5) != plan.panels[0].v0 {
		t.Errorf("output axis from %v to %v", y.lo, y.hi)
	}
	if y.unit(1) <= y.unit(2) {
		t.Error("more is lower on the paper")
	}
	if got := plan.x.text(plan.x.ticks[0]) + plan.x.title; got != "-1.5current / kA" {
		t.Errorf("axis across says %q", got)
	}
	f := response().plan().x
	if f.unit(1) != f.at0 || math.Abs(f.unit(1e5)-f.at1) > 1e-9 || math.Abs(f.unit(100)-f.at0-0.4*(f.at1-f.at0)) > 1e-9 {
		t.Errorf("on a logarithmic axis from 1 to 100000, 100 stands at %v of %v to %v", f.unit(100), f.at0, f.at1)
	}
	phase := response().plan().y[1]
	if phase.title != "phase / °" || math.Abs(phase.step*180/math.Pi-20) > 1e-9 {
		t.Errorf("phase axis %q by %v", phase.title, phase.step)
	}
}

// TestBrokenLine: a value that is not known is a gap, and one that a logarithm
// does not have is left out.
func TestBrokenLine(t *testing.T) {
	c := Chart{Frame: Frame{ID: "c"}, X: Axis{Log: true}, Panels: []Panel{{Series: []Series{{
		X: []float64{-1, 1, 2, 3, 4, 5}, Y: []float64{9, 1, 2, math.NaN(), 1, 2},
	}}}}}
	for _, e := range parse(t, DrawChart(c)) {
		if e.attr["class"] == "fg-line" {
			if n := strings.Count(e.attr["d"], "M"); n != 2 {
				t.Errorf("%d pieces: %s", n, e.attr["d"])
			}
			return
		}
	}
	t.Error("no line")
}

// TestWildValues: no data however odd break a chart.
func TestWildValues(t *testing.T) {
	r := rand.New(rand.NewSource(5))
	wild := []float64{0, -1, math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64, -math.MaxFloat64, math.SmallestNonzeroFloat64, 1e-300, 1e29, -1e29, 1, 1 + 1e-15, 3e-31}
	pick := func() float64 { return wild[r.Intn(len(wild))] }
	for range 500 {
		var s Series
		for range r.Intn(6) {
			s.X, s.Y = append(s.X, pick()), append(s.Y, pick())
		}
		c := Chart{Frame: Frame{ID: "c"}, X: Axis{Log: r.Intn(2) == 0, Unit: "A", Min: pick(), Max: pick()}, Panels: []Panel{{
			Y: Axis{Log: r.Intn(2) == 0, Unit: "rad"}, Series: []Series{s},
			Marks: []Mark{{At: pick(), Label: "m"}, {Upright: true, At: pick(), Label: "n"}},
			Bands: []Band{{From: pick(), To: pick(), Label: "b"}, {Upright: true, From: pick(), To: pick(), Label: "d"}},
		}}}
		d := thruster()
		d.Flux = nil
		d.Shade = &Shade{Log: r.Intn(2) == 0, Grid: Grid{BoxM: d.ViewM, NX: 3, NY: 2, Value: []float64{pick(), pick(), pick(), pick(), pick(), pick()}}}
		d.Flux = &Flux{Grid: d.Shade.Grid}
		d.Sensors[1].AtM.Y, d.Sensors[2].Axis.X, d.Dimensions[1].ToM.X = pick(), pick(), pick()
		out := DrawChart(c) + Draw(d)
		parse(t, out)
		if strings.Contains(out, "NaN") || strings.Contains(out, "Inf") {
			k := max(strings.Index(out, "NaN"), strings.Index(out, "Inf"))
			t.Fatalf("%s\n%+v", out[max(0, k-200):k+20], c)
		}
	}
}
