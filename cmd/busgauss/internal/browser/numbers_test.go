package browser

import (
	"encoding/json"
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"busgauss/model/si"
)

func write(t *testing.T, dir, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, layoutName), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// read is what hovering shows of a place.
type read struct {
	XMm, YMm, ZMm, Bx, By, Text string
}

// block is what field prints of a duty at a frequency: a row for each place.
type block struct {
	name string
	rows []string
}

var wide = regexp.MustCompile(`  +`)

// blocksOf reads the output of field.
func blocksOf(out string) (blocks []block) {
	walls := false // the rows that follow are those of shields
	for line := range strings.Lines(out) {
		line = strings.TrimSuffix(line, "\n")
		if rest, ok := strings.CutPrefix(line, layoutName+": duty "); ok {
			name, _, _ := strings.Cut(rest, ": ")
			blocks = append(blocks, block{name: name})
			walls = false
		} else if strings.HasPrefix(line, "  shield ") {
			walls = true
		} else if len(blocks) > 0 && !walls && strings.HasPrefix(line, "  ") {
			last := &blocks[len(blocks)-1]
			last.rows = append(last.rows, line)
		}
	}
	return blocks
}

// fieldName is what field calls a frame of the page.
func fieldName(frame string) string {
	_, name, _ := strings.Cut(frame, " duty ")
	return strings.Replace(name, ", direct current", ", direct, 0 Hz", 1)
}

// nearer is by how much the place that is named is further from the pointer than the
// nearest that was computed, in millimetres.
const nearer = `(function (x, y) {
	var svg = document.querySelector("figure.frame:not(.off) svg.fg"), d = svg.dataset, r = document.getElementById("hover-readout").dataset;
	var q = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM().inverse());
	var u = 1000 * (q.x - d.x0) / d.perM, v = 1000 * (d.y0 - q.y) / d.perM;
	var least = Math.min.apply(null, JSON.parse(document.getElementById("data").textContent).points.map(function (p) { return Math.hypot(p[0] - u, p[1] - v); }));
	return Math.hypot(r.xMm - u, r.yMm - v) - least;
})(%g, %g)`

// Moving the pointer over the section shows the texts that field prints at the place
// that is named, for every duty and frequency. A component below 1e-10 of the field is
// noise of rounding, which the page shows as nothing.
func TestHoverIsField(t *testing.T) {
	each(t, func(t *testing.T, s sample, html string) {
		dir := t.TempDir()
		write(t, dir, source(s.name))
		b := open(t, html)
		frames := eval[[]string](t, b, `Array.from(document.getElementById("pick-frame").options, function (o) { return o.textContent; })`)
		shown := make([][]read, len(frames))
		args := []string{"field", layoutName}
		for i := range frames {
			eval[bool](t, b, fmt.Sprintf(`(function () {
				var pick = document.getElementById("pick-frame");
				pick.value = %d;
				pick.dispatchEvent(new Event("change"));
				document.querySelector("figure.frame:not(.off) svg.fg").scrollIntoView({ block: "center" });
				return true;
			})()`, i))
			for _, share := range [][2]float64{{0.32, 0.36}, {0.5, 0.2}, {0.61, 0.44}} {
				share[0] += 0.03 * float64(i)
				at := eval[[2]float64](t, b, fmt.Sprintf(`(function () {
					var box = document.querySelector("figure.frame:not(.off) svg.fg").getBoundingClientRect();
					return [box.x + %g * box.width, box.y + %g * box.height];
				})()`, share[0], share[1]))
				b.do(t, chromedp.MouseEvent(chromedp.MouseMoved, at[0], at[1]))
				if off := eval[float64](t, b, fmt.Sprintf(nearer, at[0], at[1])); !(math.Abs(off) < 1e-6) {
					t.Errorf("%s: another place is nearer to the pointer by %g mm", frames[i], off)
				}
				r := eval[read](t, b, `(function () {
					var r = document.getElementById("hover-readout"), d = r.dataset;
					return { XMm: d.xMm, YMm: d.yMm, ZMm: d.zMm, Bx: d.bx, By: d.by, Text: r.textContent };
				})()`)
				if !strings.Contains(r.Text, "|Bx| "+r.Bx) || !strings.Contains(r.Text, "|By| "+r.By) {
					t.Errorf("the text %q does not say %s and %s", r.Text, r.Bx, r.By)
				}
				shown[i] = append(shown[i], r)
				args = append(args, "--at", placeOf(r))
			}
		}
		got := call(dir, args...)
		if got.status != 0 {
			t.Fatal(got.err)
		}
		blocks := blocksOf(got.out)
		places, compared := len(args)/2-1, 0
		for i, name := range frames {
			k := slices.IndexFunc(blocks, func(b block) bool { return b.name == fieldName(name) })
			if k < 0 {
				t.Errorf("field prints no %q", fieldName(name))
				continue
			}
			rows := blocks[k].rows[len(blocks[k].rows)-places:]
			for j, r := range shown[i] {
				cells := wide.Split(strings.TrimSpace(rows[3*i+j]), -1)
				if cells[1] != r.Bx && !noise(cells[1], r.Bx, r.By) || cells[2] != r.By && !noise(cells[2], r.By, r.Bx) {
					t.Errorf("%s at %s: the page shows %s and %s, field prints %s", name, placeOf(r), r.Bx, r.By, rows[3*i+j])
				}
				compared++
			}
		}
		if compared < 6 {
			t.Errorf("compared %d places", compared)
		}
	})
}

