package cli

import (
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// counted is two bars whose channels end in counts: 12 bit over 3.3 V, 100 mV/mT.
const counted = `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {width: 20 mm, thickness: 3 mm}, at: [30 mm, 0 mm], metal: copper}
sensors:
  SA: {reads: A, at: [0 mm, 5.5 mm], axis: 180 deg, part: teal, placement: {y: 0.2 mm, x: 0 mm, tilt: 1 deg}}
  SB: {reads: B, at: [30 mm, 5.5 mm], axis: 0 deg, part: teal}
parts:
  teal: {linear-range: 20 mT, sensitivity: 100 mV/mT, output: {zero: 1.65 V, low: 0.1 V, high: 3.2 V}}
readout:
  converter: {low: 0 V, high: 3.3 V, bits: 12}
duties:
  run: {kind: continuous, currents: {A: {dc: 400 A}, B: {dc: -400 A}}}
  buzz: {kind: continuous, frequency: 600 Hz, currents: {A: {rms: 100 A}, B: {rms: 100 A, phase: 180 deg}}}
`

func withCounted(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "c.yaml"), []byte(counted), 0o644); err != nil {
		t.Fatal(err)
	}
	return dir
}

// What is called left over is the printed inverse at direct current times the printed
// matrix, less one.
func TestLeftoverFollowsFromWhatIsPrinted(t *testing.T) {
	dir := withCounted(t)
	frequencies := list(t, tree(t, call(dir, "coupling", "--format", "json", "c.yaml").out)["frequencies"], "frequencies")
	if len(frequencies) != 2 {
		t.Fatalf("%d frequencies", len(frequencies))
	}
	still, moving := frequencies[0], frequencies[1]
	left := list(t, moving["dc_inverse_leftover"], "leftover")
	if len(left) != 2 || still["dc_inverse_leftover"] != nil {
		t.Fatalf("left over: %v", moving["dc_inverse_leftover"])
	}
	inverse := list(t, still["inverse"], "inverse")
	seen := 0.0
	for j, row := range inverse {
		sum := 0.0
		for _, bar := range []string{"A", "B"} {
			var e complex128
			for _, s := range list(t, moving["sensors"], "sensors") {
				id := s["sensor"].(string)
				e += phasor(t, row["a_per_t"].(map[string]any)[id], id) * phasor(t, s["per_bar"].(map[string]any)[bar].(map[string]any)["t_per_a"], bar)
			}
			own := bar == row["bar"]
			if own {
				e--
			} else {
				sum += cmplx.Abs(e)
			}
			got := phasor(t, left[j]["a_per_a"].(map[string]any)[bar], bar)
			if cmplx.Abs(got-e) > 1e-7 {
				t.Errorf("%v, %s: %v, want %v", row["bar"], bar, got, e)
			}
			seen = math.Max(seen, cmplx.Abs(got))
			if own {
				if a := left[j]["own_amplitude"].(float64); math.Abs(a-(cmplx.Abs(1+e)-1)) > 1e-6 {
					t.Errorf("own amplitude %g, want %g", a, cmplx.Abs(1+e)-1)
				}
			}
		}
		if got := left[j]["crosstalk_sum"].(float64); math.Abs(got-sum) > 1e-5*sum+1e-9 {
			t.Errorf("crosstalk %g, want %g", got, sum)
		}
	}
	if seen < 1e-3 {
		t.Errorf("nothing is left at 600 Hz in copper of 20 mm: %g", seen)
	}
	if c := still["condition"].(float64); !(c >= 1 && c < 2) {
		t.Errorf("condition number %g", c)
	}
	// 0.2 mm of height move the own reading by some 1.4 % (0.72 % per 0.1 mm, the trade's
	// figure for this bar), and the sensor that declares nothing by nothing but crosstalk.
	placed := list(t, still["placement_leftover"], "placement")
	if a := math.Abs(placed[0]["own_amplitude"].(float64)); a < 0.013 || a > 0.016 {
		t.Errorf("placement leaves %g", a)
	}
	if a := math.Abs(placed[1]["own_amplitude"].(float64)); a > 2e-3 {
		t.Errorf("placement leaves %g on a sensor without tolerance", a)
	}
}

