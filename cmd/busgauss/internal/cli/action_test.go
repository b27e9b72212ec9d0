package cli

import (
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/schema/node"
)

const repository = "../../../.."

// host plays a build host: a folder with a repository in it, the built program on
// the path, and the files that hosts offer.
type host struct {
	binary, dir, temp string
	bin               string   // the folder that comes first on the path
	home              string   // of the user, with the results that are kept
	settings          []string // of the go command, whose caches are not in that home
}

// newHost puts the test binary on the path under the name of the program, which it then
// is (see TestMain). Tests that need it are slow, and need bash.
func newHost(t *testing.T) *host {
	t.Helper()
	if testing.Short() {
		t.Skip("runs the program many times")
	}
	if _, err := exec.LookPath("bash"); err != nil {
		t.Skip("no bash")
	}
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("no git")
	}
	h := &host{binary: filepath.Join(t.TempDir(), "busgauss"), settings: goSettings(t)}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(self, h.binary); err != nil {
		t.Skipf("no symbolic links: %v", err)
	}
	h.fill(t)
	return h
}

// fill makes the folders anew: hardware/ with layouts that are not in order, and
// what the documents tell a user to copy.
func (h *host) fill(t *testing.T) {
	t.Helper()
	h.dir, h.temp, h.home, h.bin = t.TempDir(), t.TempDir(), t.TempDir(), filepath.Dir(h.binary)
	sub := filepath.Join(h.dir, "hardware", "drives")
	if err := os.MkdirAll(sub, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"failing/laminated-pair.yaml", "clean/plausibility-pair.yaml", "clean/ferry-thruster.yaml"} {
		text, err := fixtures.FS.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(sub, filepath.Base(name)), text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(filepath.Join(h.dir, ".github"), 0o755); err != nil {
		t.Fatal(err)
	}
	matcher := read(t, repository, ".github/busgauss-matcher.json")
	if err := os.WriteFile(filepath.Join(h.dir, ".github", "busgauss-matcher.json"), []byte(matcher), 0o644); err != nil {
		t.Fatal(err)
	}
	h.main(t)
}

// trunk is the branch that the request goes to: any name will do, so it is not the usual one.
const trunk = "trunk"

// main makes the folder a clone of a repository whose branch trunk has nothing yet, as if all of
// hardware/ were what a request adds.
func (h *host) main(t *testing.T) {
	t.Helper()
	origin := t.TempDir()
	git(t, origin, "init", "-q", "-b", trunk)
	git(t, origin, "commit", "-q", "--allow-empty", "-m", "nothing")
	git(t, h.dir, "init", "-q", "-b", "request")
	git(t, h.dir, "remote", "add", "origin", origin)
	git(t, h.dir, "fetch", "-q", "origin")
	git(t, h.dir, "reset", "-q", "origin/"+trunk)
}

// bash runs a script as hosts do, in the repository, and returns its status and
// what it printed on both streams.
func (h *host) bash(t *testing.T, script string, env map[string]string) (status int, out string) {
	t.Helper()
	c := exec.Command("bash", "--noprofile", "--norc", "-e", "-o", "pipefail", "-c", script)
	c.Dir = h.dir
	c.Env = append(os.Environ(), "PATH="+h.bin+string(os.PathListSeparator)+elsewhere(),
		"RUNNER_TEMP="+h.temp, "GITHUB_STEP_SUMMARY="+filepath.Join(h.temp, "summary.md"), "GITHUB_OUTPUT="+filepath.Join(h.temp, "output"),
		"GITHUB_PATH="+filepath.Join(h.temp, "path"), "BASE="+trunk, "CI_DEFAULT_BRANCH="+trunk)
	c.Env = append(c.Env, "HOME="+h.home, "XDG_CACHE_HOME="+filepath.Join(h.home, ".cache"))
	c.Env = append(c.Env, h.settings...)
	for key, value := range env {
		c.Env = append(c.Env, key+"="+value)
	}
	said, err := c.CombinedOutput()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return c.ProcessState.ExitCode(), string(said)
}

// elsewhere is the path of this process without the folders that hold a busgauss, as the one of the scripts does.
func elsewhere() string {
	var out []string
	for _, dir := range filepath.SplitList(os.Getenv("PATH")) {
		if _, err := os.Stat(filepath.Join(dir, "busgauss")); err != nil {
			out = append(out, dir)
		}
	}
	return strings.Join(out, string(os.PathListSeparator))
}

func parsed(t *testing.T, name, text string) *node.Node {
	t.Helper()
	n, problems := node.Parse(name, []byte(text), node.Limits{})
	if n == nil || len(problems) > 0 {
		t.Fatalf("%s: %v", name, problems)
	}
	return n
}

// The events that the action meets, as the host's contexts.
var (
	onPush = map[string]string{"github.event_name": "push", "github.repository": "ferry/boards"}
	onPull = map[string]string{"github.event_name": "pull_request", "github.repository": "ferry/boards",
		"github.event.pull_request.head.repo.full_name": "ferry/boards"}
	onFork = map[string]string{"github.event_name": "pull_request", "github.repository": "ferry/boards",
		"github.event.pull_request.head.repo.full_name": "stranger/boards"}
)

// acted is what a run of the action gave.
type acted struct {
	status  int
	out     string
	uploads []string // the files that were handed to the upload
	outputs map[string]string
}

var expression = regexp.MustCompile(`\$\{\{ *([^}]*?) *\}\}`)

// action runs .github/actions/check as a host does: inputs with their defaults,
// conditions, environments, outputs, and the rule that a step which fails ends
// it. The upload always fails here, as it does where it is not allowed.
func (h *host) action(t *testing.T, inputs, event map[string]string) acted {
	t.Helper()
	action := parsed(t, "action.yml", read(t, repository, ".github/actions/check/action.yml"))
	path, err := filepath.Abs(repository + "/.github/actions/check")
	if err != nil {
		t.Fatal(err)
	}
	context := map[string]string{"github.action_path": path}
	for key, value := range event {
		context[key] = value
	}
	for _, m := range action.Get("inputs").Members {
		context["inputs."+m.Key] = m.Value.Get("default").Text
	}
	for key, value := range inputs {
		if _, ok := context["inputs."+key]; !ok {
			t.Fatalf("the action has no input %q", key)
		}
		context["inputs."+key] = value
	}
	fill := func(text string) string {
		return expression.ReplaceAllStringFunc(text, func(m string) string { return context[expression.FindStringSubmatch(m)[1]] })
	}
	r := acted{outputs: map[string]string{}}
	for _, step := range action.Get("runs").Get("steps").Items {
		if r.status != 0 {
			break
		}
		if condition := step.Get("if"); condition != nil && !holds(t, condition.Text, context) {
			continue
		}
		failed := 0
		switch uses := step.Get("uses"); {
		case uses == nil:
			script := step.Get("run").Text
			if strings.Contains(script, "${{") {
				t.Errorf("an expression inside a script: text of a stranger would run:\n%s", script)
			}
			env := map[string]string{}
			if e := step.Get("env"); e != nil {
				for _, m := range e.Members {
					env[m.Key] = fill(m.Value.Text)
				}
			}
			var said string
			failed, said = h.bash(t, script, env)
			r.out += said
			if id := step.Get("id"); id != nil {
				for line := range strings.Lines(read(t, h.temp, "output")) {
					key, value, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "=")
					context["steps."+id.Text+".outputs."+key] = value
				}
			}
		case strings.HasPrefix(uses.Text, "github/codeql-action/upload-sarif@"):
			r.uploads = append(r.uploads, fill(step.Get("with").Get("sarif_file").Text))
			failed = 1
		case strings.HasPrefix(uses.Text, "actions/setup-go@"):
			if _, err := os.Stat(fill(step.Get("with").Get("go-version-file").Text)); err != nil {
				t.Error(err)
			}
		default:
			t.Errorf("a step that nothing runs: %s", uses.Text)
		}
		if c := step.Get("continue-on-error"); c == nil || c.Text != "true" {
			r.status = failed
		}
	}
	for _, m := range action.Get("outputs").Members {
		r.outputs[m.Key] = fill(m.Value.Get("value").Text)
	}
	return r
}

