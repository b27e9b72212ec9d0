package cli

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"busgauss/schema/node"
)

// bare makes the host one that has no busgauss, and returns what puts names into the place of those that a recipe leaves open:
// a repository that can be fetched, whose revision is the digest of a commit, and folders of this test. What the go command would compile of
// it is left to TestActionBuilds: here it puts the program where it is told to, if the sources stand where it is told so.
func (h *host) bare(t *testing.T) *strings.Replacer {
	t.Helper()
	h.bin = t.TempDir()
	script := "#!/bin/sh\n" +
		"[ \"$1 $2 $4 $6\" = 'build -C -o ./cmd/busgauss' ] || { echo \"go $*: not what is known here\" >&2; exit 3; }\n" +
		"grep -q sources \"$3/cmd/busgauss/main.go\" && mkdir -p \"$(dirname \"$5\")\" && ln -s '" + h.binary + "' \"$5\"\n"
	if err := os.WriteFile(filepath.Join(h.bin, "go"), []byte(script), 0o755); err != nil {
		t.Fatal(err)
	}
	source := t.TempDir()
	sources(t, source)
	git(t, source, "init", "-q", "-b", "main")
	git(t, source, "add", "-A")
	git(t, source, "commit", "-q", "-m", "first")
	digest := strings.TrimSpace(git(t, source, "rev-parse", "HEAD"))
	write(t, filepath.Join(source, "cmd", "busgauss", "main.go"), "a later one")
	git(t, source, "commit", "-q", "-a", "-m", "second")
	return strings.NewReplacer("REPOSITORY REF", "file://"+source+" "+digest, "/usr/local/bin", h.bin, "/tmp/busgauss", filepath.Join(h.temp, "source"))
}

// sources makes a folder what the go command of a bare host takes for sources.
func sources(t *testing.T, dir string) {
	t.Helper()
	at := filepath.Join(dir, "cmd", "busgauss")
	if err := os.MkdirAll(at, 0o755); err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(at, "main.go"), "sources")
}

// install runs the action of that name: with the go command of the host it builds from its own folder.
func (h *host) install(t *testing.T) {
	t.Helper()
	action := parsed(t, "action.yml", read(t, repository, ".github/actions/install/action.yml"))
	path, err := filepath.Abs(repository + "/.github/actions/install")
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range action.Get("runs").Get("steps").Items {
		if uses := step.Get("uses"); uses != nil {
			if !strings.HasPrefix(uses.Text, "actions/setup-go@") {
				t.Errorf("a step that nothing runs: %s", uses.Text)
			}
			continue
		}
		from := strings.ReplaceAll(step.Get("env").Get("SOURCE").Text, "${{ github.action_path }}", path)
		if _, err := os.Stat(filepath.Join(from, "cmd", "busgauss", "main.go")); err != nil {
			t.Error(err)
		}
		// What the go command of this host knows as sources.
		stand := t.TempDir()
		sources(t, stand)
		os.Remove(filepath.Join(h.temp, "busgauss-bin", "busgauss")) // another job is another machine
		if status, out := h.bash(t, step.Get("run").Text, map[string]string{"SOURCE": stand}); status != 0 {
			t.Fatalf("install: status %d:\n%s", status, out)
		}
	}
	h.addPath(t)
}

// addPath puts what steps have written into the file of the path before the path of those that follow.
func (h *host) addPath(t *testing.T) {
	t.Helper()
	file := filepath.Join(h.temp, "path")
	data, err := os.ReadFile(file)
	if err != nil {
		return // no step did
	}
	for line := range strings.Lines(string(data)) {
		h.bin = strings.TrimSpace(line) + string(os.PathListSeparator) + h.bin
	}
	if err := os.Remove(file); err != nil {
		t.Fatal(err)
	}
}

// lines runs commands as hosts do that list them: all must end with 0 but the last, which must with want.
func (h *host) lines(t *testing.T, items []*node.Node, env map[string]string, want int) {
	t.Helper()
	if len(items) == 0 {
		t.Fatal("no commands")
	}
	for i, line := range items {
		expected := 0
		if i == len(items)-1 {
			expected = want
		}
		if status, out := h.bash(t, line.Text, env); status != expected {
			t.Fatalf("%s: status %d, want %d:\n%s", line.Text, status, expected, out)
		}
	}
}

