package cli

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/fem"
	"busgauss/model/field"
	"busgauss/model/probe"
	"busgauss/rules"
	"busgauss/rules/engine"
	"busgauss/schema/load"
)

// Of a layout with shields the part that needs no field is said at once, the rest after the pause; the numbers of a
// hover come then. A broken text has its problems at once, and they go with it.
func TestEditorShielded(t *testing.T) {
	data, err := fixtures.FS.ReadFile("failing/laminated-pair.yaml")
	if err != nil {
		t.Fatal(err)
	}
	shielded, err := fixtures.FS.ReadFile("clean/ferry-channels.yaml")
	if err != nil {
		t.Fatal(err)
	}
	// Two bars overlap, and a part is too coarse: the first needs no field, the second does.
	text := strings.Replace(string(shielded), "linear-range: 70 mT", "linear-range: 40 mT", 1)
	text = strings.Replace(text, "at: [32 mm, 0 mm]", "at: [4 mm, 0 mm]", 1)
	dir := t.TempDir()
	file, other := filepath.Join(dir, "a.yaml"), filepath.Join(dir, "b.yaml")
	c := startEditor(t, dir, nil)
	c.open(file, text)
	c.open(other, string(data))
	c.until(file, func(p *published) bool { return strings.Contains(p.codes(), "linear-range") })
	c.until(other, func(p *published) bool { return len(p.Diagnostics) > 0 })
	c.mu.Lock()
	first := c.found[uri(file)][0]
	c.mu.Unlock()
	if !strings.Contains(first.codes(), "geometry") || strings.Contains(first.codes(), "linear-range") {
		t.Errorf("at once: %s", first.codes())
	}
	c.replaces(file, 2, strings.Replace(text, "reads: U", "reads: Q", 1))
	if p := c.until(file, func(p *published) bool { return *p.Version == 2 }); p.codes() != "id-unknown 16:14" {
		t.Errorf("the broken text has %s", p.codes())
	}
	c.replaces(file, 3, string(shielded))
	var found struct{ Contents struct{ Value string } }
	c.call("textDocument/hover", at(file, 16, 3), &found) // waits for the field
	for deadline := 0; strings.Contains(found.Contents.Value, "being computed") && deadline < 100; deadline++ {
		c.call("textDocument/hover", at(file, 16, 3), &found)
	}
	if !strings.Contains(found.Contents.Value, "field per ampere: 0.0671 mT/A, certain to ±") {
		t.Errorf("%s", found.Contents.Value)
	}
	if p := c.until(file, func(p *published) bool { return *p.Version == 3 }); len(p.Diagnostics) != 0 {
		t.Errorf("the clean layout has %s", p.codes())
	}
	c.leave()
}

// The text of a house standard that is not saved counts, also where the file is not there yet, and so does a file that
// changes on the disk; what is wrong with a standard is said in it.
func TestEditorStandard(t *testing.T) {
	dir := t.TempDir()
	file, standard := filepath.Join(dir, "drives", "a.yaml"), filepath.Join(dir, "busgauss-standard.yaml")
	mkdir(t, filepath.Join(dir, ".git"), filepath.Join(dir, "drives"))
	const strict = "standard: 1\nrules:\n  stray-ratio: {limits: {budget: 0.1 %}}\n"
	c := startEditor(t, dir, nil)
	c.open(file, bare(0))
	none := func(p *published) bool { return len(p.Diagnostics) == 0 }
	stray := func(p *published) bool { return strings.HasPrefix(p.codes(), "stray-ratio") }
	c.until(file, none)
	c.open(standard, strict)
	c.until(file, stray)
	c.replaces(standard, 2, strings.Replace(strict, "budget", "bugdet", 1))
	c.until(standard, func(p *published) bool { return len(p.Diagnostics) > 0 })
	c.replaces(standard, 3, strict)
	c.until(standard, none)
	c.until(file, stray)
	c.notify("textDocument/didClose", map[string]any{"textDocument": map[string]any{"uri": uri(standard)}})
	c.until(file, none) // for it was never saved
	write(t, standard, strict)
	c.notify("workspace/didChangeWatchedFiles", map[string]any{"changes": []any{map[string]any{"uri": uri(standard), "type": 1}}})
	c.until(file, stray)
	c.leave()
}

// A file that is no layout is left alone.
func TestEditorOtherFile(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "compose.yaml")
	c := startEditor(t, dir, nil)
	c.open(file, "services:\n  web: {image: x}\n")
	if p := c.until(file, func(*published) bool { return true }); len(p.Diagnostics) != 0 {
		t.Errorf("%s", p.codes())
	}
	var list struct{ Items []any }
	c.call("textDocument/completion", at(file, 1, 2), &list)
	if len(list.Items) != 0 {
		t.Errorf("%v", list.Items)
	}
	c.leave()
}