// noise reports whether the page rightly shows a component as nothing.
func noise(printed, shown, other string) bool {
	return shown == "0 T" && tesla(printed) < 1e-9*tesla(other)
}

// tesla reads a printed flux density.
func tesla(text string) float64 {
	number, unit, _ := strings.Cut(text, " ")
	v, err := strconv.ParseFloat(number, 64)
	scale, ok := map[string]float64{"T": 1, "mT": 1e-3, "µT": 1e-6, "nT": 1e-9, "pT": 1e-12, "fT": 1e-15, "aT": 1e-18}[unit]
	if err != nil || !ok {
		return math.NaN()
	}
	return v * scale
}

func placeOf(r read) string {
	place := r.XMm + " mm, " + r.YMm + " mm"
	if r.ZMm != "0" {
		place += ", " + r.ZMm + " mm"
	}
	return place
}

// slid is a sensor that is moved in the page, and the layout that has it there.
type slid struct {
	sample
	slide       int
	x, y        int // steps
	sensor, own string
	was, is     string // in the text of the layout; is has two verbs, for x and y
	frame       int
	peakA       map[string]complex128 // of the frame's duty
}

// Currents of the fixtures in their first duty, as peak phasors; the phases of a
// symmetrical source follow each other by 120 degrees (IEC 60050-141, 141-02-16 from
// memory).
var (
	crossing = map[string]complex128{"U": phasor(220*math.Sqrt2, 0), "V": phasor(220*math.Sqrt2, -120), "W": phasor(220*math.Sqrt2, 120)}
	haul     = map[string]complex128{"P": 130, "N": -130}
	winding  = map[string]complex128{"plus": 215, "minus": -215}
)

func phasor(amplitude, degrees float64) complex128 {
	return cmplx.Rect(amplitude, degrees*math.Pi/180)
}

