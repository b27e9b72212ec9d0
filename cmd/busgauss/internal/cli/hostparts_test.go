package cli

import (
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"busgauss/schema/node"
)

// stored runs the job "layouts" twice, with what its cache step keeps and nothing else of the first run: both fail alike, and the
// second computes nothing, so that it keeps nothing new.
func (h *host) stored(t *testing.T, n *node.Node) {
	t.Helper()
	var kept, first string
	var entries []string
	for run := range 2 {
		status, out := 0, ""
		for _, step := range n.Get("jobs").Get("layouts").Get("steps").Items {
			switch uses := step.Get("uses"); {
			case uses == nil:
				status, out = h.bash(t, step.Get("run").Text, nil)
			case strings.Contains(uses.Text, "/.github/actions/install@"):
				h.install(t)
			case strings.HasPrefix(uses.Text, "actions/cache@"):
				folder, ok := strings.CutPrefix(step.Get("with").Get("path").Text, "~/")
				if !ok || !strings.HasPrefix(step.Get("with").Get("key").Text, strings.TrimSpace(step.Get("with").Get("restore-keys").Text)) {
					t.Fatalf("the cache keeps %s and finds it under other keys", folder)
				}
				kept = filepath.Join(h.home, folder)
			case !strings.HasPrefix(uses.Text, "actions/checkout@"):
				t.Errorf("a step that nothing runs: %s", uses.Text)
			}
		}
		now, err := filepath.Glob(filepath.Join(kept, "*.result"))
		if err != nil || len(now) == 0 || status != 1 || !strings.Contains(out, "::error file=hardware/") {
			t.Fatalf("run %d: status %d, %d results kept, %v:\n%s", run, status, len(now), err, out)
		}
		if run == 0 {
			first, entries = out, now
		} else if out != first || !slices.Equal(now, entries) {
			t.Errorf("the second run says\n%s\nand keeps %d results, the first %d:\n%s", out, len(now), len(entries), first)
		}
	}
}

