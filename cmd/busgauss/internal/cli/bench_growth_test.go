package cli

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"busgauss/model/fem"
	"busgauss/model/geom"
)

// growth is the cost of the same work in several sizes.
type growth struct {
	name, of string
	sizes    []int
	costs    func(tb testing.TB, program string, size int) (actual int, c cost)
}

var growths = []growth{
	{"bare bars, each with a sensor, one duty", "bars", []int{1, 3, 10, 30, 100, 200}, grown(func(n int) string {
		var bars, sensors, currents strings.Builder
		for i := range n {
			fmt.Fprintf(&bars, "  B%d: {section: {width: 20 mm, thickness: 3 mm}, at: [%d mm, 0 mm], metal: copper}\n", i, 40*i)
			fmt.Fprintf(&sensors, "  S%d: {reads: B%[1]d, at: [%d mm, 4.5 mm], axis: 180 deg, part: wren}\n", i, 40*i)
			fmt.Fprintf(&currents, "B%d: {rms: %d A}, ", i, 200+i%7)
		}
		return fmt.Sprintf("layout: 1\nbars:\n%ssensors:\n%sparts:\n  wren: {linear-range: 25 mT, sensitivity: 70 mV/mT}\nduties:\n  run: {kind: continuous, frequency: 20 Hz, currents: {%s}}\nsurroundings: {return: far}\n",
			&bars, &sensors, strings.TrimSuffix(currents.String(), ", "))
	})},
	{"frequencies of three channels of conducting iron", "frequencies", []int{1, 3, 10, 30}, grown(func(n int) string {
		var duties strings.Builder
		for i := range n {
			fmt.Fprintf(&duties, "  d%d: {kind: continuous, frequency: %.4g Hz, three-phase: {bars: [U, V, W], rms: 200 A}}\n", i, 50*math.Pow(1.15, float64(i)))
		}
		return channels("relative-permeability: 1000, conductivity: 2 MS/m", duties.String())
	})},
	{"short channels in space, one direct duty", "channels", []int{1, 2, 3, 6, 12}, grown(func(n int) string {
		back := fmt.Sprintf("B%d: {dc: -250 A}", n-1)
		if n == 1 {
			return tug(n) + "  hold: {kind: continuous, currents: {B0: {dc: 250 A}}}\nsurroundings: {return: far}\n"
		}
		return tug(n) + "  hold: {kind: continuous, currents: {B0: {dc: 250 A}, " + back + "}}\n"
	})},
	{"folder of bare layouts", "layouts", []int{1, 10, 100, 1000, 2000, 5000}, func(tb testing.TB, program string, n int) (int, cost) {
		return n, costOf(tb, folderOf(tb, n), program, "check", "--no-store", ".")
	}},
	{"plane solution of a bar before a plate of iron, direct current, with the coarser meshes before", "unknowns", []int{1300, 3000, 10000, 30000, 100000, 200000, 300000}, planeCost},
}

// grown is the cost of the check of a layout.
func grown(layout func(n int) string) func(testing.TB, string, int) (int, cost) {
	return func(tb testing.TB, program string, n int) (int, cost) {
		dir := tb.TempDir()
		write(tb, filepath.Join(dir, "layout.yaml"), layout(n))
		return n, costOf(tb, dir, program, "check", "--no-store", "layout.yaml")
	}
}

// planeCost is the cost of this test binary as the program plane. The unknowns are those of its finest mesh.
func planeCost(tb testing.TB, _ string, most int) (int, cost) {
	self, err := os.Executable()
	if err != nil {
		tb.Fatal(err)
	}
	plane := filepath.Join(tb.TempDir(), "plane") // which this binary then is: see TestMain
	if err := os.Symlink(self, plane); err != nil {
		tb.Skipf("no symbolic links: %v", err)
	}
	c := costOf(tb, "", plane, strconv.Itoa(most))
	unknowns, err := strconv.Atoi(strings.TrimSpace(c.out))
	if err != nil {
		tb.Fatal(err)
	}
	return unknowns, c
}

// plane solves a bar before a plate of iron on finer and finer meshes up to a number of unknowns, its argument, and prints how many the
// last one had.
func plane() {
	most, err := strconv.Atoi(os.Args[1])
	if err != nil {
		panic(err)
	}
	s, err := fem.Solve(&fem.Problem{
		Pieces: []fem.Piece{
			{Name: "bar", IsBar: true, SigmaSPerM: 50e6, Region: geom.Solid(geom.Rectangle(18e-3, 4e-3))},
			{Name: "plate", MuRel: 2000, Region: geom.Solid(geom.Rectangle(20e-3, 5e-3).Place(geom.Point{Y: -8e-3}, 0))},
		},
		Sensors: []geom.Point{{Y: 4.6e-3}},
	}, 0, fem.Options{Certainty: 1e-12, MaxUnknowns: most, MaxBytes: 1 << 33, MaxLevels: 40})
	if err != nil {
		panic(err)
	}
	fmt.Println(s.Unknowns)
}

// exponent is p of the power c·size^p that fits values best, by least squares in logarithms; of the values above twice the
// floor, which is what the start takes. NaN where fewer than two are.
func exponent(sizes []int, values []float64, floor float64) float64 {
	var n, sx, sy, sxx, sxy float64
	for i, v := range values {
		if v > 2*floor {
			x, y := math.Log(float64(sizes[i])), math.Log(v)
			n, sx, sy, sxx, sxy = n+1, sx+x, sy+y, sxx+x*x, sxy+x*y
		}
	}
	if n < 2 {
		return math.NaN()
	}
	return (n*sxy - sx*sy) / (n*sxx - sx*sx)
}

func TestExponent(t *testing.T) {
	got := exponent([]int{1, 2, 4, 16, 64}, []float64{5, 3, 8 * 3, 64 * 3, 512 * 3}, 5) // 3·size^1.5, small ones drowned
	if !(math.Abs(got-1.5) < 1e-12) {
		t.Errorf("%g, want 1.5", got)
	}
	if got := exponent([]int{1, 2}, []float64{1, 3}, 1); !math.IsNaN(got) {
		t.Errorf("%g from one value", got)
	}
}