// What a slide shows is what a fresh run prints for a layout that has the sensor there:
// the same texts where the field is in closed form, and the same within the certainty
// that the run states where it is found on a mesh, which the place of a sensor changes.
func TestSlideIsAFreshRun(t *testing.T) {
	need(t)
	for _, c := range []slid{
		{bare, 0, 5, 4, "SU", "U", "SU: {reads: U, at: [-60 mm, 5.5 mm]", "SU: {reads: U, at: [%s mm, %s mm]", 0, crossing},
		{bare, 1, 1, 6, "SV", "V", "SV: {reads: V, at: [0 mm, 5.5 mm]", "SV: {reads: V, at: [%s mm, %s mm]", 0, crossing},
		{bent, 1, 4, 5, "SN", "N", "SN: {reads: N, at: [50 mm, 5.5 mm, 20 mm]", "SN: {reads: N, at: [%s mm, %s mm, 20 mm]", 0, haul},
		{iron, 0, 4, 4, "SP", "plus", "SP: {reads: plus, at: [-20 mm, 5 mm]", "SP: {reads: plus, at: [%s mm, %s mm]", 0, winding},
	} {
		t.Run(c.sensor, func(t *testing.T) {
			b := open(t, pageOf(t, c.sample))
			shown := eval[struct{ X, Y, Value, Text string }](t, b, fmt.Sprintf(`(function () {
				var x = document.getElementById("slide-%[1]d-x"), y = document.getElementById("slide-%[1]d-y");
				x.value = %[2]d;
				x.dispatchEvent(new Event("input"));
				y.value = %[3]d;
				y.dispatchEvent(new Event("input"));
				var r = document.getElementById("slide-%[1]d-readout");
				return { X: r.dataset.xMm, Y: r.dataset.yMm, Value: r.dataset.value, Text: r.textContent };
			})()`, c.slide, c.x, c.y))
			layout := source(c.name)
			moved := strings.Replace(layout, c.was, fmt.Sprintf(c.is, shown.X, shown.Y), 1)
			if moved == layout {
				t.Fatalf("%s at %s, %s mm is no move", c.sensor, shown.X, shown.Y)
			}
			dir := t.TempDir()
			write(t, dir, moved)
			frequency := 0.0
			if c.name == bare.name {
				frequency = 25
			}
			pick := couplingOf(t, dir, c.sensor, frequency)
			own := pick[c.own]
			var stray complex128
			for bar, p := range pick {
				if bar != c.own {
					stray += p.value * c.peakA[bar]
				}
			}
			strayA, phase := cmplx.Abs(stray/own.value), cmplx.Phase(own.value)*180/math.Pi
			share := strayA / cmplx.Abs(c.peakA[c.own])
			want := fmt.Sprintf("%s|%.2f°|%s|%s of the own current", si.Format(cmplx.Abs(own.value), "T"), phase, si.Format(strayA, "A"), si.Percent(share))
			if !strings.HasPrefix(shown.Text, c.sensor+" moved by x ") || !strings.Contains(shown.Text, strings.Split(shown.Value, "|")[0]+" per ampere") {
				t.Errorf("the text is %q", shown.Text)
			}
			if !c.precise {
				if shown.Value != want {
					t.Errorf("the page shows %q, a fresh run %q", shown.Value, want)
				}
				return
			}
			parts := strings.Split(shown.Value, "|")
			if v, w := tesla(parts[0]), cmplx.Abs(own.value); !(math.Abs(v-w) <= (0.005+2*own.certainty)*w) {
				t.Errorf("the page shows %s, a fresh run %s ± %g", parts[0], si.Format(w, "T"), own.certainty)
			}
			if c.name == bare.name {
				if len(parts) != 4 || !(math.Abs(percent(parts[3])-100*share) <= 0.05*100*share) {
					t.Errorf("the page shows a stray of %q, a fresh run %s", parts, si.Percent(share))
				}
				return
			}
			// The neighbour is behind two walls: its part of the reading is certain to
			// several times itself, and so the share of both can only be small.
			if len(parts) != 4 || !(strayA < 0.01*cmplx.Abs(c.peakA[c.own])) || !(percent(parts[3]) < 1) {
				t.Errorf("the page shows a stray of %q, a fresh run %s", parts, si.Percent(share))
			}
		})
	}
}

func percent(text string) float64 {
	number, _, _ := strings.Cut(text, " %")
	v, err := strconv.ParseFloat(number, 64)
	if err != nil {
		return math.NaN()
	}
	return v
}

type pickUp struct {
	value     complex128
	certainty float64
}

// couplingOf returns what coupling prints of a sensor at a frequency, by bar.
func couplingOf(t *testing.T, dir, sensor string, freqHz float64) map[string]pickUp {
	t.Helper()
	got := call(dir, "coupling", "--format", "json", layoutName)
	if got.status != 0 {
		t.Fatal(got.err)
	}
	var out struct {
		Frequencies []struct {
			FrequencyHz float64 `json:"frequency_hz"`
			Sensors     []struct {
				Sensor string
				PerBar map[string]struct {
					TPerA     [2]float64 `json:"t_per_a"`
					Certainty float64
				} `json:"per_bar"`
			}
		}
	}
	if err := json.Unmarshal([]byte(got.out), &out); err != nil {
		t.Fatal(err)
	}
	for _, f := range out.Frequencies {
		for _, s := range f.Sensors {
			if f.FrequencyHz != freqHz || s.Sensor != sensor {
				continue
			}
			by := map[string]pickUp{}
			for bar, p := range s.PerBar {
				by[bar] = pickUp{complex(p.TPerA[0], p.TPerA[1]), p.Certainty}
			}
			return by
		}
	}
	t.Fatalf("coupling prints no %s at %g Hz", sensor, freqHz)
	return nil
}
