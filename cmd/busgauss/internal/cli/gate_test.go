package cli

import (
	"bytes"
	"context"
	"fmt"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"

	"golang.org/x/tools/txtar"
)

// gatePage is the table of TestGate, in the folder of the hosts.
const gatePage = "../../../../.github/gate.md"

const gateHead = `# Ways to weaken the gate

A branch holds data, and what it holds may be written to get past the check. Each row below is a test: a repository whose layouts pass,
a branch that does what the script says, and what the run then ends with. None may end with 0. Written by

    go test ./cmd/busgauss/internal/cli -run TestGate -update

| what is tried | script | run | status | what it says |
| --- | --- | --- | --- | --- |
`

// gateSays finds what a run says of a trick, in the order of what is looked for.
var gateSays = []*regexp.Regexp{
	regexp.MustCompile(`\[(layout-gone|checks-gone|limit-looser|standard-name|standard-file)\]`),
	regexp.MustCompile(`"message": `),
	regexp.MustCompile(`^busgauss: .*(link|ambiguous|belongs to git)`),
	regexp.MustCompile(`: error: `),
}

// TestGate runs each way of testdata/gate, wants none to pass, and holds the published table to what they gave.
func TestGate(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("scripts of sh")
	}
	for _, need := range []string{"git", "sh", "sed"} {
		if _, err := exec.LookPath(need); err != nil {
			t.Skip("no " + need)
		}
	}
	if out, err := exec.Command("sed", "--version").Output(); err != nil || !bytes.Contains(out, []byte("GNU")) {
		t.Skip("the scripts are for the sed of GNU")
	}
	archive, err := txtar.ParseFile("testdata/gate/ways.txtar")
	if err != nil {
		t.Fatal(err)
	}
	var base []txtar.File
	var page bytes.Buffer
	page.WriteString(gateHead)
	for _, f := range archive.Files {
		if name, ok := strings.CutPrefix(f.Name, "base/"); ok {
			base = append(base, txtar.File{Name: name, Data: f.Data})
			continue
		}
		lines := strings.Split(strings.TrimSpace(string(f.Data)), "\n")
		title, script, command := strings.TrimPrefix(lines[0], "# "), lines[1:len(lines)-1], lines[len(lines)-1]
		status, says := gateRun(t, f.Name, base, script, command)
		if status == statusClean {
			t.Errorf("%s: %s goes through", f.Name, title)
		}
		cell := func(s string) string {
			return "<code>" + strings.ReplaceAll(html.EscapeString(s), "|", "&#124;") + "</code>"
		}
		fmt.Fprintf(&page, "| %s | %s | %s | %d | %s |\n", title, cell(strings.Join(script, "; ")), cell(command), status, cell(says))
	}
	if *update {
		if err := os.WriteFile(gatePage, page.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(gatePage)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(want, page.Bytes()) {
		t.Error(".github/gate.md is not what the ways give: run the test with -update and read the difference")
	}
}

// gateRun makes a repository, runs the script in a branch of it and then the command, and returns its status with the line that
// says what is wrong.
func gateRun(t *testing.T, name string, base []txtar.File, script []string, command string) (status int, says string) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "repo")
	for _, f := range base {
		full := filepath.Join(dir, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(full, f.Data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	sh := func(text string) []byte {
		c := exec.Command("sh", "-c", "set -e\n"+text)
		c.Dir = dir
		c.Env = append(os.Environ(), "HOME=", "XDG_CONFIG_HOME=", "GIT_CONFIG_NOSYSTEM=1",
			"GIT_AUTHOR_NAME=a", "GIT_AUTHOR_EMAIL=a@example.org", "GIT_AUTHOR_DATE=2024-05-01T12:00:00Z",
			"GIT_COMMITTER_NAME=a", "GIT_COMMITTER_EMAIL=a@example.org", "GIT_COMMITTER_DATE=2024-05-01T12:00:00Z")
		out, err := c.CombinedOutput()
		if err != nil {
			t.Fatalf("%s: %v\n%s", name, err, out)
		}
		return out
	}
	sh("git init -q -b main .\ngit add -A\ngit commit -q -m first\ngit checkout -q -b request\ngit commit -q --allow-empty -m second")
	sh(strings.Join(script, "\n"))
	var out, said bytes.Buffer
	s := Streams{In: strings.NewReader(""), Out: &out, Err: &said, Env: os.Getenv, Dir: dir}
	arguments := sh("printf '%s\n' " + strings.TrimPrefix(command, "busgauss "))
	args := strings.Split(strings.TrimSuffix(string(arguments), "\n"), "\n")
	status = run(context.Background(), args, s)
	lines := strings.Split(out.String()+said.String(), "\n")
	for _, find := range gateSays {
		for _, line := range lines {
			if find.MatchString(line) {
				return status, strings.TrimSpace(line)
			}
		}
	}
	t.Errorf("%s: says nothing of it:\n%s%s", name, out.String(), said.String())
	return status, ""
}
