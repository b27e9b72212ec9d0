package cli

import (
	"bytes"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"busgauss/fixtures"
)

// symmetric returns a layout with a mirror at x = 0: equal bars and sensors on both sides, some in equal channels. Ties are
// where a last digit would name another object. Currents are high enough that much of it fails.
func symmetric(seed uint64) string {
	r := rand.New(rand.NewPCG(seed, 40))
	pick := func(from ...float64) float64 { return from[r.IntN(len(from))] }
	pairs := 1 + r.IntN(3)
	pitch, width, thick, up := pick(24, 28.3, 32, 41.7), pick(12, 15, 18.4), pick(3, 4, 5.1), pick(5, 6.3, 7.7)
	channels := pairs == 1 && r.IntN(3) == 0
	around := r.IntN(2) == 0 // sensors above, or on the sides that face away
	var bars, shields, sensors, currents []string
	direct := r.IntN(2) == 0
	current := pick(150, 240, 415)
	for k := range 2 * pairs {
		side, name := 1.0, fmt.Sprintf("R%d", k/2)
		if k%2 == 1 {
			side, name = -1, fmt.Sprintf("L%d", k/2)
		}
		x := side * pitch * (0.5 + float64(k/2))
		bars = append(bars, fmt.Sprintf("  %s: {section: {width: %g mm, thickness: %g mm}, at: [%.6g mm, 0 mm], metal: copper, length: 300 mm}",
			name, width, thick, x))
		at, axis := fmt.Sprintf("[%.6g mm, %g mm]", x, up), "180 deg"
		if around && !channels {
			at, axis = fmt.Sprintf("[%.6g mm, 0 mm]", x+side*(width/2+3)), "90 deg"
		}
		sensors = append(sensors, fmt.Sprintf("  S%s: {reads: %s, at: %s, axis: %s, part: petrel-9, placement: {x: 0.3 mm, y: 0.2 mm, tilt: 1 deg}}", name, name, at, axis))
		if channels {
			shields = append(shields, fmt.Sprintf("  K%s: {form: {channel: {opening: %g mm, leg: 12 mm, wall: 0.8 mm}}, at: [%.6g mm, -4 mm], material: tern-3, depth: long}",
				name, width+3, x))
		}
		if direct {
			currents = append(currents, fmt.Sprintf("%s: {dc: %g A}", name, side*current))
		} else {
			currents = append(currents, fmt.Sprintf("%s: {rms: %g A, phase: %g deg}", name, current, 90-90*side))
		}
	}
	kind := "{kind: continuous, "
	if !direct {
		kind += "frequency: 50 Hz, "
	}
	var b strings.Builder
	fmt.Fprintf(&b, "layout: 1\ntitle: Tug, winch feeders in a mirror\nbars:\n%s\nsensors:\n%s\n", strings.Join(bars, "\n"), strings.Join(sensors, "\n"))
	if channels {
		fmt.Fprintf(&b, "shields:\n%s\nmaterials:\n  tern-3: {relative-permeability: 3000, saturation: 1.4 T, coercivity: 9 A/m, conductivity: 2 MS/m, sheet: 0.3 mm, source: invented for this test}\n",
			strings.Join(shields, "\n"))
	}
	b.WriteString("parts:\n  petrel-9: {linear-range: 8 mT, sensitivity: 120 mV/mT, output: {zero: 2.5 V, low: 0.5 V, high: 4.5 V}, offset: 4 mV, noise: 1 mV, bandwidth: 100 kHz, delay: 2 us}\n")
	fmt.Fprintf(&b, "duties:\n  haul: %scurrents: {%s}}\n  fault: {kind: fault, currents: {%s}}\n", kind, strings.Join(currents, ", "),
		fmt.Sprintf("R0: {dc: %g A}, L0: {dc: -%g A}", 8*current, 8*current))
	b.WriteString("needs:\n  all: {accuracy: 1 %, smallest-current: 2 A, bandwidth: 20 kHz}\n")
	return b.String()
}

// leftOutEmulated reports whether an emulated processor, which takes some thirty times as long, leaves a layout out. What it
// has goes every way through the program: bare bars, iron in section and in space, walls and eddy currents in both.
func leftOutEmulated(name, text string) bool {
	switch name {
	case "examples/lock-gate.yaml", "examples/three-bars.yaml", "examples/channels.yaml", "failing/container-short-channels.yaml",
		"failing/cable-car-winch.yaml", "failing/generator-fault.yaml", "failing/winch-channels.yaml", "clean/ferry-channels.yaml",
		"failing/welder-trapezoid.yaml":
		return true
	case "mirrors/07.yaml":
		return false
	}
	var number int
	if n, _ := fmt.Sscanf(name, "mirrors/%d.yaml", &number); n == 1 {
		return number%4 != 3 || strings.Contains(text, "shields:")
	}
	// Of the cases of the plane section, those at one frequency.
	return strings.HasPrefix(name, "reference/") && !strings.Contains(name, "400Hz") && !strings.Contains(name, "saturating")
}

