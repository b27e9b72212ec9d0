package cli

import (
	"encoding/json"
	"encoding/xml"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"busgauss/schema/node"
)

// example is one block of .github/hosts.md.
type example struct{ language, name, text string }

var block = regexp.MustCompile("(?ms)^```(\\w+)\n(?:# ([^\n]+)\n)?(.*?)^```$")

func examplesOf(t *testing.T) []example {
	t.Helper()
	var out []example
	for _, m := range block.FindAllStringSubmatch(read(t, repository, ".github/hosts.md"), -1) {
		out = append(out, example{m[1], m[2], m[3]})
	}
	return out
}

// TestHostExamples takes every block out of .github/hosts.md and runs it: what a
// host would run of it, with the built program and layouts in hardware/ that are
// not in order.
func TestHostExamples(t *testing.T) {
	h := newHost(t)
	ran := map[string]int{}
	for _, e := range examplesOf(t) {
		name := e.name
		if name == "" {
			name = e.language
		}
		ran[name]++
		t.Run(name, func(t *testing.T) {
			h.fill(t)
			for line := range strings.Lines(e.text) {
				checks := strings.Contains(line, "busgauss check ") || strings.Contains(line, `busgauss" check `) || strings.Contains(line, "busgauss compare ")
				if checks && !strings.Contains(line, "--standard-from ") {
					t.Errorf("a request may loosen its own limits here: %s", line)
				}
			}
			if e.language != "bash" && name != "busgauss-job.yaml" && name != ".pre-commit-config.yaml" {
				e.text = h.bare(t).Replace(e.text) // a host that has no busgauss yet
			}
			switch {
			case e.language == "groovy":
				h.jenkins(t, e.text)
			case e.language == "bash":
				if strings.Contains(e.text, "parts/*.part") { // what the indexed job before it leaves
					h.bash(t, "mkdir parts; for k in 1 2; do busgauss check --part $k/2 --output part=parts/$k.part hardware/; done", nil)
				}
				if status, _ := h.bash(t, e.text, nil); status != 1 {
					t.Errorf("status %d, want 1", status)
				}
				for _, m := range regexp.MustCompile(`--output \S+=(\S+)`).FindAllStringSubmatch(e.text, -1) {
					h.holds(t, m[1])
				}
			case name == ".github/workflows/stored.yml":
				h.stored(t, parsed(t, name, e.text))
			case name == ".github/workflows/parts.yml":
				h.matrix(t, parsed(t, name, e.text))
			case name == ".gitlab-ci.yml, parts":
				h.numbered(t, parsed(t, name, e.text))
			case name == "busgauss-job.yaml":
				h.indexed(t, parsed(t, name, e.text))
			case strings.HasPrefix(name, ".github/workflows/"):
				h.workflow(t, parsed(t, name, e.text))
			case strings.HasPrefix(name, ".gitlab-ci.yml"):
				h.gitlab(t, parsed(t, name, e.text))
			case name == ".woodpecker.yaml":
				h.woodpecker(t, parsed(t, name, e.text))
			case name == ".pre-commit-config.yaml":
				h.preCommit(t, parsed(t, name, e.text))
			default:
				t.Errorf("nothing runs this block: %s", e.text)
			}
		})
	}
	want := map[string]int{
		".github/workflows/busgauss.yml": 1, ".github/workflows/plain.yml": 1, ".github/workflows/matcher.yml": 1,
		".gitlab-ci.yml": 1, ".gitlab-ci.yml, SARIF": 1, ".pre-commit-config.yaml": 1, "bash": 4,
		".github/workflows/stored.yml": 1, ".github/workflows/parts.yml": 1, ".gitlab-ci.yml, parts": 1, "busgauss-job.yaml": 1,
		".woodpecker.yaml": 1, "groovy": 1,
	}
	for name, n := range want {
		if ran[name] != n {
			t.Errorf("%s: %d blocks, want %d", name, ran[name], n)
		}
	}
}

