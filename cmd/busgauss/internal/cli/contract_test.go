package cli

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"busgauss/fixtures"
)

func read(t testing.TB, dir, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// tree decodes JSON without any type of this package, as a reader outside
// would.
func tree(t *testing.T, text string) map[string]any {
	t.Helper()
	var out map[string]any
	if err := json.Unmarshal([]byte(text), &out); err != nil {
		t.Fatalf("%v in %.200s", err, text)
	}
	return out
}

func list(t *testing.T, v any, what string) []map[string]any {
	t.Helper()
	items, ok := v.([]any)
	if !ok {
		t.Fatalf("%s is %T, want a list", what, v)
	}
	var out []map[string]any
	for _, item := range items {
		m, ok := item.(map[string]any)
		if !ok {
			t.Fatalf("%s holds %T, want objects", what, item)
		}
		out = append(out, m)
	}
	return out
}

// phasor reads [re, im], both finite.
func phasor(t *testing.T, v any, what string) complex128 {
	t.Helper()
	p, ok := v.([]any)
	if !ok || len(p) != 2 {
		t.Fatalf("%s is %v, want [re, im]", what, v)
	}
	re, ok1 := p[0].(float64)
	im, ok2 := p[1].(float64)
	if !ok1 || !ok2 {
		t.Fatalf("%s is %v, want two numbers", what, v)
	}
	return complex(re, im)
}

var examples = []string{"examples/channels.yaml", "examples/pair.json", "examples/three-bars.yaml"}

// TestFieldContract reads what other programs read of field --format json.
func TestFieldContract(t *testing.T) {
	dir := withFixtures(t)
	// Entries of duties: one per duty and frequency.
	want := map[string][]string{
		"examples/pair.json":       {"charge 0"},
		"examples/three-bars.yaml": {"cruise 20", "climb 25", "climb 8000", "short 0"},
		"examples/channels.yaml":   {"run 400", "aux 0"},
	}
	for _, name := range examples {
		got := call(dir, "field", name, "--format", "json")
		if got.status != 0 {
			t.Fatalf("%s: %+v", name, got)
		}
		report := tree(t, got.out)
		if report["layout"] != name {
			t.Errorf("%s: layout is %v", name, report["layout"])
		}
		var entries []string
		for _, d := range list(t, report["duties"], "duties") {
			hz, ok := d["frequency_hz"].(float64)
			if !ok {
				t.Fatalf("%s: frequency_hz is %v", name, d["frequency_hz"])
			}
			entries = append(entries, d["duty"].(string)+" "+trimmed(hz))
			if method, _ := d["method"].(string); method == "" {
				t.Errorf("%s: method is %v", name, d["method"])
			}
			sensors := list(t, d["sensors"], "sensors")
			for _, s := range sensors {
				if id, _ := s["sensor"].(string); id == "" {
					t.Errorf("%s: sensor is %v", name, s["sensor"])
				}
				for _, key := range []string{"bx_t", "by_t", "axis_t"} {
					phasor(t, s[key], key)
				}
				if c, ok := s["certainty"].(float64); !ok || c < 0 || c > 1 {
					t.Errorf("%s: certainty is %v", name, s["certainty"])
				}
			}
			for _, s := range list(t, d["shields"], "shields") {
				for _, key := range []string{"wall_peak_t", "rms_t"} {
					if b, ok := s[key].(float64); !ok || b < 0 {
						t.Errorf("%s: %s is %v", name, key, s[key])
					}
				}
			}
			// No sensors without the reason why.
			if reason, _ := d["undecided"].(string); (len(sensors) == 0) != (reason != "") {
				t.Errorf("%s: %d sensors, undecided %q", name, len(sensors), reason)
			}
		}
		if strings.Join(entries, ", ") != strings.Join(want[name], ", ") {
			t.Errorf("%s: duties %v, want %v", name, entries, want[name])
		}
	}
}

// TestCouplingContract reads what other programs read of coupling --format json.
func TestCouplingContract(t *testing.T) {
	dir := withFixtures(t)
	want := map[string]string{
		"examples/pair.json":       "0",
		"examples/three-bars.yaml": "0, 20, 25, 8000",
		"examples/channels.yaml":   "0, 400",
	}
	bars := map[string]int{"examples/pair.json": 2, "examples/three-bars.yaml": 3, "examples/channels.yaml": 4}
	for _, name := range examples {
		if name == "examples/channels.yaml" && !*long {
			continue
		}
		got := call(dir, "coupling", name, "--format", "json")
		if got.status != 0 {
			t.Fatalf("%s: %+v", name, got)
		}
		report := tree(t, got.out)
		if report["layout"] != name {
			t.Errorf("%s: layout is %v", name, report["layout"])
		}
		var frequencies []string
		for _, f := range list(t, report["frequencies"], "frequencies") {
			frequencies = append(frequencies, trimmed(f["frequency_hz"].(float64)))
			sensors := list(t, f["sensors"], "sensors")
			for _, s := range sensors {
				perBar, ok := s["per_bar"].(map[string]any)
				if !ok || len(perBar) != bars[name] {
					t.Fatalf("%s: per_bar is %v", name, s["per_bar"])
				}
				for bar, v := range perBar {
					phasor(t, v.(map[string]any)["t_per_a"], bar)
				}
			}
			if reason, _ := f["undecided"].(string); (len(sensors) == 0) != (reason != "") {
				t.Errorf("%s: %d sensors, undecided %q", name, len(sensors), reason)
			}
		}
		if got := strings.Join(frequencies, ", "); got != want[name] {
			t.Errorf("%s: frequencies %s, want %s", name, got, want[name])
		}
	}
}

// TestCheckContract reads what other programs read of check --format json: of bare bars, of
// iron that fills and of walls, and with -long of all that fail and all examples.
func TestCheckContract(t *testing.T) {
	dir := withFixtures(t)
	names := []string{"examples/pair.json", "examples/three-bars.yaml", "failing/laminated-pair.yaml", "failing/crane-copper-channel.yaml", "failing/winch-channels.yaml"}
	if *long {
		names = []string{"failing", "examples"}
	}
	report := tree(t, call(dir, append([]string{"check", "--format", "json"}, names...)...).out)
	findings := list(t, report["findings"], "findings")
	if len(findings) == 0 || len(list(t, report["passed"], "passed")) == 0 || len(list(t, report["assumed"], "assumed")) == 0 {
		t.Fatal("no findings, no passes or no assumed defaults")
	}
	verdicts := map[string]int{}
	for _, f := range findings {
		for _, key := range []string{"rule", "verdict", "level", "object", "unit", "path", "message", "remedy"} {
			if _, ok := f[key].(string); !ok {
				t.Errorf("%s of %v is %T", key, f["rule"], f[key])
			}
		}
		for _, key := range []string{"line", "column"} {
			if v, ok := f[key].(float64); !ok || v < 1 {
				t.Errorf("%s of %v is %v", key, f["rule"], f[key])
			}
		}
		for _, key := range []string{"value", "limit", "certainty"} {
			v, there := f[key]
			if _, number := v.(float64); !there || (v != nil && !number) {
				t.Errorf("%s of %v is %v", key, f["rule"], v)
			}
		}
		verdicts[f["verdict"].(string)]++
	}
	if verdicts["fail"] == 0 || verdicts["undecided"] == 0 || len(verdicts) != 2 {
		t.Errorf("verdicts of findings: %v", verdicts)
	}
}

func trimmed(hz float64) string {
	text, _ := json.Marshal(hz)
	return string(text)
}

// TestInverse multiplies the matrix of coupling by its inverse.
func TestInverse(t *testing.T) {
	dir := withFixtures(t)
	report := tree(t, call(dir, "coupling", "--format", "json", "examples/three-bars.yaml").out)
	f := list(t, report["frequencies"], "frequencies")[0]
	matrix := map[string]map[string]any{}
	for _, s := range list(t, f["sensors"], "sensors") {
		matrix[s["sensor"].(string)] = s["per_bar"].(map[string]any)
	}
	inverse := list(t, f["inverse"], "inverse")
	if len(inverse) != 3 {
		t.Fatalf("inverse has %d rows, want 3", len(inverse))
	}
	for _, row := range inverse {
		for _, bar := range []string{"U", "V", "W"} {
			var sum complex128
			for sensor, v := range row["a_per_t"].(map[string]any) {
				entry := matrix[sensor][bar].(map[string]any)
				sum += phasor(t, v, sensor) * phasor(t, entry["t_per_a"], bar)
			}
			want := 0.0
			if row["bar"] == bar {
				want = 1
			}
			// Nine digits are printed; the products are of order one.
			if math.Hypot(real(sum)-want, imag(sum)) > 1e-7 {
				t.Errorf("row %v times column %s is %v, want %v", row["bar"], bar, sum, want)
			}
		}
	}
}

// TestFieldAt compares points with the sensor at the same place and with the
// far field of a pair of bars: a line current is μ0·I/(2π·r) (J. D. Jackson,
// Classical Electrodynamics, 3rd ed., section 5.2).
func TestFieldAt(t *testing.T) {
	dir := withFixtures(t)
	name := "reference/plane-cases/bare-three-bars-0Hz.yaml"
	report := tree(t, call(dir, "field", "--format", "json", "--at", "0 mm, 6 mm", "--at", "0 m, 2 m", name).out)
	d := list(t, report["duties"], "duties")[0]
	points := list(t, d["points"], "points")
	if len(points) != 2 {
		t.Fatalf("%d points, want 2", len(points))
	}
	at := points[0]["at_m"].([]any)
	if at[0] != 0.0 || at[1] != 0.006 {
		t.Errorf("at_m is %v", at)
	}
	for _, s := range list(t, d["sensors"], "sensors") {
		if s["sensor"] == "sV" && (phasor(t, s["bx_t"], "") != phasor(t, points[0]["bx_t"], "") || phasor(t, s["by_t"], "") != phasor(t, points[0]["by_t"], "")) {
			t.Errorf("point %v, sensor at the same place %v", points[0], s)
		}
	}
	// 100 A two metres below: -10 uT along x, and 20 mm of width change it by
	// under (w/r)^2 = 1e-4.
	if got := real(phasor(t, points[1]["bx_t"], "bx_t")); math.Abs(got+10e-6) > 10e-6*1e-4 {
		t.Errorf("far field %g T, want -10e-6", got)
	}
}

// TestPlaneCases compares field with the independently computed cases of bare
// bars at direct current, to 0.1 %, and wants the stated certainty to cover the
// difference up to what the reference itself moved between its two meshes.
func TestPlaneCases(t *testing.T) {
	dir := withFixtures(t)
	var expected struct {
		Cases map[string]struct {
			Sensors map[string]struct {
				BxMT   [2]float64 `json:"Bx_mT"`
				ByMT   [2]float64 `json:"By_mT"`
				Change float64    `json:"level_change"`
			}
		}
	}
	text, err := fixtures.FS.ReadFile("reference/plane-cases/expected.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &expected); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"bare-three-bars-0Hz", "bare-three-phase-0Hz", "go-and-return-pair-0Hz"} {
		c := expected.Cases[name]
		report := tree(t, call(dir, "field", "--format", "json", "reference/plane-cases/"+name+".yaml").out)
		sensors := list(t, list(t, report["duties"], "duties")[0]["sensors"], "sensors")
		if len(sensors) != len(c.Sensors) || len(sensors) == 0 {
			t.Fatalf("%s: %d sensors, want %d", name, len(sensors), len(c.Sensors))
		}
		largest := 0.0
		for _, w := range c.Sensors {
			largest = max(largest, math.Hypot(math.Hypot(w.BxMT[0], w.BxMT[1]), math.Hypot(w.ByMT[0], w.ByMT[1])))
		}
		for _, s := range sensors {
			w := c.Sensors[s["sensor"].(string)]
			x := phasor(t, s["bx_t"], "bx_t")*1e3 - complex(w.BxMT[0], w.BxMT[1])
			y := phasor(t, s["by_t"], "by_t")*1e3 - complex(w.ByMT[0], w.ByMT[1])
			size := math.Hypot(math.Hypot(w.BxMT[0], w.BxMT[1]), math.Hypot(w.ByMT[0], w.ByMT[1]))
			// Where a sensor reads next to nothing the scale is a per cent of the largest.
			off := math.Hypot(math.Hypot(real(x), imag(x)), math.Hypot(real(y), imag(y))) / max(size, 0.01*largest)
			if !(off <= 1e-3) {
				t.Errorf("%s %v: off by %.3g", name, s["sensor"], off)
			}
			// The references end at a circle of 1.2 m: the allowance for surroundings holds that.
			certainty, ok := s["certainty"].(float64)
			around, also := s["surroundings"].(float64)
			if !ok || !also || !(off <= certainty+around+2*w.Change) {
				t.Errorf("%s %v: off by %.3g, certainty %v and %v, reference moved by %.3g", name, s["sensor"], off, s["certainty"], s["surroundings"], w.Change)
			}
		}
	}
}