// TestProcessors holds that a program for another kind of processor, and one for a newer level of this kind, which has
// fused multiplication and addition, give the same bytes as the program for the oldest level.
func TestProcessors(t *testing.T) {
	if !*long {
		t.Skip("builds three programs; -long has it")
	}
	dir := t.TempDir()
	names, err := fixtures.Layouts()
	if err != nil {
		t.Fatal(err)
	}
	all, short, few := putForProcessors(t, dir, names)
	p := &processors{t, dir}
	same := func(what string, want, got map[string][]byte) {
		t.Helper()
		for format, text := range want {
			if len(text) < 1000 || !bytes.Contains(text, []byte("mirrors/07.yaml")) {
				t.Errorf("%s: %s of %d bytes says nothing of the layouts", what, format, len(text))
			}
			if !bytes.Equal(text, got[format]) {
				t.Errorf("%s: %s differs: %s", what, format, firstDifference(text, got[format]))
			}
		}
	}
	oldest := p.build("GOARCH=amd64", "GOAMD64=v1")
	newer := p.build("GOARCH=amd64", "GOAMD64=v3")
	if exec.Command(newer, "--version").Run() != nil {
		t.Log("NOT RUN: a newer level of amd64, which this processor does not have")
	} else {
		same("amd64 v3", p.checked(all, "none", oldest), p.checked(all, "none", newer))
		same("amd64 v3", p.checked(short, "quick", oldest), p.checked(short, "quick", newer))
		same("amd64 v3", p.baseline(few, oldest), p.baseline(few, newer))
	}
	emulator, err := exec.LookPath("qemu-aarch64-static")
	if err != nil {
		t.Log("NOT RUN: arm64, for qemu-aarch64-static is missing")
		return
	}
	// Under emulation no changes are tried, and a baseline is written of few layouts, for the time that it takes.
	other := p.build("GOARCH=arm64")
	same("arm64", p.checked(short, "none", oldest), p.checked(short, "none", emulator, other))
	same("arm64", p.baseline(few, oldest), p.baseline(few, emulator, other))
}

// putForProcessors writes the fixtures and the mirrors into folders below dir: all, those that are short enough for an emulated
// processor, and a few.
func putForProcessors(t *testing.T, dir string, names []string) (all, short, few string) {
	t.Helper()
	all, short, few = filepath.Join(dir, "all"), filepath.Join(dir, "short"), filepath.Join(dir, "few")
	put := func(root, name string, text []byte) {
		path := filepath.Join(root, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range names {
		text, err := fs.ReadFile(fixtures.FS, name)
		if err != nil {
			t.Fatal(err)
		}
		if name == "examples/circuits.yaml" || name == "examples/swing-bridge.yaml" {
			continue // each as long as all others together
		}
		put(all, name, text)
		if !leftOutEmulated(name, string(text)) {
			put(short, name, text)
		}
	}
	for seed := range uint64(40) {
		name, text := fmt.Sprintf("mirrors/%02d.yaml", seed), symmetric(seed)
		put(all, name, []byte(text))
		if !leftOutEmulated(name, text) {
			put(short, name, []byte(text))
		}
		if !strings.Contains(text, "shields:") && seed < 8 {
			put(few, name, []byte(text))
		}
	}
	return all, short, few
}

// processors builds and runs programs for several processors.
type processors struct {
	t   *testing.T
	dir string
}

func (p *processors) build(env ...string) string {
	program := filepath.Join(p.dir, strings.Join(env, "-"))
	cmd := exec.Command("go", "build", "-o", program, "busgauss/cmd/busgauss")
	cmd.Env = append(append(os.Environ(), "CGO_ENABLED=0", "GOOS=linux"), env...)
	if out, err := cmd.CombinedOutput(); err != nil {
		p.t.Fatalf("build for %v: %v\n%s", env, err, out)
	}
	return program
}

func (p *processors) run(root string, command ...string) []byte {
	cmd := exec.Command(command[0], command[1:]...)
	cmd.Dir = root
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	text, err := cmd.Output()
	if code := cmd.ProcessState.ExitCode(); code > 1 || code < 0 {
		p.t.Fatalf("%v: %v\n%s", command, err, stderr.Bytes())
	}
	return text
}

func (p *processors) kept(path string) []byte {
	text, err := os.ReadFile(path)
	if err != nil {
		p.t.Fatal(err)
	}
	if err := os.Remove(path); err != nil {
		p.t.Fatal(err)
	}
	return text
}

func (p *processors) checked(root, remedies string, command ...string) map[string][]byte {
	text := p.run(root, append(command, "check", "--no-store", "--date", "2026-01-01", "--remedies", remedies, "--format", "json",
		"--output", "sarif=out.sarif", ".")...)
	return map[string][]byte{"json": text, "sarif": p.kept(filepath.Join(root, "out.sarif"))}
}

func (p *processors) baseline(root string, command ...string) map[string][]byte {
	p.run(root, append(command, "baseline", "--no-store", "--date", "2026-01-01", ".")...)
	return map[string][]byte{"baseline": p.kept(filepath.Join(root, "busgauss-baseline.yaml"))}
}

// firstDifference returns the line in which two texts part, of each.
func firstDifference(a, b []byte) string {
	x, y := strings.Split(string(a), "\n"), strings.Split(string(b), "\n")
	for i := range min(len(x), len(y)) {
		if x[i] != y[i] {
			return fmt.Sprintf("line %d:\n\t%.400s\n\t%.400s", i+1, x[i], y[i])
		}
	}
	return fmt.Sprintf("%d and %d lines", len(x), len(y))
}