// workflow runs the steps of the only job in order until one fails.
func (h *host) workflow(t *testing.T, n *node.Node) {
	t.Helper()
	if permissions := n.Get("permissions"); permissions.Get("contents").Text != "read" {
		t.Error("the workflow asks for more than reading")
	}
	status, out := 0, ""
	for _, step := range n.Get("jobs").Get("layouts").Get("steps").Items {
		uses := step.Get("uses")
		switch {
		case uses == nil:
			var said string
			status, said = h.bash(t, step.Get("run").Text, filledEnv(t, step))
			out += said
			h.addPath(t)
		case strings.Contains(uses.Text, "/.github/actions/install@"):
			h.install(t)
		case strings.Contains(uses.Text, "/.github/actions/check@"):
			inputs := map[string]string{"binary": h.binary}
			for _, m := range step.Get("with").Members {
				inputs[m.Key] = filled(t, m.Value.Text)
			}
			r := h.action(t, inputs, onPush)
			status, out = r.status, out+r.out
			if len(r.uploads) != 1 {
				t.Errorf("uploads %q", r.uploads)
			}
		case !strings.HasPrefix(uses.Text, "actions/checkout@") && !strings.HasPrefix(uses.Text, "actions/setup-go@"):
			t.Errorf("a step that nothing runs: %s", uses.Text)
		}
		if status != 0 {
			break
		}
	}
	if status != 1 {
		t.Errorf("status %d, want 1:\n%s", status, out)
	}
	annotated := strings.Contains(out, "::error file=hardware/")
	if _, after, ok := strings.Cut(out, "::add-matcher::"); ok {
		path, text, _ := strings.Cut(after, "\n")
		annotated = len(matched(t, read(t, h.dir, path), text)) > 0
	} else if !strings.HasPrefix(read(t, h.temp, "summary.md"), "### busgauss\n") {
		t.Error("no step summary")
	}
	if !annotated {
		t.Errorf("nothing is annotated:\n%s", out)
	}
}

// gitlab runs the scripts of each job; a job that gives SARIF must succeed.
func (h *host) gitlab(t *testing.T, n *node.Node) {
	t.Helper()
	for _, job := range n.Members {
		reports := job.Value.Get("artifacts").Get("reports")
		want := 1
		if reports.Get("sarif") != nil {
			want = 0
		} else if job.Value.Get("artifacts").Get("when").Text != "always" {
			t.Errorf("%s: the reports of a job that fails are lost", job.Key)
		}
		h.lines(t, job.Value.Get("before_script").Items, nil, 0)
		h.lines(t, job.Value.Get("script").Items, map[string]string{"CI_MERGE_REQUEST_TARGET_BRANCH_NAME": trunk}, want)
		for _, r := range reports.Members {
			h.holds(t, r.Value.Text)
		}
	}
}

// preCommit runs the entry of each hook on the files that its pattern takes.
func (h *host) preCommit(t *testing.T, n *node.Node) {
	t.Helper()
	offered := parsed(t, ".pre-commit-hooks.yaml", read(t, repository, ".pre-commit-hooks.yaml"))
	for _, repo := range n.Get("repos").Items {
		for _, hook := range repo.Get("hooks").Items {
			i := slices.IndexFunc(offered.Items, func(o *node.Node) bool { return o.Get("id").Text == hook.Get("id").Text })
			if i < 0 {
				t.Fatalf("no hook %s", hook.Get("id").Text)
			}
			files := regexp.MustCompile(hook.Get("files").Text)
			script := offered.Items[i].Get("entry").Text
			taken := 0
			err := filepath.WalkDir(h.dir, func(path string, d os.DirEntry, err error) error {
				rel, _ := filepath.Rel(h.dir, path)
				if err == nil && !d.IsDir() && files.MatchString(filepath.ToSlash(rel)) {
					taken++
					script += " '" + rel + "'"
				}
				return err
			})
			if err != nil || taken < 3 {
				t.Fatalf("%d files, %v", taken, err)
			}
			if status, out := h.bash(t, script, nil); status != 1 || !strings.Contains(out, "[stray-ratio]") {
				t.Errorf("status %d:\n%s", status, out)
			}
			// The hook's own pattern takes layouts in folders of that name.
			own := regexp.MustCompile(offered.Items[i].Get("files").Text)
			if !files.MatchString("busgauss-standard.yaml") || files.MatchString("other/a.yaml") || !own.MatchString("drive/layouts/a.yaml") || !own.MatchString("layout/b.json") || !own.MatchString("busgauss-standard.yaml") || !own.MatchString("hardware/busgauss-deviations.yaml") || own.MatchString("hardware/a.yaml") {
				t.Errorf("the hook takes %s", own)
			}
		}
	}
}

// holds wants a report in the folder that a reader of its kind can read and that
// holds findings of hardware/.
func (h *host) holds(t *testing.T, file string) {
	t.Helper()
	text := read(t, h.dir, file)
	var err error
	if strings.HasSuffix(file, ".xml") {
		err = xml.Unmarshal([]byte(text), &struct{ XMLName xml.Name }{})
	} else {
		var v any
		err = json.Unmarshal([]byte(text), &v)
	}
	if err != nil || !strings.Contains(text, "stray-ratio") || !strings.Contains(text, "hardware/") {
		t.Errorf("%s: %v, %.200s", file, err, text)
	}
}
