package figure

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/geom"
)

func TestMapRoundTrip(t *testing.T) {
	for _, d := range []Drawing{thruster(), plan(), {}} {
		m := d.Map()
		for _, p := range []geom.Point{{}, {X: 0.0123, Y: -0.0456}, {X: -1, Y: 2}} {
			u, v := m.Unit(p)
			if q := m.Metres(u, v); q.Sub(p).Norm() > 1e-15+1e-14*p.Norm() {
				t.Errorf("%v comes back as %v", p, q)
			}
		}
		var svg map[string]string
		for _, e := range parse(t, Draw(d)) {
			if e.name == "svg" {
				svg = e.attr
			}
		}
		if number(t, svg["data-x0"]) != m.X0 || number(t, svg["data-y0"]) != m.Y0 || number(t, svg["data-per-m"]) != m.PerM {
			t.Errorf("the svg says %v, Map says %v", svg, m)
		}
	}
}

// TestToScale measures in the drawing: the scale bar, a bar of 20 mm by 5 mm, the
// places of sensors and the view.
func TestToScale(t *testing.T) {
	d := thruster()
	d.Shade, d.Flux = nil, nil
	es := parse(t, Draw(d))
	perM := 0.0
	for _, e := range es {
		if e.attr["id"] == "section-scale" {
			p := numbers(t, e.attr["d"])
			perM = (p[3] - p[0]) / number(t, e.attr["data-metres"])
		}
	}
	if math.Abs(perM-d.Map().PerM) > 0.01/0.02 { // two roundings of 0.005 units over 20 mm
		t.Errorf("scale bar has %v units a metre, the drawing %v", perM, d.Map().PerM)
	}
	bars, sensors := 0, 0
	for k, e := range es {
		switch {
		case strings.HasPrefix(e.attr["class"], "fg-bar") && e.name == "path":
			p := numbers(t, e.attr["d"])
			w, h := math.Abs(p[2]-p[0]), math.Abs(p[5]-p[1])
			if math.Abs(w/perM-0.02) > 1e-5 || math.Abs(h/perM-0.005) > 1e-5 {
				t.Errorf("a bar of %v by %v m", w/perM, h/perM)
			}
			bars++
		case e.attr["class"] == "fg-sensor":
			for _, s := range es[k:] {
				if s.name == "circle" {
					q := d.Map().Metres(number(t, s.attr["cx"]), number(t, s.attr["cy"]))
					if q.Sub(d.Sensors[sensors].AtM).Norm() > 0.01/perM {
						t.Errorf("sensor %d at %v", sensors, q)
					}
					break
				}
			}
			sensors++
		case e.attr["id"] == "section-view":
			if w := number(t, e.attr["width"]) / perM; math.Abs(w-0.18) > 1e-4 {
				t.Errorf("the view is %v m wide", w)
			}
		}
	}
	if bars != 3 || sensors != 3 {
		t.Errorf("%d bars and %d sensors", bars, sensors)
	}
}

// numbers returns the coordinates of a path of capital letters.
func numbers(t *testing.T, d string) (out []float64) {
	t.Helper()
	for _, f := range strings.FieldsFunc(d, func(r rune) bool { return r == ' ' || r >= 'A' && r <= 'Z' || r == 'z' }) {
		out = append(out, number(t, f))
	}
	return out
}

// TestSensorAxis: up in metres is up on the paper.
func TestSensorAxis(t *testing.T) {
	d := Drawing{Frame: Frame{ID: "f"}, Sensors: []Sensor{{AtM: geom.Point{}, Axis: geom.Point{X: 1, Y: 2}}}}
	for _, e := range parse(t, Draw(d)) {
		if e.attr["class"] != "fg-axis" || e.attr["marker-end"] == "" {
			continue
		}
		du := number(t, e.attr["x2"]) - number(t, e.attr["x1"])
		dv := number(t, e.attr["y2"]) - number(t, e.attr["y1"])
		if math.Abs(dv/du+2) > 0.01 || math.Abs(math.Hypot(du, dv)-axisUnits) > 0.02 {
			t.Errorf("arrow %v, %v", du, dv)
		}
		return
	}
	t.Error("no arrow")
}

