package cli

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules/engine"
	"busgauss/rules/report"
)

// holding returns a judge that finds one thing in each layout, and that does not come to an end on the one at path before
// the test does.
func holding(t *testing.T, path string) judge {
	held := make(chan struct{})
	t.Cleanup(func() { close(held) })
	return func(f *report.File, s *layoutStandard, list []engine.Rule, opt engine.Options) outcome {
		if f.Path == path {
			<-held
		}
		first := span.Pos{Line: 1, Column: 1}
		return outcome{understood: true, said: []finding.Finding{{Rule: "polarity", Verdict: finding.Fail, Level: finding.Warning,
			Message: "found", Span: span.Span{File: f.Path, Start: first, End: first}}}}
	}
}

// One layout that is not done in time is named on standard error; the reports hold all others, and the status is 2. In a
// part it is late as well, and the merge says so.
func TestLateLayout(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"a.yaml", "b.yaml", "c.yaml"} {
		write(t, filepath.Join(dir, name), "layout: 1\n")
	}
	run := func(part, output string) (said, complained string, err error) {
		var out, errs bytes.Buffer
		s := &Streams{Out: &out, Err: &errs, Dir: dir, Env: func(string) string { return "" }}
		o := &checkOptions{format: "text", failLevel: "warning", color: "never", remedies: "quick", outputs: []string{output}, part: part, storeOptions: storeOptions{none: true, mb: 1}}
		o.checker = checker{judge: holding(t, "b.yaml"), longest: 200 * time.Millisecond}
		err = check(context.Background(), s, o, []string{"."})
		return out.String(), errs.String(), err
	}
	const word = "busgauss: check b.yaml: not done within 10m0s, the most that one layout may take"
	out, errs, err := run("", "json=all.json")
	var f *failure
	if !errors.As(err, &f) || f.status != statusTrouble || f.cause != nil {
		t.Errorf("error %v, want status 2", err)
	}
	if !strings.Contains(errs, word) || !strings.Contains(out, "2 files") {
		t.Errorf("said %q and %q", errs, out)
	}
	all := read(t, dir, "all.json")
	if strings.Count(all, `"a.yaml"`) != 1 || strings.Count(all, `"c.yaml"`) != 1 || strings.Contains(all, "b.yaml") {
		t.Errorf("the report is %s", all)
	}
	for _, k := range []string{"1", "2"} {
		if out, errs, err := run(k+"/2", "part="+k+".part"); err != nil || out != "" || strings.Contains(errs, word) != (k == "2") {
			t.Errorf("part %s: %v, %q, %q", k, err, out, errs)
		}
	}
	got := call(dir, "merge", "-o", "json=merged.json", "1.part", "2.part")
	if got.status != 2 || got.out != out || got.err != word+": nothing is said of it; make several of it\n" {
		t.Errorf("merge: %+v", got)
	}
	if read(t, dir, "merged.json") != all {
		t.Error("the merged report is another")
	}
}

// The dearest layout begins first, those of one cost in the order of their paths, and outcomes stay in that order.
func TestDearestFirst(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	dir := withFixtures(t)
	names := []string{"clean/ferry-thruster.yaml", "clean/plausibility-pair.yaml", "failing/crane-copper-channel.yaml", "failing/winch-channels.yaml"}
	s := &Streams{Dir: dir}
	inputs, _, err := gather(context.Background(), names, s, "")
	if err != nil {
		t.Fatal(err)
	}
	costs, err := costsOf(context.Background(), inputs)
	if err != nil {
		t.Fatal(err)
	}
	var mu sync.Mutex
	var began []string
	c := checker{judge: func(f *report.File, _ *layoutStandard, _ []engine.Rule, _ engine.Options) outcome {
		mu.Lock()
		began = append(began, f.Path)
		mu.Unlock()
		return outcome{assumed: nil, understood: f.Path == names[2]}
	}}
	got, err := c.check(context.Background(), inputs, make([]layoutStandard, len(inputs)), costs, readable(inputs))
	if err != nil {
		t.Fatal(err)
	}
	if want := []string{names[3], names[2], names[0], names[1]}; !slices.Equal(began, want) {
		t.Errorf("began in the order %v, costs %v, want %v", began, costs, want)
	}
	for i := range got {
		if got[i].understood != (i == 2) {
			t.Errorf("outcome %d is that of another layout", i)
		}
	}
}

