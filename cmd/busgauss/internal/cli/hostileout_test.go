package cli

import (
	"bytes"
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/spf13/cobra"
)

// bad is text that a host takes for a command where it begins a line, or wherever it stands, with a colour and a mark of direction.
// The commands are those of github.com/actions/runner (ActionCommand.cs) and of the logging commands of Azure Pipelines.
const bad = "::error::x ##[error]y ##vso[task.complete]z \x1b[31m\u202e"

// badFile is the same as the name of a file, which holds no slash; badLine begins a line of its own.
var (
	badFile = strings.NewReplacer("/", "", "\x1b", "\x1b").Replace(bad)
	badLine = "a\n" + bad
)

// commandLine finds what a host would take for a command of its own.
var commandLine = regexp.MustCompile(`(?i)##[a-z]*\[`)

// unsafeLine says what is wrong with a line of output; ours says that it may be a command of the format for annotations.
func unsafeLine(line string, ours bool) string {
	for _, r := range line {
		if r != '\t' && unicode.IsControl(r) || r == '\u202e' || r == '\u2028' || r == unicode.ReplacementChar {
			return "holds what nobody sees"
		}
	}
	start := strings.TrimLeftFunc(line, unicode.IsSpace)
	switch {
	case commandLine.MatchString(line):
		return "holds a command"
	case strings.HasPrefix(start, "::") && !(ours && regexp.MustCompile(`^::(error|warning|notice) (file|title)=`).MatchString(line)):
		return "begins with a command"
	}
	return ""
}

