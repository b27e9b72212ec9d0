package cli

import (
	"flag"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"

	"busgauss/fixtures"
)

var (
	long   = flag.Bool("long", false, "run cases of minutes too")
	twenty = flag.Bool("twenty", false, "check all fixtures twenty times instead of twice")
)

// methods are small fixtures that take one way of computing each: bars in space, eddy currents in walls of finite
// depth, alternating currents in laminated iron, saturating iron, conducting iron.
var methods = []string{
	"clean/winch-bends.yaml", "failing/crane-copper-channel.yaml", "clean/ferry-channels.yaml",
	"reference/plane-cases/u-shield-saturating-800A.yaml", "reference/plane-cases/u-shield-conducting-400Hz.yaml",
}

// TestSameBytes checks fixtures in every format, in random order of arguments
// and on one and on eight threads: those with the closed forms alone four
// times, one of each of some methods twice; with -long the first twenty times and twice all examples but three and three of the
// reference cases; and with -twenty, which takes many minutes, all of them twenty times.
func TestSameBytes(t *testing.T) {
	dir := withFixtures(t)
	all, err := fixtures.Layouts()
	if err != nil || len(all) < 20 {
		t.Fatalf("%d layouts, %v", len(all), err)
	}
	var quick []string
	for _, name := range all {
		if name == "clean/ferry-thruster.yaml" || name == "clean/plausibility-pair.yaml" || name == "failing/laminated-pair.yaml" || name == "examples/pair.json" ||
			strings.HasPrefix(name, "reference/plane-cases/bare-") && strings.HasSuffix(name, "-0Hz.yaml") {
			quick = append(quick, name)
		}
	}
	often := 4
	if *long {
		often = 20
	}
	sameBytes(t, dir, quick, often)
	switch {
	case *twenty:
		sameBytes(t, dir, all, 20)
	case *long:
		// Of the reference cases, three stand for their method each; three examples have waveforms or frequencies enough for all.
		some := slices.DeleteFunc(all, func(name string) bool {
			return name == "examples/circuits.yaml" || name == "examples/lock-gate.yaml" || name == "examples/swing-bridge.yaml" || strings.HasPrefix(name, "reference/") && !strings.HasSuffix(name, "/u-shield-single-dc.yaml") &&
				!strings.HasSuffix(name, "/u-shield-conducting-400Hz.yaml") && !strings.HasSuffix(name, "/u-shield-saturating-800A.yaml")
		})
		sameBytes(t, dir, some, 2)
	case !testing.Short():
		sameBytes(t, dir, slices.Clone(methods), 2)
	}
}

func sameBytes(t *testing.T, dir string, names []string, runs int) {
	t.Helper()
	const seed = 20 // fixed, so that a failure comes back
	random := rand.New(rand.NewPCG(seed, seed))
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var first map[string]said
	for i := range runs {
		runtime.GOMAXPROCS([]int{1, 8}[i%2])
		random.Shuffle(len(names), func(a, b int) { names[a], names[b] = names[b], names[a] })
		got := map[string]said{}
		// One run writes all formats, so that each costs one check.
		args := []string{"check", "--detail", "--passes"}
		for _, format := range checkFormats[1:] {
			args = append(args, "-o", format+"=o."+format)
		}
		got["text"] = call(dir, append(args, names...)...)
		for _, format := range checkFormats[1:] {
			got[format] = said{out: read(t, dir, "o."+format)}
		}
		if first == nil {
			first = got
			if got["text"].status != 1 || strings.Count(got["text"].out, "\n") < 50 {
				t.Fatalf("%d layouts give status %d and %d bytes", len(names), got["text"].status, len(got["text"].out))
			}
			continue
		}
		for format, want := range first {
			if got[format] != want {
				t.Fatalf("seed %d, run %d, %s differs from run 0 in line %s", seed, i, format, firstLine(got[format].out, want.out))
			}
		}
	}
}

// tables are small fixtures for field and coupling: bare bars, with harmonics, with bends, in iron, behind a wall in the plane and in space.
var tables = []string{
	"clean/ferry-thruster.yaml", "examples/three-bars.yaml", "clean/winch-bends.yaml", "reference/plane-cases/u-shield-single-dc.yaml",
	"reference/plane-cases/bar-near-aluminium-wall-60Hz.yaml", "failing/crane-copper-channel.yaml",
}

// TestSameBytesOfTables does the same for field and coupling, once each: for some layouts,
// and with -long for the rest but three, which -twenty adds.
func TestSameBytesOfTables(t *testing.T) {
	dir := withFixtures(t)
	names, err := fixtures.Layouts()
	if err != nil {
		t.Fatal(err)
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, name := range names {
		// One case with iron and one with a wall stand for those of the reference.
		if strings.HasPrefix(name, "reference/") && !strings.HasSuffix(name, "/u-shield-single-dc.yaml") && !strings.HasSuffix(name, "wall-60Hz.yaml") {
			continue
		}
		if !slices.Contains(tables, name) && !*long && !*twenty {
			continue
		}
		if !*twenty && (strings.HasSuffix(name, "/channels.yaml") || strings.HasSuffix(name, "/circuits.yaml") ||
			strings.HasSuffix(name, "/lock-gate.yaml") || strings.HasSuffix(name, "/swing-bridge.yaml")) {
			continue
		}
		for _, command := range []string{"field", "coupling"} {
			var first said
			for i := range 2 {
				runtime.GOMAXPROCS([]int{1, 8}[i])
				got := call(dir, command, "--format", "json", name)
				if i == 0 {
					first = got
				} else if got != first {
					t.Errorf("%s %s differs on 8 threads: %s", command, name, firstLine(got.out, first.out))
				}
			}
		}
	}
}

func firstLine(a, b string) string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range min(len(x), len(y)) {
		if x[i] != y[i] {
			return x[i] + "\nwas " + y[i]
		}
	}
	return "of the end"
}