func TestDimensionText(t *testing.T) {
	p, q := geom.Point{X: 0.001, Y: 0.002}, geom.Point{X: 0.004, Y: 0.006}
	for _, c := range []struct {
		side Side
		want string
	}{{Auto, "5 mm"}, {Between, "5 mm"}, {Above, "3 mm"}, {Right, "4 mm"}} {
		if got := (Dimension{FromM: p, ToM: q, Side: c.side}).textOf(); got != c.want {
			t.Errorf("side %d: %s, want %s", c.side, got, c.want)
		}
	}
	if s := (Dimension{FromM: p, ToM: geom.Point{X: 0.004, Y: 0.002}}).sideOf(); s != Below {
		t.Errorf("a level dimension stands at %d", s)
	}
	if s := (Dimension{FromM: p, ToM: geom.Point{X: 0.001, Y: 0.006}}).sideOf(); s != Right {
		t.Errorf("an upright dimension stands at %d", s)
	}
}

// TestCrowd: forty sensors on a small place. Each is named once, in the drawing
// or below it, and no name meets another.
func TestCrowd(t *testing.T) {
	d := Drawing{Frame: Frame{ID: "crowd"}}
	for k := range 40 {
		name := "sensor " + num(float64(100+k))
		d.Sensors = append(d.Sensors, Sensor{Name: name, AtM: geom.Point{X: float64(k%8) * 0.002, Y: float64(k/8) * 0.002}, Axis: geom.Point{Y: 1}})
	}
	var boxes []box
	found := map[string]int{}
	for _, e := range parse(t, Draw(d)) {
		if e.name != "text" {
			continue
		}
		b := textBox(t, e)
		for _, o := range boxes {
			if b.meets(o) {
				t.Errorf("%q meets another text", e.text)
			}
		}
		boxes = append(boxes, b)
		for _, s := range d.Sensors {
			found[s.Name] += strings.Count(e.text, s.Name)
		}
	}
	for _, s := range d.Sensors {
		if found[s.Name] != 1 {
			t.Errorf("%s is named %d times", s.Name, found[s.Name])
		}
	}
}

func TestLegendOfBands(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		log    bool
		want   string
	}{
		{1.1e-4, 0.019, true, "0.0001 0.0002 0.0005 0.001 0.002 0.005 0.01 0.02"},
		{0.03, 0.94, false, "0 0.1 0.2 0.3 0.4 0.5 0.6 0.7 0.8 0.9 1"},
		{1e-9, 1, true, "0.0001 0.0002 0.0005 0.001 0.002 0.005 0.01 0.02 0.05 0.1 0.2 0.5 1"},
		{0.2, 0.2, true, "0.2 0.3"},
		{1.1e-3, 9e-3, true, "0.001 0.0015 0.002 0.003 0.005 0.007 0.01"},
	} {
		levels := bandLevels(c.lo, c.hi, c.log)
		var got []string
		for _, l := range levels {
			got = append(got, significant(l, 3))
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%v to %v: %s, want %s", c.lo, c.hi, s, c.want)
		}
	}
}

// TestShadeSaysMore: samples beyond given levels are marked in the legend.
func TestShadeSaysMore(t *testing.T) {
	d := thruster()
	d.Shade.Levels = []float64{1e-3, 2e-3, 5e-3}
	s := Draw(d)
	if !strings.Contains(s, ">≤ 1<") || !strings.Contains(s, ">≥ 5<") {
		t.Error("the legend hides what lies beyond its levels")
	}
	d.Shade.Levels = []float64{1e-6, 1e-3, 1}
	if s := Draw(d); strings.Contains(s, "≤") || strings.Contains(s, "≥") {
		t.Error("the legend claims samples that are not there")
	}
}

// TestOutsideTheView: a part or a sensor beyond the edge is named below, not
// drawn, and no dimension reaches for it.
func TestOutsideTheView(t *testing.T) {
	d := detail()
	s := Draw(d)
	for _, e := range parse(t, s) {
		if e.name == "circle" && e.attr["class"] == "fg-seat" {
			q := d.Map().Metres(number(t, e.attr["cx"]), number(t, e.attr["cy"]))
			if b := d.ViewM.Grow(1e-4); !b.Contains(q) && number(t, e.attr["cy"]) < d.Map().Y0-d.Map().PerM*d.ViewM.Min.Y {
				t.Errorf("a sensor at %v", q)
			}
		}
	}
	if !strings.Contains(s, ">Not in this view: sensor-V: 3.2 % over limit, sensor-W, bar V, bar W, shield V, shield W<") {
		t.Error("what is outside is not named")
	}
	if strings.Contains(s, ">50 mm<") {
		t.Error("a dimension runs out of the view")
	}
}