// TestHostileText runs every command, on both streams, with names of files, titles, objects, revisions, options and texts of a
// standard that try to be commands of a host, and holds each line of output to be none.
func TestHostileText(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("names of files")
	}
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("no git")
	}
	dir := hostileRepository(t)
	file, other := badFile+".yaml", filepath.Join(badFile, "broken.yaml")
	rows := [][]string{
		{bad}, {"--" + bad}, {"help", bad}, {"-" + bad}, {"--version", bad},
		{"baseline", bad}, {"baseline", "--date", bad, file}, {"baseline", file}, {"baseline", "--prune", file}, {"baseline", other}, {"baseline", "--standard", bad, file},
		{"check", bad}, {"check", "--" + bad, file}, {"check", "--format", bad, file}, {"check", "--fail-level", bad, file}, {"check", "--color", bad, file},
		{"check", "--remedies", bad, file}, {"check", "--output", bad, file}, {"check", "--output", "json=" + bad + "/" + bad, file}, {"check", "--output", bad + "=" + bad, file},
		{"check", "--part", bad, file}, {"check", "--date", bad, file}, {"check", "--standard", bad, file}, {"check", "--standard-from", bad, file},
		{"check", "--changed-since", bad, file}, {"check", "--standard-from", badLine, file}, {"check", "--store", filepath.Join(dir, bad), file}, {"check", bad + "*"},
		{"check", "--verbose", "--detail", "--passes", "--date", "2026-06-01", "."}, {"check", "--format", "github", "."}, {"check", "--format", "json", "."}, {"check", "--format", "sarif", "."},
		{"check", "--format", "sarif-audit", "."}, {"check", "--format", "junit", "."}, {"check", "--format", "codequality", "."}, {"check", "--format", "markdown", "--passes", "."},
		{"check", "--changed-since", "main", "--date", "2026-06-01", "--detail", "."}, {"check", "--changed-since", "main", "--format", "github", "."}, {"check", "--part", "1/1", "--output", "part=" + badFile + ".part", "."},
		{"check", "--stdin-name", bad, "-"}, {"check", "--verbose", "link.yaml", file}, {"check", "busgauss-standard.yaml"}, {"check", "--standard", "wrong.yaml", file},
		{"compare", bad}, {"compare", bad, bad}, {"compare", "main"}, {"compare", "--all", "--detail", "main"}, {"compare", "--all", "main"}, {"compare", "--format", "json", "main"},
		{"compare", "--format", "markdown", "main"}, {"compare", "--format", bad, "main"}, {"compare", "--under", bad, "main"}, {"compare", "main", badFile}, {"compare", file, "main"}, {"compare", "--output", bad, "main"},
		{"coupling", bad}, {"coupling", file}, {"coupling", "--format", "csv", file}, {"coupling", "--format", "json", file}, {"coupling", "--format", "firmware", file}, {"coupling", "--format", bad, file}, {"coupling", other},
		{"field", bad}, {"field", file}, {"field", "--format", "csv", file}, {"field", "--format", "json", file}, {"field", "--at", bad, file}, {"field", "--duty", bad, file}, {"field", other}, {"field", "."},
		{"init", "--dry-run", bad}, {"init", bad, bad}, {"init", badFile}, {"init", file},
		{"mend", bad}, {"mend", "--dry-run", "."}, {"mend", "--only", bad, file}, {"mend", "--remedies", bad, file}, {"mend", "--dry-run", "--slips", other},
		{"merge", bad}, {"merge", file}, {"merge", badFile + ".part"}, {"merge", "--format", bad, file},
		{"report", bad}, {"report", file}, {"report", "--format", "markdown", file}, {"report", "--format", "json", file}, {"report", "--format", bad, file}, {"report", "--cover", bad, file}, {"report", "--cover", "wrong.yaml", file},
		{"report", "--output", filepath.Join(bad, bad), file}, {"report", "--history", bad, file}, {"report", "--output", "pages/", "."}, {"report", "--date", bad, file}, {"report", other},
		{"rules", bad}, {"rules", "--format", bad}, {"schema", bad}, {"notices", bad}, {"standard", bad}, {"standard", "show", bad}, {"standard", "show", file}, {"standard", "show", other},
		{"standard", "show", "--standard", "wrong.yaml"}, {"standard", "show", "--standard-from", bad}, {"standard", "show", "--standard-from", "main", file},
		{"language-server", bad}, {"completion", bad}, {"completion", "bash", bad},
		{"__complete", "compare", ""}, {"__complete", "check", "--standard-from", ""}, {"__complete", "check", bad, ""}, {"__complete", "rules", bad}, {"__complete", "check", "--format", bad},
	}
	s := Streams{Err: &bytes.Buffer{}}
	for _, c := range everyCommand(newRoot(&s)) {
		if c != "completion" && c != "help" && !slices.ContainsFunc(rows, func(row []string) bool { return strings.HasPrefix(strings.Join(row, " ")+" ", c+" ") }) {
			t.Errorf("nothing is tried on %s", c)
		}
	}
	for _, row := range rows {
		var out, said bytes.Buffer
		status := run(context.Background(), row, Streams{In: strings.NewReader("layout: 1\n"), Out: &out, Err: &said, Env: os.Getenv, Dir: dir})
		if row[0] != "baseline" {
			os.Remove(filepath.Join(dir, "busgauss-baseline.yaml"))
		}
		ours := slices.Contains(row, "github")
		for _, stream := range []struct{ name, text string }{{"standard output", out.String()}, {"standard error", said.String()}} {
			for line := range strings.Lines(stream.text) {
				if why := unsafeLine(strings.TrimSuffix(line, "\n"), ours); why != "" {
					t.Errorf("%q (status %d), %s: %s: %.300q", row, status, stream.name, why, line)
				}
			}
		}
		if out.Len()+said.Len() == 0 && status != statusClean {
			t.Errorf("%q: status %d and not a word", row, status)
		}
	}
}

// everyCommand returns the paths of all commands that do something, without the name of the program.
func everyCommand(c *cobra.Command) []string {
	var out []string
	for _, sub := range c.Commands() {
		if sub.Hidden || strings.HasPrefix(sub.Name(), "__") {
			continue
		}
		if !sub.HasSubCommands() || sub.Name() == "standard" {
			out = append(out, strings.TrimPrefix(sub.CommandPath(), "busgauss "))
		}
		if sub.Name() != "completion" {
			out = append(out, everyCommand(sub)...)
		}
	}
	return out
}