// holds evaluates what conditions of the action are made of: names, texts in
// quotes, == and !=, && before ||, and parentheses.
func holds(t *testing.T, text string, context map[string]string) bool {
	t.Helper()
	tokens := regexp.MustCompile(`'[^']*'|[\w.-]+|==|!=|&&|\|\||[()]`).FindAllString(text, -1)
	if strings.Join(tokens, "") != strings.Join(strings.Fields(text), "") {
		t.Fatalf("condition %q holds more than this test reads", text)
	}
	next := func() string {
		if len(tokens) == 0 {
			return ""
		}
		head := tokens[0]
		tokens = tokens[1:]
		return head
	}
	value := func() string {
		if v := next(); strings.HasPrefix(v, "'") {
			return strings.Trim(v, "'")
		} else {
			return context[v]
		}
	}
	var any func() bool
	one := func() bool {
		if tokens[0] == "(" {
			next()
			v := any()
			next()
			return v
		}
		a, op, b := value(), next(), value()
		return (a == b) == (op == "==")
	}
	all := func() bool {
		v := one()
		for len(tokens) > 0 && tokens[0] == "&&" {
			next()
			v = one() && v
		}
		return v
	}
	any = func() bool {
		v := all()
		for len(tokens) > 0 && tokens[0] == "||" {
			next()
			v = all() || v
		}
		return v
	}
	return any()
}