// The constants bear the hash of the file, and give back the currents from the readings
// that the converter would have.
func TestFirmwareConstants(t *testing.T) {
	dir := withCounted(t)
	matrix := map[string]map[string]float64{}
	for _, s := range list(t, list(t, tree(t, call(dir, "coupling", "--format", "json", "c.yaml").out)["frequencies"], "frequencies")[0]["sensors"], "sensors") {
		row := map[string]float64{}
		for bar, v := range s["per_bar"].(map[string]any) {
			row[bar] = real(phasor(t, v.(map[string]any)["t_per_a"], bar))
		}
		matrix[s["sensor"].(string)] = row
	}
	sum := sha256.Sum256([]byte(counted))
	for _, args := range [][]string{nil, {"--width", "16"}, {"--form", "float"}} {
		got := call(dir, append([]string{"coupling", "--format", "firmware", "c.yaml"}, args...)...)
		if got.status != 0 {
			t.Fatalf("%v: %+v", args, got)
		}
		words := wordsByKey(got.out)
		if want := "sha256:" + hex.EncodeToString(sum[:]); words["layout"][0] != want {
			t.Errorf("hash %s, want %s", words["layout"], want)
		}
		form := "fixed"
		if len(args) == 2 && args[1] == "float" {
			form = "float"
		}
		if words["form"][0] != form || words["input"][0] != "count" {
			t.Errorf("%v: form %s, input %s", args, words["form"], words["input"])
		}
		// 100 V/T over 3.3 V/4096: 124121 counts per tesla, 2048 at no current.
		const perT = 100 * 4096 / 3.3
		want := map[string]float64{"A": 250, "B": -130}
		for _, bar := range words["bars"] {
			a := 0.0
			for i, sensor := range words["sensors"] {
				reading := math.Round(2048 + perT*(matrix[sensor]["A"]*want["A"]+matrix[sensor]["B"]*want["B"]))
				if form == "float" {
					reading -= decimal(t, words["zero"][i])
				}
				a += decimal(t, words["constant "+bar][i]) * reading
			}
			if form == "fixed" {
				a = math.Ldexp(a-decimal(t, words["offset "+bar][0]), -int(decimal(t, words["shift"][0])))
			}
			// Half a count of either sensor, and what the form rounds.
			step := 1 / (perT * math.Abs(matrix["SA"]["A"]))
			if bound := 0.6*step + decimal(t, words["error_bound_a "+bar][0]); !(math.Abs(a-want[bar]) <= bound) {
				t.Errorf("%v: %s is %g A, want %g ± %g", args, bar, a, want[bar], bound)
			}
		}
	}
}

// wordsByKey reads constants for firmware as their format says, without quotes: the
// words of each line by its key, and by key and bar where a line is of a bar.
func wordsByKey(text string) map[string][]string {
	words := map[string][]string{}
	for line := range strings.Lines(text) {
		if w := strings.Fields(line); len(w) > 1 {
			words[w[0]] = w[1:]
			words[w[0]+" "+w[1]] = w[2:]
		}
	}
	return words
}

func decimal(t *testing.T, word string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(word, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// The table holds each number once, under its frequency.
func TestCouplingCSV(t *testing.T) {
	dir := withCounted(t)
	got := call(dir, "coupling", "--format", "csv", "c.yaml")
	rows, err := csv.NewReader(strings.NewReader(got.out)).ReadAll()
	if err != nil || got.status != 0 {
		t.Fatalf("%v %+v", err, got)
	}
	count := map[string]int{}
	for _, row := range rows[1:] {
		count[row[0]+" "+row[1]]++
		if _, err := strconv.ParseFloat(row[4], 64); err != nil {
			t.Errorf("%v: %v", row, err)
		}
	}
	want := map[string]int{"matrix 0": 4, "inverse 0": 4, "condition 0": 1, "matrix 600": 4, "inverse 600": 4, "condition 600": 1, "leftover 600": 4}
	for k, n := range want {
		if count[k] != n {
			t.Errorf("%s: %d rows, want %d", k, count[k], n)
		}
	}
	if len(count) != len(want) {
		t.Errorf("rows: %v", count)
	}
	for name, shown := range map[string]string{"=1+1": "'=1+1", "@x": "'@x", "U": "U", "a\nb": `a\nb`} {
		if got := cell(name); got != shown {
			t.Errorf("cell %q is %q, want %q", name, got, shown)
		}
	}
}
