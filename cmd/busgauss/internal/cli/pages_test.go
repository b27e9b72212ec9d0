package cli

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// headings returns the anchors of a Markdown file: each heading in small letters with hyphens for spaces, which is all that the
// identifiers of rules need of what hosts make of headings.
func headings(t *testing.T, path string) map[string]int {
	t.Helper()
	out := map[string]int{}
	for _, m := range regexp.MustCompile(`(?m)^#+ (.+)$`).FindAllStringSubmatch(read(t, repository, path), -1) {
		out[strings.ReplaceAll(strings.ToLower(m[1]), " ", "-")]++
	}
	return out
}

// Every helpUri of SARIF and every page of rules --format json is a file of the repository with one heading of that name.
func TestPagesOfRulesExist(t *testing.T) {
	dir := withFixtures(t)
	if err := os.WriteFile(filepath.Join(dir, "busgauss-standard.yaml"), []byte("standard: 1\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	got := call(dir, "check", "--no-store", "--format", "sarif", "clean/plausibility-pair.yaml")
	var log struct {
		Runs []struct {
			Tool struct {
				Driver struct {
					Rules []struct{ ID, HelpURI string }
				}
			}
		}
	}
	if err := json.Unmarshal([]byte(got.out), &log); err != nil || len(log.Runs) != 1 {
		t.Fatalf("%v: %.200s%s", err, got.out, got.err)
	}
	var pages, inSarif []string
	for _, r := range log.Runs[0].Tool.Driver.Rules {
		page, ours := strings.CutPrefix(r.HelpURI, home)
		if !ours {
			t.Errorf("%s: helpUri %q", r.ID, r.HelpURI)
		}
		if !strings.HasSuffix(page, "#"+r.ID) {
			t.Errorf("%s is explained in %s", r.ID, page)
		}
		pages, inSarif = append(pages, page), append(inSarif, r.ID)
	}
	var list ruleReport
	if err := json.Unmarshal([]byte(call(dir, "rules", "--format", "json").out), &list); err != nil {
		t.Fatal(err)
	}
	for _, r := range list.Rules {
		if pages = append(pages, r.Page); !slices.Contains(inSarif, r.Rule) {
			t.Errorf("%s stands in no SARIF file", r.Rule)
		}
	}
	if len(list.Rules) < 50 || len(inSarif) != len(list.Rules)+1 { // and "undecided"
		t.Errorf("%d rules, %d in SARIF", len(list.Rules), len(inSarif))
	}
	anchors := map[string]map[string]int{}
	for _, page := range pages {
		path, anchor, _ := strings.Cut(page, "#")
		if anchors[path] == nil {
			anchors[path] = headings(t, path)
		}
		if anchors[path][anchor] != 1 {
			t.Errorf("%s has %d headings %q", path, anchors[path][anchor], anchor)
		}
	}
}

// HTML is not poured on a terminal; what is asked for by name is.
func TestReportOnATerminal(t *testing.T) {
	dir := withFixtures(t)
	for _, c := range []struct {
		terminal bool
		args     []string
		status   int
	}{
		{true, nil, 2},
		{false, nil, 0},
		{true, []string{"--output", "-"}, 0},
		{true, []string{"--format", "markdown"}, 0},
		{true, []string{"--output", "page.html"}, 0},
	} {
		var out, said strings.Builder
		args := append([]string{"report", "--no-store", "clean/plausibility-pair.yaml"}, c.args...)
		status := run(context.Background(), args, Streams{In: strings.NewReader(""), Out: &out, Err: &said,
			OutIsTerminal: c.terminal, Env: func(string) string { return "" }, Dir: dir})
		if status != c.status || status == 2 && (out.Len() > 0 || !strings.Contains(said.String(), "--output page.html")) {
			t.Errorf("terminal %v, %v: status %d, %d bytes: %s", c.terminal, c.args, status, out.Len(), said.String())
		}
	}
}

// The null device and a pipe are no terminals.
func TestIsTerminal(t *testing.T) {
	null, err := os.OpenFile(os.DevNull, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer null.Close()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	defer w.Close()
	for _, f := range []*os.File{null, w} {
		if isTerminal(f) {
			t.Errorf("%s is a terminal", f.Name())
		}
	}
}
