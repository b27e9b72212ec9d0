package probe_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"runtime"
	"strings"
	"testing"
	"time"
)

var (
	update = flag.Bool("update", false, "rewrite the table of fixtures/reference/README.md")
	long   = flag.Bool("long", false, "run cases of minutes too")
)

// What every row must hold: amplitude and phase against the reference, or the
// reference's own spread where that is larger.
const (
	amplitudeTol = 0.005
	phaseTolDeg  = 0.5
)

// refRow compares one vector phasor, or a number in its first component, with a
// reference. All values are in unit.
type refRow struct {
	name, quantity, unit string
	want, got            [2]complex128
	bound                float64 // half width of our bound; NaN where none is given
	spread               float64 // what the reference itself may be off
	unknowns             int
	took                 time.Duration
}

func number(v float64) [2]complex128 { return [2]complex128{complex(v, 0)} }

func size(v [2]complex128) float64 { return math.Hypot(cmplx.Abs(v[0]), cmplx.Abs(v[1])) }

func (r *refRow) difference() float64 {
	return size([2]complex128{r.got[0] - r.want[0], r.got[1] - r.want[1]})
}

// phaseDeg returns the phase of got against want, that of their inner product.
func (r *refRow) phaseDeg() float64 {
	return cmplx.Phase(cmplx.Conj(r.want[0])*r.got[0]+cmplx.Conj(r.want[1])*r.got[1]) * 180 / math.Pi
}

// check holds the row to its tolerances.
func (r *refRow) check(t *testing.T) {
	t.Helper()
	want, got := size(r.want), size(r.got)
	spread := r.spread / want
	if !(math.Abs(got-want) <= math.Max(amplitudeTol, spread)*want) {
		t.Errorf("%s, %s: %.6g %s, want %.6g", r.name, r.quantity, got, r.unit, want)
	}
	if d := r.phaseDeg(); !(math.Abs(d) <= math.Max(phaseTolDeg, spread*180/math.Pi)) {
		t.Errorf("%s, %s: phase %.3f deg off", r.name, r.quantity, d)
	}
	if !math.IsNaN(r.bound) && !(r.difference() <= r.bound+r.spread) {
		t.Errorf("%s, %s: %.3g %s off, which neither the certainty of %.3g nor the spread of the reference, %.3g, allows",
			r.name, r.quantity, r.difference(), r.unit, r.bound, r.spread)
	}
}

func (r *refRow) line() string {
	want := size(r.want)
	phase, certainty := "", "none given"
	if r.alternating() {
		phase = fmt.Sprintf("%.3f°", math.Abs(r.phaseDeg())) // -0.000 says nothing
	}
	if !math.IsNaN(r.bound) {
		certainty = share(r.bound / want)
	}
	return fmt.Sprintf("| %s | %s | %s | %s | %s | %s | %s | %d | %s |\n", r.name, r.quantity, r.show(r.want), r.show(r.got),
		share(r.difference()/want), phase, certainty, r.unknowns, coarse(r.took))
}

func (r *refRow) alternating() bool {
	return imag(r.want[0]) != 0 || imag(r.want[1]) != 0
}

// show prints the amplitude of v, and the phase of its larger component.
func (r *refRow) show(v [2]complex128) string {
	s := strings.TrimSpace(fmt.Sprintf("%.5g %s", size(v), r.unit))
	if !r.alternating() {
		return s
	}
	k := 0
	if cmplx.Abs(r.want[1]) > cmplx.Abs(r.want[0]) {
		k = 1
	}
	return fmt.Sprintf("%s, %.2f°", s, cmplx.Phase(v[k])*180/math.Pi)
}

// share prints a relative number with two digits that matter.
func share(v float64) string {
	if v < 5e-7 {
		return "< 0.0001 %"
	}
	return fmt.Sprintf("%.2g %%", v*100)
}

// coarse prints a time with one digit: it tells tens from hundreds of
// milliseconds, no more, and depends on the machine.
func coarse(d time.Duration) string {
	ms := float64(d) / float64(time.Millisecond)
	if ms < 1 {
		return "< 1 ms"
	}
	p := math.Pow(10, math.Floor(math.Log10(ms)))
	return fmt.Sprintf("%g ms", math.Round(ms/p)*p)
}