// The siblings of check lose nothing to a late layout either: it is named, the others count, and the status is 2.
func TestLateSiblings(t *testing.T) {
	dir := t.TempDir()
	for _, side := range []string{"old", "new"} {
		if err := os.Mkdir(filepath.Join(dir, side), 0o755); err != nil {
			t.Fatal(err)
		}
		for _, name := range []string{"a.yaml", "b.yaml", "c.yaml"} {
			write(t, filepath.Join(dir, side, name), "layout: 1\ntitle: "+side+name+"\n")
		}
	}
	late := func() checker { return checker{judge: holding(t, "b.yaml"), longest: 200 * time.Millisecond} }
	ended := func(err error) bool {
		var f *failure
		return errors.As(err, &f) && f.status == statusTrouble && f.cause == nil
	}
	const word = "busgauss: check b.yaml: not done within 10m0s, the most that one layout may take"

	var out, errs bytes.Buffer
	s := &Streams{Out: &out, Err: &errs, Dir: dir, Env: func(string) string { return "" }}
	err := compareCommand(context.Background(), s, &compareOptions{format: "text", failLevel: "none", under: ".", storeOptions: storeOptions{none: true, mb: 1},
		checker: late()}, []string{"old", "new"})
	if !ended(err) || strings.Count(errs.String(), word) != 2 || !strings.Contains(out.String(), "2 unchanged") || !strings.Contains(out.String(), "b.yaml: not read: not done within 10m0s") {
		t.Errorf("compare: %v, %q, %q", err, out.String(), errs.String())
	}

	errs.Reset()
	s.Dir = filepath.Join(dir, "new")
	record := func(c checker) error {
		return baseline(context.Background(), s, &baselineOptions{storeOptions: storeOptions{none: true, mb: 1}, checker: c}, []string{"."})
	}
	if err := record(checker{judge: holding(t, "none")}); err != nil {
		t.Fatalf("baseline: %v", err)
	}
	first := read(t, s.Dir, "busgauss-baseline.yaml")
	if strings.Count(first, "b.yaml") != 1 {
		t.Fatalf("the baseline is %s", first)
	}
	err = record(late())
	if !ended(err) || strings.Count(errs.String(), word) != 1 {
		t.Errorf("baseline: %v, %q", err, errs.String())
	}
	if now := read(t, s.Dir, "busgauss-baseline.yaml"); now != first {
		t.Errorf("what was recorded of the late layout has changed: %s", now)
	}
	write(t, filepath.Join(s.Dir, "b.yaml"), "layout: 1\n")
	if err := os.Remove(filepath.Join(s.Dir, "busgauss-baseline.yaml")); err != nil {
		t.Fatal(err)
	}
	if err := record(late()); !ended(err) {
		t.Errorf("baseline: %v", err)
	}
	if now := read(t, s.Dir, "busgauss-baseline.yaml"); strings.Contains(now, "b.yaml") || !strings.Contains(now, "c.yaml") {
		t.Errorf("a new baseline without the late layout is %s", now)
	}
}

// A layout that is late as it was before a change is named; what the others gave counts.
func TestLateBefore(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"a.yaml", "b.yaml"} {
		write(t, filepath.Join(dir, name), "layout: 1\ntitle: old "+name+"\n")
	}
	git(t, dir, "init", "-q", "-b", "main")
	git(t, dir, "add", "-A")
	git(t, dir, "commit", "-q", "-m", "first")
	for _, name := range []string{"a.yaml", "b.yaml"} {
		write(t, filepath.Join(dir, name), "layout: 1\ntitle: new "+name+"\n")
	}
	held, one := make(chan struct{}), holding(t, "none")
	defer close(held)
	var out, errs bytes.Buffer
	s := &Streams{Out: &out, Err: &errs, Dir: dir, Env: os.Getenv}
	o := &checkOptions{format: "text", failLevel: "none", color: "never", remedies: "quick", since: "main", storeOptions: storeOptions{none: true, mb: 1}}
	o.checker = checker{longest: 200 * time.Millisecond, judge: func(f *report.File, s *layoutStandard, list []engine.Rule, opt engine.Options) outcome {
		if f.Path == "b.yaml" && bytes.Contains(f.Data, []byte("old")) {
			<-held
		}
		return one(f, s, list, opt)
	}}
	err := check(context.Background(), s, o, []string{"a.yaml", "b.yaml"})
	var f *failure
	if !errors.As(err, &f) || f.status != statusTrouble || f.cause != nil {
		t.Errorf("error %v, want status 2", err)
	}
	if !strings.Contains(errs.String(), "busgauss: check b.yaml as it was in ") || !strings.Contains(errs.String(), "0 others are not shown") && !strings.Contains(errs.String(), "1 others are not shown") {
		t.Errorf("said %q and %q", errs.String(), out.String())
	}
}
