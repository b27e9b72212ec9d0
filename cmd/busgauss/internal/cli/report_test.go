package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"busgauss/fixtures"
	"busgauss/rules/report"
)

// The page has the same bytes on one thread and on eight: of the closed form, of bars
// in space, of finite elements with saturating iron, which -long adds a whole channel to.
func TestReportSameBytes(t *testing.T) {
	dir := withFixtures(t)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	names := []string{"clean/plausibility-pair.yaml", "clean/ferry-thruster.yaml", "clean/winch-bends.yaml", "reference/plane-cases/u-shield-saturating-800A.yaml"}
	if *long {
		names = append(names, "failing/winch-channels.yaml")
	}
	for _, name := range names {
		var first string
		for _, threads := range []int{1, 8} {
			runtime.GOMAXPROCS(threads)
			got := call(dir, "report", name)
			if got.status != 0 || len(got.out) < 10000 {
				t.Fatalf("%s: status %d, %d bytes: %s", name, got.status, len(got.out), got.err)
			}
			if first == "" {
				first = got.out
			} else if got.out != first {
				t.Errorf("%s: other bytes on %d threads", name, threads)
			}
		}
	}
}

// totals counts the verdicts of a page or an index.
type totals struct{ Fail, Noted, Undecided, Permitted, Pass int }

type judgedVerdict struct{ Verdict, Level string }

func totalsOf(verdicts []judgedVerdict) (own totals) {
	for _, v := range verdicts {
		switch {
		case v.Verdict == "fail" && v.Level == "note":
			own.Noted++
		case v.Verdict == "fail":
			own.Fail++
		case v.Verdict == "undecided":
			own.Undecided++
		case v.Verdict == "permitted":
			own.Permitted++
		case v.Verdict == "pass":
			own.Pass++
		}
	}
	return own
}