const (
	tableFile  = "../../fixtures/reference/README.md"
	tableBegin = "<!-- computed table: go test ./model/probe -run TestReferenceTable -update -->\n"
	tableEnd   = "<!-- end of the computed table -->\n"
	tableHead  = `
## Every reference value that a plane field can give, against ours

*Difference* is that of the vector phasors over the size of the reference, *phase* the angle between them, *certainty* our own
bound over the same size. It never is smaller than the difference by more than the reference's own spread. Values of plane-cases
are those that ` + "`busgauss field`" + ` prints; all others ask the plane solver for 0.1 %, shells and half spaces for 0.5 %. Time is that of the whole solution the
row belongs to, on two cores of an ordinary machine.

| case | quantity | reference | ours | difference | phase | certainty | unknowns | time |
| --- | --- | --- | --- | --- | --- | --- | --- | --- |
`
)

// leftOut says what of the reference files the table does not hold, and why.
const leftOut = `
Left out, because a plane section cannot hold them or the field is as good as nothing: the half space of infinite permeability and that
of conducting steel, whose currents spread over metres; the field on the axis of a solid cylinder behind more than four skin depths;
the necked bar, whose current does not run along z (see the bars in space below). Half spaces are blocks of finite size, whose
neglected remainder is counted with the spread of the reference.
`

// The table of every reference case, written to fixtures/reference/README.md with
// -update. Without it every cell but the time must equal the file, on the kind of
// processor that wrote it; on any, each row must hold its tolerances.
func TestReferenceTable(t *testing.T) {
	var rows []refRow
	rows = append(rows, planeCaseRows(t)...)
	if !*long && !*update {
		for i := range rows {
			rows[i].check(t)
		}
		t.Skip("the rest of the table takes longer: with -long")
	}
	rows = append(rows, analyticRows(t)...)
	rows = append(rows, roundWireRows(t)...)
	rows = append(rows, machineRows(t)...)
	rows = append(rows, shieldRows(t)...)
	rows = append(rows, barRows(t)...)
	var b strings.Builder
	b.WriteString(tableHead)
	for i := range rows {
		rows[i].check(t)
		b.WriteString(rows[i].line())
	}
	b.WriteString(leftOut)
	if len(rows) < 250 {
		t.Errorf("%d rows", len(rows))
	}
	file, err := os.ReadFile(tableFile)
	if err != nil {
		t.Fatal(err)
	}
	before, old, after := cutTable(string(file))
	if *update {
		if t.Failed() {
			t.Fatal("the table is not written while a row is out of tolerance")
		}
		text := before + tableBegin + b.String() + tableEnd + after
		if err := os.WriteFile(tableFile, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if runtime.GOARCH != "amd64" {
		return // last digits, and with them meshes, differ between processors
	}
	compareTables(t, old, b.String())
}

// cutTable returns what stands before the table, the table, and what follows.
func cutTable(file string) (before, table, after string) {
	before, rest, ok := strings.Cut(file, tableBegin)
	if !ok {
		return strings.TrimRight(file, "\n") + "\n\n", "", ""
	}
	table, after, _ = strings.Cut(rest, tableEnd)
	return before, table, after
}

// compareTables compares all cells but the last.
func compareTables(t *testing.T, old, fresh string) {
	t.Helper()
	strip := func(text string) [][]byte {
		lines := bytes.Split([]byte(text), []byte("\n"))
		for i, l := range lines {
			if bytes.HasPrefix(l, []byte("| ")) && bytes.Count(l, []byte("|")) == 10 {
				l = bytes.TrimSuffix(l, []byte(" |"))
				lines[i] = l[:bytes.LastIndexByte(l, '|')]
			}
		}
		return lines
	}
	a, b := strip(old), strip(fresh)
	different := 0
	for i := range max(len(a), len(b)) {
		var x, y []byte
		if i < len(a) {
			x = a[i]
		}
		if i < len(b) {
			y = b[i]
		}
		if !bytes.Equal(x, y) {
			if different++; different <= 5 {
				t.Errorf("line %d of the table\n file: %s\n  now: %s", i+1, x, y)
			}
		}
	}
	if different > 0 {
		t.Errorf("%d lines of %s differ: read the changes, then run with -update", different, tableFile)
	}
}
