package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"busgauss/model/field"
	"busgauss/model/finding"
	"busgauss/schema/load"
)

// hostileRun is what one check of a hostile layout gave, in a process of its own.
type hostileRun struct {
	status   int
	gaveUp   bool // the process was ended after mostHostile
	verdicts map[string]int
	cost     string // see costWords
	peakMB   float64
	unsound  []string
}

// mostHostile ends a process that would not end by itself. What it was about is named in the table.
const mostHostile = 3 * time.Minute

// verdictWords are the columns of verdicts.
var verdictWords = []string{finding.Pass.String(), finding.Fail.String(), finding.Undecided.String(), finding.NotApplicable.String()}

// checkHostile checks a layout and holds what the program says to what is true of every check.
func checkHostile(t testing.TB, program, text string) hostileRun {
	t.Helper()
	dir := t.TempDir()
	write(t, filepath.Join(dir, "layout.yaml"), text)
	ctx, stop := context.WithTimeout(context.Background(), mostHostile)
	defer stop()
	p := exec.CommandContext(ctx, program, "check", "--no-store", "--remedies", "none", "--format", "json", "--passes", "--output", "text=said.txt", "layout.yaml")
	p.Dir = dir
	var out, errs bytes.Buffer
	p.Stdout, p.Stderr = &out, &errs
	err := p.Run()
	r := hostileRun{verdicts: map[string]int{}, cost: costWords(text)}
	if u := reflect.Indirect(reflect.ValueOf(p.ProcessState.SysUsage())); u.Kind() == reflect.Struct {
		if rss := u.FieldByName("Maxrss"); rss.IsValid() { // in kB by Linux
			r.peakMB = float64(rss.Int()) * 1024 / 1e6
		}
	}
	if ctx.Err() != nil {
		r.gaveUp = true
		return r
	}
	tell := func(format string, args ...any) { r.unsound = append(r.unsound, fmt.Sprintf(format, args...)) }
	var failed *exec.ExitError
	if err != nil && !errors.As(err, &failed) {
		t.Fatal(err)
	}
	r.status = p.ProcessState.ExitCode()
	if r.status != statusClean && r.status != statusFindings || strings.Contains(errs.String(), "goroutine ") {
		tell("status %d: %.300s", r.status, errs.String())
		return r
	}
	var report map[string][]jsonFinding
	var whole map[string]json.RawMessage
	if err := json.Unmarshal(out.Bytes(), &whole); err != nil {
		tell("no JSON: %v", err)
		return r
	}
	report = map[string][]jsonFinding{}
	for _, key := range []string{"findings", "passed", "not_applicable"} {
		var list []jsonFinding
		if err := json.Unmarshal(whole[key], &list); err != nil {
			t.Fatalf("%s of the report: %v", key, err)
		}
		report[key] = list
		for i := range list {
			r.verdicts[list[i].Verdict]++
			if why := list[i].unsound(); why != "" {
				tell("%s of %s: %s", list[i].Rule, list[i].Object, why)
			}
		}
	}
	if len(report["findings"])+len(report["passed"])+len(report["not_applicable"]) == 0 {
		tell("nothing is said")
	}
	if words, err := os.ReadFile(filepath.Join(dir, "said.txt")); err != nil {
		tell("no text: %v", err)
	} else {
		for _, word := range notNumbers {
			if i := bytes.Index(words, []byte(word)); i >= 0 {
				tell("the text says %q: ...%s...", word, words[max(0, i-100):min(len(words), i+60)])
			}
		}
	}
	return r
}

// jsonFinding is a finding as a reader outside has it.
type jsonFinding struct {
	Rule, Verdict, Object, Message string
	Value, Limit, Certainty        *float64
	AtLeast                        bool   `json:"at_least"`
	LimitOrigin                    string `json:"limit_origin"`
}

// unsound says what is wrong with a finding; empty where nothing is. Only a pass or a fail that was compared has a limit.
func (f *jsonFinding) unsound() string {
	if f.Verdict != "pass" && f.Verdict != "fail" || f.LimitOrigin == "" {
		return ""
	}
	number := func(v *float64) float64 {
		if v == nil {
			return math.NaN()
		}
		return *v
	}
	m := finding.Measure{Value: number(f.Value), Limit: number(f.Limit), AtLeast: f.AtLeast}
	verdict := finding.Pass
	if f.Verdict == "fail" {
		verdict = finding.Fail
	}
	if !onItsSide(&finding.Finding{Verdict: verdict, Measure: &m}) {
		return fmt.Sprintf("%s with %g against %g", f.Verdict, m.Value, m.Limit)
	}
	return ""
}

// costWords says what a layout costs before anything is solved, as a multiple of bare bars: the one place where the table asks
// for it.
func costWords(text string) string {
	l, _ := load.Load("layout.yaml", []byte(text))
	if l == nil {
		return "refused"
	}
	return fmt.Sprint(field.NewModel(l).Cost())
}

// memoryWords is the next power of two above a figure, for figures of two runs differ by some per cent.
func memoryWords(peakMB float64) string {
	most := 64.0
	for most < peakMB {
		most *= 2
	}
	return fmt.Sprintf("≤ %.0f", most)
}