// The gate is the status of the program, whatever becomes of the upload, which
// is not even tried for a branch of a fork.
func TestActionGatesAndUploads(t *testing.T) {
	h := newHost(t)
	for _, tc := range []struct {
		name    string
		inputs  map[string]string
		event   map[string]string
		status  int
		uploads int
		said    string
	}{
		{"findings on a push", nil, onPush, 1, 1, "::error file=hardware/"},
		{"findings on a branch of the house", nil, onPull, 1, 1, "::error file=hardware/"},
		{"findings on a fork", nil, onFork, 1, 0, "::error file=hardware/"},
		{"upload not wanted", map[string]string{"upload": "false"}, onPush, 1, 0, ""},
		{"clean", map[string]string{"layouts": "hardware/drives/ferry-thruster.yaml"}, onPush, 0, 1, "busgauss: 0 findings"},
		{"clean on a fork", map[string]string{"layouts": "hardware/drives/ferry-thruster.yaml"}, onFork, 0, 0, "busgauss: 0 findings"},
		{"never fails", map[string]string{"fail-level": "none"}, onPush, 0, 1, "::error file=hardware/"},
		{"several layouts", map[string]string{"layouts": "hardware/drives/ferry-thruster.yaml\n\nhardware/drives/laminated-pair.yaml\n"}, onPush, 1, 1, "checks passed in 2 files"},
		{"arguments", map[string]string{"arguments": "--output=json=all.json\n--passes\n"}, onPush, 1, 1, ""},
		{"no such file", map[string]string{"layouts": "nowhere.yaml"}, onPush, 2, 0, "nowhere.yaml"},
		{"no such level", map[string]string{"fail-level": "fatal"}, onPush, 2, 0, "fatal"},
		{"no such program", map[string]string{"binary": "/nowhere/busgauss"}, onPush, 127, 0, ""},
		{"a flag for a layout", map[string]string{"layouts": "hardware/\n--fail-level=none"}, onPush, 2, 1, "read --fail-level=none: no such file"},
		{"a script for a layout", map[string]string{"layouts": "$(touch forged)\n`touch forged`\n; touch forged"}, onPush, 2, 0, ""},
		{"a script for a level", map[string]string{"fail-level": "none; touch forged"}, onPush, 2, 0, ""},
	} {
		t.Run(tc.name, func(t *testing.T) {
			h.fill(t)
			inputs := map[string]string{"binary": h.binary}
			for key, value := range tc.inputs {
				inputs[key] = value
			}
			r := h.action(t, inputs, tc.event)
			if r.status != tc.status || len(r.uploads) != tc.uploads || !strings.Contains(r.out, tc.said) {
				t.Errorf("status %d, uploads %q, want %d and %d:\n%s", r.status, r.uploads, tc.status, tc.uploads, r.out)
			}
			if _, err := os.Stat(filepath.Join(h.dir, "forged")); err == nil {
				t.Error("an input ran")
			}
			made := tc.status < 2 || tc.uploads > 0 // one of several files was not there
			if summary, err := os.ReadFile(filepath.Join(h.temp, "summary.md")); (err == nil && strings.HasPrefix(string(summary), "### busgauss\n")) != made {
				t.Errorf("summary: %v, %.100s", err, summary)
			}
			if (r.outputs["sarif"] != "") != made || r.outputs["status"] == "" {
				t.Errorf("outputs %v", r.outputs)
			}
			if made {
				var log struct{ Runs []struct{ Results []any } }
				if err := json.Unmarshal([]byte(read(t, h.temp, "busgauss.sarif")), &log); err != nil || len(log.Runs) != 1 {
					t.Errorf("SARIF: %v", err)
				}
			}
			if tc.name == "arguments" {
				tree(t, read(t, h.dir, "all.json"))
			}
		})
	}
}

// Without a program the action builds its own.
func TestActionBuilds(t *testing.T) {
	h := newHost(t)
	r := h.action(t, map[string]string{"layouts": "hardware/drives/ferry-thruster.yaml"}, onFork)
	if r.status != 0 || !strings.Contains(r.out, "busgauss: 0 findings") {
		t.Errorf("status %d:\n%s", r.status, r.out)
	}
	if _, err := os.Stat(filepath.Join(h.temp, "busgauss")); err != nil {
		t.Error(err)
	}
}

// The reading of conditions is checked by itself, for the tests above rest on it.
func TestConditions(t *testing.T) {
	context := map[string]string{"a": "x", "b": ""}
	for text, want := range map[string]bool{
		"a == 'x'": true, "a != 'x'": false, "b == ''": true, "c == ''": true, "a == b": false, "a == 'x' && b == 'x'": false,
		"a == 'y' || b == ''": true, "a == 'y' && b == '' || a == 'x'": true, "a == 'y' && (b == '' || a == 'x')": false,
	} {
		if holds(t, text, context) != want {
			t.Errorf("%s: not %v", text, want)
		}
	}
}