// hostileRepository makes a repository in which every name and text tries to be a command.
func hostileRepository(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "repo")
	yaml := strings.NewReplacer("\x1b", `\e`, "\u202e", `\u202e`).Replace(bad)
	fill := func(text string) string { return strings.ReplaceAll(text, "BAD", yaml) }
	files := map[string]string{
		badFile + ".yaml": fill(`layout: 1
title: "BAD\nBAD"
bars:
  "BADU": {section: {width: 20 mm, thickness: 3 mm}, at: [-24 mm, 0 mm], metal: copper}
  "BADV": {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
sensors:
  "BAD S": {reads: "BADU", at: [-24 mm, 5.5 mm], axis: 180 deg, part: "BADP"}
  "BAD T": {reads: "BADV", at: [0 mm, 5.5 mm], axis: 0 deg, part: "BADP"}
parts:
  "BADP": {linear-range: 20 mT, sensitivity: 70 mV/mT}
duties:
  "BADD": {kind: continuous, currents: {"BADU": {dc: 200 A}, "BADV": {dc: -200 A}}}
`),
		filepath.Join(badFile, "broken.yaml"): fill("layout: 1\n\"BAD\": 1\nbarz: {\"BAD\": BAD}\nsensors: {S: {reads: \"BAD\", axis: \"BAD\", at: \"BAD\"}}\n"),
		"slip.yaml":                           fill("layout: 1\ntitle: |\n  a\n  BAD\n  ::error::x\nbarz: {}\nsensors: {}\n"),
		"busgauss-standard.yaml": fill(`standard: 1
title: "BAD"
edition: "BAD"
rules:
  stray-ratio: {limits: {budget: 30 %}, reason: "BAD"}
classes:
  "BAD":
    channels: ["*"]
    rules:
      stray-ratio: {limits: {budget: 20 %}, reason: "BAD"}
house-rules:
  bad-words: {title: "BAD", for: channel, holds: "linear_range_share < 0.001", message: "BAD {name}", remedy: "BAD", level: warning, reason: "BAD"}
`),
		"busgauss-deviations.yaml": fill("deviations: 1\npermits:\n  - {file: \"d/BAD.yaml\", rule: polarity, object: \"BAD T\", reason: \"BAD\", approver: \"BAD\", until: 2026-12-31}\n  - {file: \"d/BAD\", rule: polarity, object: \"BAD\", reason: \"BAD\", approver: \"BAD\", until: 2026-12-31}\n"),
		"wrong.yaml":               fill("standard: 1\n\"BAD\": 1\nrules: {\"BAD\": {level: \"BAD\"}}\nextends: [\"BAD\"]\n"),
	}
	files[filepath.Join("d", badFile+".yaml")] = files[badFile+".yaml"]
	for name, text := range files {
		full := filepath.Join(dir, name)
		if err := errors.Join(os.MkdirAll(filepath.Dir(full), 0o755), os.WriteFile(full, []byte(text), 0o644)); err != nil {
			t.Skipf("a name that this system refuses: %v", err)
		}
	}
	git(t, dir, "init", "-q", "-b", "main")
	git(t, dir, "add", "-A")
	git(t, dir, "commit", "-q", "-m", "first")
	git(t, dir, "checkout", "-q", "-b", "request")
	text := strings.ReplaceAll(files[badFile+".yaml"], "at: [0 mm, 5.5 mm]", "at: [0 mm, 6.5 mm]")
	text = regexp.MustCompile(`(?m)^  ".* S": .*\n`).ReplaceAllString(text, "")
	if err := errors.Join(os.WriteFile(filepath.Join(dir, badFile+".yaml"), []byte(text), 0o644), os.Symlink("/"+badFile, filepath.Join(dir, "link.yaml")),
		os.WriteFile(filepath.Join(dir, "busgauss-standard.yml"), nil, 0o644)); err != nil {
		t.Fatal(err)
	}
	return dir
}