// filled puts the values of the host's contexts into a text; one that nothing fills is a mistake.
func filled(t *testing.T, text string) string {
	t.Helper()
	return expression.ReplaceAllStringFunc(text, func(m string) string {
		if name := expression.FindStringSubmatch(m)[1]; name != "github.base_ref" {
			t.Errorf("nothing fills %s", name)
		}
		return trunk
	})
}

func filledEnv(t *testing.T, step *node.Node) map[string]string {
	t.Helper()
	out := map[string]string{}
	if env := step.Get("env"); env != nil {
		for _, m := range env.Members {
			out[m.Key] = filled(t, m.Value.Text)
		}
	}
	return out
}

// woodpecker runs the commands of the one step, with the variable of the host for the branch that a request goes to
// (CI_COMMIT_TARGET_BRANCH of its documentation on environment variables). The last one is the gate.
func (h *host) woodpecker(t *testing.T, n *node.Node) {
	t.Helper()
	steps := n.Get("steps").Items
	if len(steps) != 1 || n.Get("clone").Items[0].Get("settings").Get("depth").Text != "0" {
		t.Fatal("not one step, or a history that is cut off")
	}
	h.lines(t, steps[0].Get("commands").Items, map[string]string{"CI_COMMIT_TARGET_BRANCH": trunk}, 1)
	h.holds(t, "busgauss-junit.xml")
}

// jenkins runs the one script of a pipeline, with the variables of the host (CHANGE_TARGET, WORKSPACE_TMP). What the pipeline says
// of its environment must be set there too, and the report it publishes must be there.
func (h *host) jenkins(t *testing.T, text string) {
	t.Helper()
	_, script, ok := strings.Cut(text, "sh '''")
	script, rest, closed := strings.Cut(script, "'''")
	published := regexp.MustCompile(`junit '([^']+)'`).FindStringSubmatch(rest)
	if !ok || !closed || published == nil || !strings.Contains(rest, "always {") || strings.Contains(rest, "sh ") {
		t.Fatal("not one script, or a report that is lost when it fails")
	}
	if strings.Count(text, "{") != strings.Count(text, "}") {
		t.Error("braces do not pair")
	}
	if status, out := h.bash(t, script, map[string]string{"CHANGE_TARGET": trunk, "WORKSPACE_TMP": h.temp}); status != 1 {
		t.Fatalf("status %d, want 1:\n%s", status, out)
	}
	h.holds(t, published[1])
}

// Every action of others is pinned by the digest of a commit, with the version beside it, here and in what init writes.
func TestActionsArePinned(t *testing.T) {
	pinned := regexp.MustCompile(`^[\w-]+/[\w-]+(/[\w-]+)*@[0-9a-f]{40} # v\d+\.\d+\.\d+$`)
	ours := regexp.MustCompile(`^OWNER/busgauss/\.github/actions/(check|install)@REF$`)
	digests := map[string]string{}
	for _, path := range []string{".github/hosts.md", ".github/workflows/ci.yml", ".github/workflows/laws.yml", ".github/actions/check/action.yml",
		".github/actions/install/action.yml", "cmd/busgauss/internal/starter/files/workflow.yml"} {
		found := regexp.MustCompile(`(?m)^\s*(?:- )?uses: (.*)$`).FindAllStringSubmatch(read(t, repository, path), -1)
		if len(found) == 0 {
			t.Errorf("%s uses nothing", path)
		}
		for _, m := range found {
			if ours.MatchString(m[1]) {
				continue
			}
			if !pinned.MatchString(m[1]) {
				t.Errorf("%s: %s is not pinned", path, m[1])
			}
			name, digest, _ := strings.Cut(m[1], "@")
			if had := digests[name]; had != "" && had != digest {
				t.Errorf("%s: %s is pinned to %s here and to %s elsewhere", path, name, digest, had)
			}
			digests[name] = digest
		}
	}
}

// The workflow that init writes is the one of the recipe, for its own folder.
func TestStarterWorkflow(t *testing.T) {
	h := newHost(t)
	text := read(t, repository, "cmd/busgauss/internal/starter/files/workflow.yml")
	h.workflow(t, parsed(t, "workflow.yml", strings.ReplaceAll(text, "layouts/\n", "hardware/\n")))
}