// matrix runs the job "parts" once for each value of its matrix, each in the folder as it was checked out, carries over
// what it uploads, and then runs the job "layouts", which must fail as one run does.
func (h *host) matrix(t *testing.T, n *node.Node) {
	t.Helper()
	if n.Get("permissions").Get("contents").Text != "read" {
		t.Error("the workflow asks for more than reading")
	}
	uploads := t.TempDir()
	parts := n.Get("jobs").Get("parts")
	values := parts.Get("strategy").Get("matrix").Get("part").Items
	for _, v := range values {
		fill := func(text string) string {
			return expression.ReplaceAllStringFunc(text, func(m string) string {
				if expression.FindStringSubmatch(m)[1] != "matrix.part" {
					t.Errorf("an expression that nothing fills: %s", m)
				}
				return v.Text
			})
		}
		for _, step := range parts.Get("steps").Items {
			switch uses := step.Get("uses"); {
			case uses == nil:
				if status, out := h.bash(t, fill(step.Get("run").Text), nil); status != 0 {
					t.Fatalf("part %s: status %d:\n%s", v.Text, status, out)
				}
			case strings.Contains(uses.Text, "/.github/actions/install@"):
				h.install(t)
			case strings.HasPrefix(uses.Text, "actions/upload-artifact@"):
				path := filepath.Join(h.dir, fill(step.Get("with").Get("path").Text))
				to := filepath.Join(uploads, fill(step.Get("with").Get("name").Text))
				if err := os.Mkdir(to, 0o755); err != nil { // one name, one upload
					t.Fatal(err)
				}
				if err := os.Rename(path, filepath.Join(to, filepath.Base(path))); err != nil {
					t.Fatal(err)
				}
			case !strings.HasPrefix(uses.Text, "actions/checkout@"):
				t.Errorf("a step that nothing runs: %s", uses.Text)
			}
		}
	}
	job := n.Get("jobs").Get("layouts")
	if job.Get("needs").Text != "parts" {
		t.Error("the merge does not wait for the parts")
	}
	status, out := 0, ""
	for _, step := range job.Get("steps").Items {
		switch uses := step.Get("uses"); {
		case uses == nil:
			status, out = h.bash(t, step.Get("run").Text, nil)
		case strings.Contains(uses.Text, "/.github/actions/install@"):
			h.install(t)
		case strings.HasPrefix(uses.Text, "actions/download-artifact@"):
			with := step.Get("with")
			found, err := filepath.Glob(filepath.Join(uploads, with.Get("pattern").Text, "*"))
			if err != nil || len(found) != len(values) || with.Get("merge-multiple").Text != "true" {
				t.Fatalf("%d files are taken over, %v", len(found), err)
			}
			to := filepath.Join(h.dir, with.Get("path").Text)
			if err := os.Mkdir(to, 0o755); err != nil {
				t.Fatal(err)
			}
			for _, path := range found {
				if err := os.Rename(path, filepath.Join(to, filepath.Base(path))); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	if status != 1 || !strings.Contains(out, "::error file=hardware/") || !strings.HasPrefix(read(t, h.temp, "summary.md"), "### busgauss\n") {
		t.Errorf("status %d:\n%s", status, out)
	}
}

// numbered runs the job of parts as often as it says, with the numbers that the host gives from 1 (CI_NODE_INDEX and
// CI_NODE_TOTAL of its documentation on predefined variables), and then the one that waits for it.
func (h *host) numbered(t *testing.T, n *node.Node) {
	t.Helper()
	parts, merge := n.Get("busgauss-parts"), n.Get("busgauss")
	total, err := strconv.Atoi(parts.Get("parallel").Text)
	if err != nil || merge.Get("needs").Items[0].Text != "busgauss-parts" || parts.Get("artifacts").Get("paths").Items[0].Text != "*.part" {
		t.Fatalf("the jobs do not hang together: %v", err)
	}
	h.lines(t, parts.Get("before_script").Items, nil, 0)
	for k := range total {
		env := map[string]string{"CI_NODE_INDEX": strconv.Itoa(k + 1), "CI_NODE_TOTAL": strconv.Itoa(total)}
		if status, out := h.bash(t, parts.Get("script").Items[0].Text, env); status != 0 {
			t.Fatalf("part %d: status %d:\n%s", k+1, status, out)
		}
	}
	if status, out := h.bash(t, merge.Get("script").Items[0].Text, nil); status != 1 {
		t.Errorf("status %d:\n%s", status, out)
	}
	for _, r := range merge.Get("artifacts").Get("reports").Members {
		h.holds(t, r.Value.Text)
	}
}

// indexed runs the container of an indexed job for each index from 0, which JOB_COMPLETION_INDEX holds (documentation of
// Kubernetes, Indexed Job for Parallel Processing with Static Work Assignment), and then merges all parts.
func (h *host) indexed(t *testing.T, n *node.Node) {
	t.Helper()
	spec := n.Get("spec")
	completions, err := strconv.Atoi(spec.Get("completions").Text)
	if err != nil || spec.Get("completionMode").Text != "Indexed" || n.Get("kind").Text != "Job" || n.Get("apiVersion").Text != "batch/v1" {
		t.Fatalf("no indexed job: %v", err)
	}
	container := spec.Get("template").Get("spec").Get("containers").Items[0]
	if container.Get("command").Items[0].Text != "sh" || container.Get("command").Items[1].Text != "-c" {
		t.Fatal("the container runs no shell")
	}
	for k := range completions {
		env := map[string]string{"JOB_COMPLETION_INDEX": strconv.Itoa(k)}
		if status, out := h.bash(t, "sh -c '"+container.Get("args").Items[0].Text+"'", env); status != 0 {
			t.Fatalf("index %d: status %d:\n%s", k, status, out)
		}
	}
	if status, out := h.bash(t, "busgauss merge parts/*.part", nil); status != 1 || !strings.Contains(out, "[stray-ratio]") {
		t.Errorf("status %d:\n%s", status, out)
	}
}