// The totals of an index are those of its pages, layout by layout and in all, in every format; a failure that the
// house standard makes a note counts as noted on both.
func TestIndexAgreesWithItsPages(t *testing.T) {
	dir := t.TempDir()
	names := []string{"failing/laminated-pair.yaml", "failing/cable-car-winch.yaml", "clean/plausibility-pair.yaml"}
	for _, name := range names {
		data, err := fixtures.FS.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		write(t, filepath.Join(dir, filepath.Base(name)), string(data))
	}
	write(t, filepath.Join(dir, "busgauss-standard.yaml"), "standard: 1\nrules:\n  bar-heating: {level: note, reason: heating is looked at elsewhere}\n")
	var index struct {
		Totals  totals
		Layouts []struct {
			Page string
			totals
		}
	}
	read := func(name string, into any) {
		t.Helper()
		data, err := os.ReadFile(filepath.Join(dir, "audit", name))
		if err == nil {
			err = json.Unmarshal(data, into)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, format := range reportFormats {
		if got := call(dir, "report", "--no-store", "--format", format, "--output", "audit/", "."); got.status != 0 {
			t.Fatal(got.err)
		}
	}
	read("index.json", &index)
	var all totals
	for _, l := range index.Layouts {
		var page struct {
			Totals   totals
			Verdicts []judgedVerdict
		}
		read(l.Page, &page)
		own := totalsOf(page.Verdicts)
		if l.totals != own || page.Totals != own {
			t.Errorf("%s: the index has %+v, the page %+v, its verdicts are %+v", l.Page, l.totals, page.Totals, own)
		}
		html, err := os.ReadFile(filepath.Join(dir, "audit", strings.TrimSuffix(l.Page, ".json")+".html"))
		if err != nil {
			t.Fatal(err)
		}
		words := regexp.MustCompile("<[^>]*>").ReplaceAllString(string(html), "")
		want := fmt.Sprintf("%d failing, ", own.Fail)
		if own.Noted > 0 {
			want += fmt.Sprintf("%d noted, ", own.Noted)
		}
		if want += fmt.Sprintf("%d undecided, %d permitted, %d passed, ", own.Undecided, own.Permitted, own.Pass); !strings.Contains(words, want) {
			t.Errorf("%s does not say %q", l.Page, want)
		}
		all = totals{all.Fail + own.Fail, all.Noted + own.Noted, all.Undecided + own.Undecided, all.Permitted + own.Permitted, all.Pass + own.Pass}
	}
	if len(index.Layouts) != len(names) || index.Totals != all || all.Noted == 0 || all.Fail == 0 {
		t.Errorf("%d layouts: the index has %+v, its pages %+v", len(index.Layouts), index.Totals, all)
	}
	for name, row := range map[string]string{
		"index.html": fmt.Sprintf(`<td data-label="Fail">%d</td><td data-label="Noted">%d</td><td data-label="Undecided">%d</td><td data-label="Permitted">%d</td><td data-label="Pass">%d</td><td data-label="Smallest margin">–</td></tr></tfoot>`,
			all.Fail, all.Noted, all.Undecided, all.Permitted, all.Pass),
		"index.markdown": fmt.Sprintf("| all layouts | 3 pages | | %d | %d | %d | %d | %d | |", all.Fail, all.Noted, all.Undecided, all.Permitted, all.Pass),
	} {
		data, err := os.ReadFile(filepath.Join(dir, "audit", strings.Replace(name, "markdown", "md", 1)))
		if err != nil || !strings.Contains(string(data), row) {
			t.Errorf("%s lacks %s (%v)", name, row, err)
		}
	}
}

// Names hold letters, digits, hyphens and underscores, no two are alike even where
// upper and lower case are the same, and none is that of the index.
func TestPageNames(t *testing.T) {
	var inputs []input
	for _, path := range []string{"a/b.yaml", "a-b.yml", "A-B.json", "a-b-3.yaml", "index.yaml", "..yaml", "ü.yaml", strings.Repeat("n", 300) + ".yaml", "con\u202e<x>.yaml"} {
		inputs = append(inputs, input{File: report.File{RootPath: path}})
	}
	got := pageNames(inputs, ".html")
	want := []string{"a-b.html", "a-b-2.html", "A-B-3.html", "a-b-3-2.html", "index-2.html", "layout.html", "layout-2.html", strings.Repeat("n", 80) + ".html", "con--x.html"}
	if !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// The line appears after a second, is overwritten as a whole, and is wiped.
func TestTeller(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var out bytes.Buffer
		p := startTelling(&out)
		p.say("drive.yaml: checking")
		time.Sleep(1500 * time.Millisecond)
		p.say("x\x1b: section")
		time.Sleep(time.Second)
		p.end()
		p.end()
		long, short := "busgauss: drive.yaml: checking", `busgauss: x\x1b: section`
		want := "\r" + long + "\r" + short + strings.Repeat(" ", len(long)-len(short)) + "\r" + strings.Repeat(" ", len(long)) + "\r"
		if out.String() != want {
			t.Errorf("wrote %q, want %q", out.String(), want)
		}
	})
	synctest.Test(t, func(t *testing.T) {
		var out bytes.Buffer
		p := startTelling(&out)
		p.say("short work")
		time.Sleep(500 * time.Millisecond)
		p.end()
		if out.Len() != 0 {
			t.Errorf("short work wrote %q", out.String())
		}
	})
	p := startTelling(nil)
	p.say("nobody looks")
	p.end()
}

// A revision that git has checked out stands on the cover, and so does it when the
// layout has changed since.
func TestReportRevision(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "drive.yaml"), bare(1))
	git(t, dir, "init", "-q")
	git(t, dir, "add", ".")
	git(t, dir, "-c", "user.name=A", "-c", "user.email=a@example.org", "commit", "-q", "-m", "first")
	printed, err := exec.Command("git", "-C", dir, "rev-parse", "HEAD").Output()
	if err != nil {
		t.Fatal(err)
	}
	head := strings.TrimSpace(string(printed))
	got := call(dir, "report", "drive.yaml")
	if !strings.Contains(got.out, "<dt>Revision</dt><dd>"+head+"</dd>") {
		t.Errorf("the cover does not name %s: %s", head, got.err)
	}
	write(t, filepath.Join(dir, "drive.yaml"), bare(2))
	got = call(dir, "report", "drive.yaml")
	if !strings.Contains(got.out, "<dt>Revision</dt><dd>"+head+", and the layout has changed since</dd>") {
		t.Errorf("the cover does not tell of the change: %s", got.err)
	}
}