// The exit status is that of the protocol, and what ends a session otherwise is said on standard error.
func TestEditorExitStatus(t *testing.T) {
	frame := func(bodies ...string) string {
		out := ""
		for _, b := range bodies {
			out += fmt.Sprintf("Content-Length: %d\r\n\r\n%s", len(b), b)
		}
		return out
	}
	const begin, shutdown, exit = `{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"capabilities":{}}}`,
		`{"jsonrpc":"2.0","id":2,"method":"shutdown"}`, `{"jsonrpc":"2.0","method":"exit"}`
	for _, k := range []struct {
		name, input string
		args        []string
		status      int
		says        string
	}{
		{"in order", frame(begin, shutdown, exit), nil, 0, ""},
		{"no exit", frame(begin, shutdown), nil, 0, ""},
		{"no shutdown", frame(begin, exit), nil, 1, "left without a shutdown"},
		{"nothing", "", nil, 1, "left without a shutdown"},
		{"no header", "hello\r\n\r\n", nil, 2, "read standard input: a line of a header without a colon"},
		{"too long", "Content-Length: 99999999999\r\n\r\n", nil, 2, "more than 33554432 bytes"},
		{"an argument", "", []string{"a.yaml"}, 2, "takes no arguments"},
		{"no such standard", "", []string{"--standard", "none.yaml"}, 2, "none.yaml"},
		{"no such day", "", []string{"--date", "today"}, 2, "--date"},
	} {
		got := callWith(t.TempDir(), k.input, append([]string{"language-server"}, k.args...)...)
		if got.status != k.status || !strings.Contains(got.err, k.says) || k.says == "" && got.err != "" {
			t.Errorf("%s: status %d and %q, want %d and %q", k.name, got.status, got.err, k.status, k.says)
		}
	}
}

// The rules that are asked at once solve nothing: neither a plane section nor anything that takes longer than what
// they say themselves.
func TestRulesWithoutFields(t *testing.T) {
	names, err := fixtures.Layouts()
	if err != nil {
		t.Fatal(err)
	}
	var list []engine.Rule
	for _, r := range rules.All() {
		if slices.Contains(withoutFields, r.ID) {
			list = append(list, r)
		}
	}
	if len(list) != len(withoutFields) {
		t.Fatalf("%d of %v are rules", len(list), withoutFields)
	}
	dear := 0
	for _, name := range names {
		data, err := fixtures.FS.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		l, _ := load.Load(name, data)
		if l == nil || field.NewModel(l).Cost() <= 1 {
			continue
		}
		dear++
		known := fem.NewAnswers(func(string) ([]byte, bool) { return nil, false })
		spent := testing.AllocsPerRun(1, func() {
			engine.CheckWith(&probe.Model{Model: field.NewModel(l).Knowing(known)}, list, engine.Options{NoRemedies: true})
		})
		if keys, _ := known.Changed(); len(keys) > 0 {
			t.Errorf("%s: the rules without fields solve %d plane sections", name, len(keys))
		}
		if spent > 5_000 {
			t.Errorf("%s: the rules without fields take %.0f allocations", name, spent)
		}
	}
	if dear < 5 {
		t.Errorf("%d layouts of the fixtures must be solved: too few to say anything", dear)
	}
}

// A slip of writing and a sensor that is too far away are mended by what is offered at their place, applied in the
// units of the client; then the finding is gone.
func TestEditorMends(t *testing.T) {
	for _, k := range []struct{ name, text, rule string }{
		{"name", strings.Replace(bare(0), "metal: copper", "metal: coper", 1), "id-unknown"},
		{"key", strings.Replace(strings.Replace(bare(0), "  SU: ", "  \"😀\": ", 1), "placement", "placment", 1), "key-unknown"},
		{"remedy", strings.Replace(bare(0), "25 mT", "18 mT", 1), "linear-range"},
	} {
		dir := t.TempDir()
		file := filepath.Join(dir, "a.yaml")
		c := startEditor(t, dir, []string{"utf-32"})
		c.open(file, k.text)
		p := c.until(file, func(p *published) bool {
			return strings.Contains(p.codes(), k.rule) && (k.rule != "linear-range" || strings.Contains(p.Diagnostics[0].Message, "\ntry: "))
		})
		var actions []struct {
			Title, Kind string
			Edit        struct {
				DocumentChanges []struct {
					Edits []struct {
						Range   struct{ Start, End place }
						NewText string
					}
				}
			}
		}
		c.call("textDocument/codeAction", map[string]any{"textDocument": map[string]any{"uri": uri(file)}, "range": p.Diagnostics[0].Range,
			"context": map[string]any{"diagnostics": []any{}}}, &actions)
		if len(actions) == 0 {
			t.Errorf("%s: nothing is offered at %s: %s", k.name, p.codes(), p.Diagnostics[0].Message)
			continue
		}
		rows := strings.Split(k.text, "\n")
		edits := actions[0].Edit.DocumentChanges[0].Edits
		for i := len(edits) - 1; i >= 0; i-- {
			e := edits[i]
			row := []rune(rows[e.Range.Start.Line])
			rows[e.Range.Start.Line] = string(row[:e.Range.Start.Character]) + e.NewText + string(row[e.Range.End.Character:])
		}
		mended := strings.Join(rows, "\n")
		c.replaces(file, 2, mended)
		object := p.Diagnostics[0].Range.Start.Line
		c.until(file, func(p *published) bool {
			return p.Version != nil && *p.Version == 2 && !slices.ContainsFunc(strings.Split(p.codes(), ", "), func(code string) bool {
				return strings.HasPrefix(code, fmt.Sprintf("%s %d:", k.rule, object))
			})
		})
		c.leave()
	}
}
