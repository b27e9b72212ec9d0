package cli

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"busgauss/model/finding"
)

const partStandard = `standard: 1
rules:
  stray-ratio: {limits: {budget: 4 %}}
paths:
  - files: ["lot/*7.yaml"]
    rules:
      linear-range: {level: note, reason: boards of a trial}
house-rules:
  room-to-solder:
    title: sensor too close to its bar for the solder mask
    for: channel
    holds: distance >= amount("3 mm")
    message: "{name} is {distance} from its bar"
`

// lot fills a folder with n small layouts, some clean, some failing, some broken, a standard, deviations and a baseline.
func lot(t *testing.T, n int) string {
	t.Helper()
	dir := t.TempDir()
	for _, sub := range []string{"lot", "lot/shore"} {
		if err := os.Mkdir(filepath.Join(dir, sub), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	for i := range n {
		text := fmt.Sprintf(`layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, length: 600 mm}
  V: {section: {width: 20 mm, thickness: 3 mm}, at: [%d mm, 0 mm], metal: copper, length: 600 mm}
sensors:
  S: {reads: U, at: [0 mm, %d.5 mm], axis: 180 deg, part: wren-9}
parts:
  wren-9: {linear-range: 9 mT, sensitivity: 100 mV/mT}
duties:
  run: {kind: continuous, frequency: %d Hz, currents: {U: {rms: %d A}, V: {rms: 90 A}}}
`, []int{300, 30}[i%7/6]+i%11, 3+i%4, []int{50, 20000}[i%40/39], 40+i)
		switch i % 10 {
		case 3:
			text = strings.Replace(text, "wren-9}", "robin}", 1) // no such part
		case 6:
			text = strings.Replace(text, "mT, sens", "furlong, sens", 1)
		}
		name := fmt.Sprintf("lot/l%03d.yaml", i)
		if i%5 == 0 {
			name = fmt.Sprintf("lot/shore/l%03d.yaml", i)
		}
		write(t, filepath.Join(dir, name), text)
	}
	write(t, filepath.Join(dir, "busgauss-standard.yaml"), partStandard)
	write(t, filepath.Join(dir, "lot/shore/busgauss-standard.yaml"), "standard: 1\nrules:\n  stray-ratio: {limits: {budget: 3 %}}\n")
	write(t, filepath.Join(dir, "busgauss-deviations.yaml"), `deviations: 1
permits:
  - {file: lot/l008.yaml, rule: stray-ratio, object: S, up-to: 40 %, reason: bars are cut, approver: Head of Design, until: 2027-06-30}
  - {file: lot/l001.yaml, rule: polarity, object: S, reason: nothing needs it, approver: Head of Design, until: 2027-06-30}
`)
	if got := call(dir, "baseline", "lot/l002.yaml", "lot/l004.yaml", "lot/l009.yaml"); got.status != 0 {
		t.Fatalf("baseline: %+v", got)
	}
	text := read(t, dir, "busgauss-baseline.yaml")
	lines := strings.SplitAfter(text, "\n")
	extra := strings.Replace(lines[slices.IndexFunc(lines, func(l string) bool { return strings.Contains(l, "- {file") })], "l002", "l012", 1)
	write(t, filepath.Join(dir, "busgauss-baseline.yaml"), text+strings.Replace(extra, "ambient-field", "polarity", 1))
	return dir
}

var partArgs = []string{"lot", "lot/gone.yaml"}

// parted writes the parts of a run and returns their names.
func parted(t *testing.T, dir string, n int, flags ...string) []string {
	t.Helper()
	var names []string
	for k := range n {
		name := fmt.Sprintf("%d-of-%d.part", k+1, n)
		args := slices.Concat([]string{"check", "--part", fmt.Sprintf("%d/%d", k+1, n), "--output", "part=" + name}, flags, partArgs)
		got := call(dir, args...)
		if got.status != 0 || got.out != "" || !strings.Contains(got.err, fmt.Sprintf("wrote part %d of %d", k+1, n)) {
			t.Fatalf("%q: %+v", args, got)
		}
		names = append(names, name)
	}
	return names
}

// everyFormat returns flags that write every format into files that begin with a name.
func everyFormat(name string) []string {
	out := []string{"--detail", "--passes", "--date", "2026-06-01"}
	for _, format := range checkFormats[1:] {
		out = append(out, "-o", format+"="+name+"."+format)
	}
	return out
}

// Parts and their merge give the bytes of one run in every format, its words on standard error and its status, in
// however many parts and in any order; a part is written twice with the same bytes.
func TestPartsAndMerge(t *testing.T) {
	n := 40
	if *long {
		n = 200
	}
	dir := lot(t, n)
	one := call(dir, slices.Concat([]string{"check"}, everyFormat("one"), partArgs)...)
	for _, word := range []string{"[stray-ratio]", "[room-to-solder]", "[linear-range]", "[baseline-gone]", "[deviation-unused]",
		"furlong", "robin", "permitted"} {
		if !strings.Contains(one.out, word) {
			t.Errorf("the run says nothing of %s, so that nothing is shown of it", word)
		}
	}
	if one.status != 2 || !strings.Contains(one.err, "lot/gone.yaml") {
		t.Fatalf("one run: status %d, %s", one.status, one.err)
	}
	for _, n := range []int{1, 3, 8} {
		names := parted(t, dir, n)
		slices.Reverse(names)
		got := call(dir, slices.Concat([]string{"merge"}, everyFormat("merged"), names)...)
		if got != one {
			t.Fatalf("%d parts: status %d, %s, %s\none run said on standard error: %s", n, got.status, got.err, firstLine(got.out, one.out), one.err)
		}
		for _, format := range checkFormats[1:] {
			if a, b := read(t, dir, "merged."+format), read(t, dir, "one."+format); a != b || len(a) < 1000 {
				t.Errorf("%d parts, %s, %d bytes: differs in line %s", n, format, len(a), firstLine(a, b))
			}
		}
	}
	before := read(t, dir, "2-of-3.part")
	parted(t, dir, 3)
	if read(t, dir, "2-of-3.part") != before {
		t.Error("the same part has other bytes")
	}
}

// forged writes a part changed by f, with a digest that holds, and returns its name.
func forged(t *testing.T, dir, name string, f func(*partFile)) string {
	t.Helper()
	p, err := readPart(&Streams{Dir: dir}, name)
	if err != nil {
		t.Fatal(err)
	}
	f(p)
	data, err := p.bytes()
	if err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(dir, "forged.part"), string(data))
	return "forged.part"
}

// What is not the whole of one run on what stands here is refused, with status 2, a reason and no report.
func TestMergeRefuses(t *testing.T) {
	dir := lot(t, 20)
	parts := parted(t, dir, 3)
	other := call(dir, "check", "--part", "2/3", "--output", "part=other.part", "lot/shore")
	all := call(dir, slices.Concat([]string{"check", "--part", "2/3", "--remedies", "all", "--output", "part=all.part"}, partArgs)...)
	house := call(dir, slices.Concat([]string{"check", "--part", "2/3", "--standard", "lot/shore/busgauss-standard.yaml",
		"--output", "part=house.part"}, partArgs)...)
	if other.status+all.status+house.status != 0 {
		t.Fatal(other, all, house)
	}
	whole := read(t, dir, parts[1])
	for at, name := range map[int]string{len(whole) - 1: "end", len(partMagic) + 3: "digest", len(whole) / 2: "middle"} {
		write(t, filepath.Join(dir, name+".part"), whole[:at]+string(whole[at]^1)+whole[at+1:])
	}
	write(t, filepath.Join(dir, "short.part"), whole[:len(whole)-10])
	write(t, filepath.Join(dir, "later.part"), strings.Replace(whole, "format 1", "format 2", 1))
	changed := func(f func(*partFile)) string { return forged(t, dir, parts[1], f) }
	for _, c := range []struct {
		name, want string
		parts      func() []string
	}{
		{"missing", "of 3 parts these are missing: 2, 3", func() []string { return parts[:1] }},
		{"doubled", "part 1 of 3 is given twice", func() []string { return append(slices.Clone(parts), parts[0]) }},
		{"not there", "read gone.part", func() []string { return []string{"gone.part"} }},
		{"end", "end.part is damaged", func() []string { return []string{parts[0], "end.part", parts[2]} }},
		{"middle", "middle.part is damaged", func() []string { return []string{parts[0], "middle.part", parts[2]} }},
		{"digest", "digest.part is damaged", func() []string { return []string{parts[0], "digest.part", parts[2]} }},
		{"cut", "short.part is damaged", func() []string { return []string{parts[0], "short.part", parts[2]} }},
		{"later format", "later.part is no part that this version reads", func() []string { return []string{"later.part"} }},
		{"layout", "lot/l001.yaml is no part", func() []string { return []string{"lot/l001.yaml"} }},
		{"arguments", "other LAYOUT arguments", func() []string { return []string{parts[0], "other.part", parts[2]} }},
		{"remedies", `--remedies "quick" and "all"`, func() []string { return []string{parts[0], "all.part", parts[2]} }},
		{"standard", `--standard "" and "lot/shore/busgauss-standard.yaml"`, func() []string { return []string{parts[0], "house.part", parts[2]} }},
		{"number of parts", "one is of 3 parts, the other of 4", func() []string {
			return []string{parts[0], changed(func(p *partFile) { p.Run.Parts = 4 })}
		}},
		{"version", "was written by busgauss 9.9.9", func() []string {
			return []string{parts[0], changed(func(p *partFile) { p.Run.Version = "9.9.9" })}
		}},
		{"revision", `--standard-from "" and "main"`, func() []string {
			return []string{parts[0], changed(func(p *partFile) { p.Run.From = "main" })}
		}},
		{"processor", "which round differently", func() []string {
			return []string{parts[0], changed(func(p *partFile) { p.Run.Processor = "abacus" })}
		}},
		{"other layouts", "lot/l001.yaml has changed between them", func() []string {
			return []string{parts[0], changed(func(p *partFile) { p.Run.Layouts[1].Digest = "" })}
		}},
		{"layout twice", "is in 2 parts of 3", func() []string {
			return []string{parts[0], changed(func(p *partFile) { p.Outcomes = append(p.Outcomes, p.Outcomes[0]) }), parts[2]}
		}},
		{"layout in no part", "is in 0 parts of 3", func() []string {
			return []string{parts[0], changed(func(p *partFile) { p.Outcomes = p.Outcomes[1:] }), parts[2]}
		}},
		{"layout of no run", "is none of its run", func() []string {
			return []string{parts[0], changed(func(p *partFile) { p.Outcomes[0].Layout = 99 }), parts[2]}
		}},
	} {
		got := call(dir, append([]string{"merge", "-o", "json=report.json"}, c.parts()...)...)
		if got.status != 2 || got.out != "" || !strings.Contains(got.err, c.want) {
			t.Errorf("%s: status %d, %q, want %q", c.name, got.status, got.err, c.want)
		}
	}
	noReport(t, dir)
}

func noReport(t *testing.T, dir string) {
	t.Helper()
	if _, err := os.Stat(filepath.Join(dir, "report.json")); !os.IsNotExist(err) {
		t.Errorf("a report was written: %v", err)
	}
}

// Parts that are older than a change of a layout or of a file that governs it are refused.
func TestMergeRefusesWhatChanged(t *testing.T) {
	dir := lot(t, 10)
	parts := parted(t, dir, 3, "--remedies", "none")
	for _, c := range []struct {
		name, want string
		change     func()
	}{
		{"new", ": lot/new.yaml is new since", func() { write(t, filepath.Join(dir, "lot/new.yaml"), "layout: 1\n") }},
		{"gone", ": lot/new.yaml has gone since", func() {
			parted(t, dir, 3, "--remedies", "none")
			if err := os.Remove(filepath.Join(dir, "lot/new.yaml")); err != nil {
				t.Fatal(err)
			}
		}},
		{"changed", ": lot/l001.yaml has changed since", func() {
			parted(t, dir, 3, "--remedies", "none")
			write(t, filepath.Join(dir, "lot/l001.yaml"), read(t, dir, "lot/l001.yaml")+"# mended\n")
		}},
		{"standard", ": busgauss-standard.yaml has changed since", func() {
			parted(t, dir, 3, "--remedies", "none")
			write(t, filepath.Join(dir, "busgauss-standard.yaml"), strings.Replace(partStandard, "4 %", "5 %", 1))
		}},
		{"deviations", ": busgauss-deviations.yaml has changed since", func() {
			parted(t, dir, 3, "--remedies", "none")
			write(t, filepath.Join(dir, "busgauss-deviations.yaml"), "deviations: 1\npermits: []\n")
		}},
		{"baseline", ": lot/shore/busgauss-baseline.yaml has changed since", func() {
			parted(t, dir, 3, "--remedies", "none")
			write(t, filepath.Join(dir, "lot/shore/busgauss-baseline.yaml"), "baseline: 1\nfindings: []\n")
		}},
		{"baseline gone", ": lot/shore/busgauss-baseline.yaml has changed since", func() {
			parted(t, dir, 3, "--remedies", "none")
			if err := os.Remove(filepath.Join(dir, "lot/shore/busgauss-baseline.yaml")); err != nil {
				t.Fatal(err)
			}
		}},
	} {
		c.change()
		got := call(dir, append([]string{"merge", "-o", "json=report.json"}, parts...)...)
		if got.status != 2 || got.out != "" || !strings.Contains(got.err, c.want) {
			t.Errorf("%s: status %d, %q, want %q", c.name, got.status, got.err, c.want)
		}
	}
	noReport(t, dir)
}

// A part keeps every bit of a finding, the numbers that are none among them.
func TestPartKeepsBits(t *testing.T) {
	odd := math.Float64frombits(0x7ff8_0000_0000_00ab) // not a number, with a mark of its own
	want := outcome{understood: true,
		said: []finding.Finding{
			{Rule: "a", Verdict: finding.Undecided, Level: finding.Warning, Others: []string{"", "V"}, Details: []string{"x"},
				Message: "\xff\x00", Related: []finding.Related{{Message: "m"}},
				Measure: &finding.Measure{Value: odd, Limit: math.Inf(-1), Certainty: math.NaN(), WholeA: math.Copysign(0, -1),
					Unit: "1", AtLeast: true, Origin: "o", Of: finding.Share{Whole: finding.FullScale, Words: "w"}}},
			{Measure: &finding.Measure{}}, {},
		},
		assumed: []finding.Assumption{{Object: "o", Text: "t"}}}
	p := &partFile{Part: 1, Run: partRun{Version: version(), Parts: 1}}
	p.store([]outcome{want}, []int{0})
	data, err := p.bytes()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	write(t, filepath.Join(dir, "p"), string(data))
	back, err := readPart(&Streams{Dir: dir}, "p")
	if err != nil {
		t.Fatal(err)
	}
	if again, err := back.bytes(); err != nil || !bytes.Equal(again, data) {
		t.Errorf("written again it has other bytes, %v", err)
	}
	got := back.Outcomes[0].outcome()
	for i, v := range numbers(got.said[0].Measure) {
		w := numbers(want.said[0].Measure)[i]
		if math.Float64bits(*v) != math.Float64bits(*w) {
			t.Errorf("number %d is %x, want %x", i, math.Float64bits(*v), math.Float64bits(*w))
		}
		*v, *w = 0, 0 // not a number equals nothing
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

// Work is shared out the dearest first to the part that has least, ties to the first: two parts of 3, 3, 2, 2 and 2 get 7
// and 5 where 6 and 6 would do, the worst that this rule can do with two, 7/6 (4/3 − 1/(3m): R. L. Graham 1969; for two
// parts see F. Della Croce and R. Scatamacchia, arXiv:1801.05489, abstract).
func TestShared(t *testing.T) {
	costs := []int{2, 3, 99, 2, 3, 2}
	which := []int{0, 1, 3, 4, 5} // 99 could not be read
	if got := shared(costs, which, 2); !slices.Equal(got, []int{0, 0, 1, 1, 0}) {
		t.Errorf("shared out as %v", got)
	}
	if got := shared(costs, which, 7); !slices.Equal(got, []int{2, 0, 3, 1, 4}) {
		t.Errorf("to more parts than layouts as %v", got)
	}
}
