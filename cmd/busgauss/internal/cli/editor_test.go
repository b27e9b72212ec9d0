package cli

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"busgauss/fixtures"
)

// A whole session of an editor with a bare layout, from initialize to exit.
func TestEditorSession(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "drive.yaml")
	text := bare(0)
	c := startEditor(t, dir, nil)
	if c.counts != "utf-16" {
		t.Errorf("the server counts in %q where nothing is offered", c.counts)
	}
	c.open(file, text)
	if p := c.until(file, func(p *published) bool { return *p.Version == 1 }); len(p.Diagnostics) != 0 {
		t.Errorf("the clean layout has %s", p.codes())
	}
	// "25 mT" of line 12 becomes "9 mT", a key at a time.
	line := strings.Split(text, "\n")[11]
	at25 := strings.Index(line, "25 mT")
	spot := func(from, to int, with string) map[string]any {
		return map[string]any{"range": map[string]any{"start": place{11, from}, "end": place{11, to}}, "text": with}
	}
	c.change(file, 2, spot(at25+1, at25+2, ""), spot(at25, at25+1, "9"))
	p := c.until(file, func(p *published) bool { return *p.Version == 2 && strings.Contains(p.codes(), "linear-range") })
	if p.codes() != "linear-range 7:21, linear-range 8:21, linear-range 9:21" || !strings.Contains(p.Diagnostics[0].Message, "linear to 9.00 mT") {
		t.Errorf("%s: %s", p.codes(), p.Diagnostics[0].Message)
	}
	c.until(file, func(p *published) bool { // after the pause, with what helps
		return *p.Version == 2 && len(p.Diagnostics) > 0 && strings.Contains(p.Diagnostics[0].Message, "\ntry: ")
	})
	c.change(file, 3, spot(at25, at25+1, "25"))
	c.until(file, func(p *published) bool { return *p.Version == 3 && len(p.Diagnostics) == 0 })

	hovers(t, c, file)
	namesAndHints(t, c, file)
	c.notify("textDocument/didClose", map[string]any{"textDocument": map[string]any{"uri": uri(file)}})
	c.until(file, func(p *published) bool { return p.Version == nil && len(p.Diagnostics) == 0 })
	c.leave()
	if !slices.Contains(c.asked, "client/registerCapability") || !slices.Contains(c.asked, "workspace/inlayHint/refresh") {
		t.Errorf("the server asked for %v", c.asked)
	}
}

// hovers asks what is said at a sensor, a bar and a key of bare(0).
func hovers(t *testing.T, c *client, file string) {
	t.Helper()
	var found struct{ Contents struct{ Kind, Value string } }
	c.call("textDocument/hover", at(file, 7, 3), &found)
	for _, want := range []string{`sensor "SU"`, "field per ampere: 0.0230 mT/A, certain to ±", "full scale: 600 A",
		"range left: ", `in fault duty "short" (pass)`, "stray: ", `of the own current, `, `in duty "run" (pass, limit 5.00 %)`} {
		if !strings.Contains(found.Contents.Value, want) {
			t.Errorf("the hover of a sensor lacks %q:\n%s", want, found.Contents.Value)
		}
	}
	c.call("textDocument/hover", at(file, 7, 14), &found) // on the name of the bar that it reads
	if want := "bar \"U\"\ncurrent in duty \"run\": 210 A rms, 3.50 A/mm²\n"; !strings.HasPrefix(found.Contents.Value, want) {
		t.Errorf("the hover of a bar says\n%s", found.Contents.Value)
	}
	c.call("textDocument/hover", at(file, 7, 8), &found)
	if !strings.HasPrefix(found.Contents.Value, "reads: Name of the bar or circuit") {
		t.Errorf("the hover of a key says %q", found.Contents.Value)
	}
}

// namesAndHints asks where a bar of bare(0) is given and named, for the hints and for the changes of a clean layout.
func namesAndHints(t *testing.T, c *client, file string) {
	t.Helper()
	var to struct {
		URI   string
		Range struct{ Start, End place }
	}
	c.call("textDocument/definition", at(file, 14, 61), &to) // in a three-phase set
	if to.URI != uri(file) || to.Range.Start != (place{3, 2}) || to.Range.End != (place{3, 3}) {
		t.Errorf("U is given at %+v", to)
	}
	var all []struct {
		Range struct{ Start, End place }
	}
	ask := at(file, 3, 2)
	ask["context"] = map[string]any{"includeDeclaration": true}
	c.call("textDocument/references", ask, &all)
	var places []string
	for _, one := range all {
		places = append(places, fmt.Sprintf("%d:%d", one.Range.Start.Line, one.Range.Start.Character))
	}
	if got := strings.Join(places, " "); got != "3:2 7:14 13:65 14:61 15:34" {
		t.Errorf("U is named at %s", got)
	}
	var hints []struct {
		Position place
		Label    string
	}
	whole := map[string]any{"textDocument": map[string]any{"uri": uri(file)}, "range": map[string]any{"start": place{0, 0}, "end": place{8, 99}}}
	c.call("textDocument/inlayHint", whole, &hints)
	if len(hints) != 2 || hints[0].Position != (place{7, 5}) || hints[0].Label != "0.0230 mT/A" {
		t.Errorf("hints: %+v", hints)
	}
	var actions []any
	whole["context"] = map[string]any{"diagnostics": []any{}}
	c.call("textDocument/codeAction", whole, &actions)
	if len(actions) != 0 {
		t.Errorf("a clean layout has actions: %v", actions)
	}
}

// offered is what completion offers at the mark ‸ of a text, as label=newText, after what it replaces.
func (c *client) offered(file string, version int, marked string) []string {
	c.t.Helper()
	before, after, _ := strings.Cut(marked, "‸")
	line := strings.Count(before, "\n")
	column := len([]rune(before[strings.LastIndex(before, "\n")+1:]))
	text := before + after
	c.replaces(file, version, text)
	var list struct {
		Items []struct {
			Label    string
			SortText string
			TextEdit struct {
				Range   struct{ Start, End place }
				NewText string
			}
		}
	}
	c.call("textDocument/completion", at(file, line, column), &list)
	slices.SortFunc(list.Items, func(a, b struct {
		Label    string
		SortText string
		TextEdit struct {
			Range   struct{ Start, End place }
			NewText string
		}
	}) int {
		return strings.Compare(a.SortText, b.SortText)
	})
	var out []string
	for _, i := range list.Items {
		r := i.TextEdit.Range
		if r.Start.Line != line || r.End.Line != line {
			c.t.Errorf("%q replaces %+v", i.Label, r)
			continue
		}
		row := []rune(strings.Split(text, "\n")[line])
		out = append(out, i.Label+"="+string(row[r.Start.Character:r.End.Character])+">"+i.TextEdit.NewText)
	}
	return out
}

func TestEditorCompletion(t *testing.T) {
	const head = `layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  bus bar B: {section: {width: 20 mm, thickness: 3 mm}, at: [40 mm, 0 mm], metal: copper}
  "true": {section: {width: 20 mm, thickness: 3 mm}, at: [80 mm, 0 mm], metal: copper}
circuits:
  loop: {series: {U: 1, bus bar B: -1}}
materials:
  mu: {relative-permeability: 4000, saturation: 1 T}
sensors:
  S: {reads: U, at: [0 mm, 5 mm], axis: 180 deg, part: wren}
parts:
  wren: {linear-range: 25 mT}
`
	dir := t.TempDir()
	file := filepath.Join(dir, "a.yaml")
	c := startEditor(t, dir, []string{"utf-32"})
	c.open(file, head)
	for i, k := range []struct {
		name, text  string
		has, hasNot string // separated by |
	}{
		{"names of a reference", head + "  T: {reads: ‸, at: [0 mm, 9 mm]}\n", "", ""},
		{"value in a block", head + "duties:\n  run:\n    kind: ‸\n", "continuous=>continuous|peak=>peak|fault=>fault", "sine=>sine"},
		{"word that is begun", head + "duties:\n  run:\n    kind: con‸\n", "continuous=con>continuous", ""},
		{"key in a block", head + "duties:\n  run:\n    kind: peak\n    ‸\n", "currents=>currents:|frequency=>frequency: ", "kind=>kind: "},
		{"key in a block, with text behind", head + "duties:\n  run:\n    kind: peak\n    fr‸\n  short: {kind: fault}\n", "frequency=fr>frequency: ", "kind=fr>kind: "},
		{"key that has a value", head + "duties:\n  run:\n    kin‸: peak\n", "kind=kin>kind", "currents=kin>currents:"},
		{"top", head + "‸\n", "duties=>duties:|title=>title: ", "bars=>bars:"},
		{"names as keys", head + "duties:\n  run: {kind: peak, currents: {‸}}\n", `loop=>loop: |U=>U: |bus bar B=>bus bar B: |true=>"true": `, "S=>S: "},
		{"names as keys that are there", head + "duties:\n  run: {kind: peak, currents: {U: {dc: 1 A}, ‸}}\n", "loop=>loop: ", "U=>U: "},
		{"needs", head + "needs:\n  ‸\n", "S=>S: |all=>all: ", "U=>U: "},
		{"keys of a need", head + "needs:\n  S: {‸}\n", "accuracy=>accuracy: ", "reads=>reads: "},
		{"item of a list", head + "duties:\n  run: {kind: peak, three-phase: {bars: [U, ‸]}}\n", "loop=>loop|bus bar B=>bus bar B", "S=>S"},
		{"list that is not closed", head + "duties:\n  run: {kind: peak, three-phase: {bars: [U, ‸\n", "loop=>loop", "S=>S"},
		{"mapping that is not closed, with text behind", strings.Replace(head, "metal: copper}\n  bus", "metal: co‸\n  bus", 1), "copper=co>copper|brass=co>brass|mu=co>mu", ""},
		{"iron of a shield", head + "shields:\n  K: {form: {plate: {width: 9 mm, thickness: 1 mm}}, at: [0 mm, 9 mm], material: ‸}\n", "mu=>mu", "copper=>copper"},
		{"form of a shield", head + "shields:\n  K:\n    form: {‸}\n", "channel=>channel:|ring=>ring:|plate=>plate:", ""},
		{"unit", head + "duties:\n  run: {kind: peak, frequency: 50 ‸}\n", "Hz=>Hz|kHz=>kHz", "mm=>mm"},
		{"unit that is begun", head + "duties:\n  run: {kind: peak, frequency: 50 k‸}\n", "Hz=k>Hz|kHz=k>kHz", ""},
		{"unit that is glued", head + "duties:\n  run: {kind: peak, frequency: 50k‸}\n", "kHz=k> kHz", ""},
		{"quantity", head + "duties:\n  run: {kind: peak, frequency: ‸}\n", "50 Hz=>50 Hz", "Hz=>Hz"},
		{"name of two words", strings.Replace(head, "reads: U", "reads: bus b‸", 1), "bus bar B=bus b>bus bar B", ""},
		{"in quotes", strings.Replace(head, "reads: U", `reads: "tr‸"`, 1), "true=tr>true|bus bar B=tr>bus bar B", ""},
		{"truth", head + "readout:\n  firmware:\n    ‸\n", "", "bars=>bars:"},
		{"long or a length", head + "shields:\n  K: {depth: ‸}\n", "long=>long", ""},
		{"behind 😀", strings.Replace(head, "  S: {reads: U", "  😀: {reads: ‸", 1), "loop=>loop", ""},
		{"in a comment", head + "# ‸\n", "", "duties=>duties:"},
		{"JSON", `{"layout": 1, "bars": {"U": {"metal": "‸"}}}`, "copper=>copper", ""},
		{"a key of JSON", `{"layout": 1, "bars": {"U": {"me‸"}}}`, "metal=me>metal", "layout=me>layout"},
	} {
		got := c.offered(file, i+2, k.text)
		for _, want := range strings.Split(k.has, "|") {
			if want != "" && !slices.Contains(got, want) {
				t.Errorf("%s: %q is not offered: %q", k.name, want, got)
			}
		}
		for _, not := range strings.Split(k.hasNot, "|") {
			if not != "" && slices.Contains(got, not) {
				t.Errorf("%s: %q is offered", k.name, not)
			}
		}
	}
	if got := c.offered(file, 99, head+"  T: {reads: ‸, at: [0 mm, 9 mm]}\n"); len(got) > 0 {
		t.Errorf("a sensor among the parts: %q", got)
	}
	c.leave()
}

// Columns are those that the client counts in; the place is the same in all.
func TestEditorColumns(t *testing.T) {
	text := strings.Replace(bare(0), "  SU: {reads: U,", "  \"😀é\": {reads: Q,", 1)
	for offer, want := range map[string]int{"utf-8": 20, "utf-16": 17, "utf-32": 16, "": 17} {
		dir := t.TempDir()
		file := filepath.Join(dir, "drive.yaml")
		var offers []string
		if offer != "" {
			offers = []string{"utf-7", offer}
		}
		c := startEditor(t, dir, offers)
		c.open(file, text)
		p := c.until(file, func(p *published) bool { return len(p.Diagnostics) > 0 })
		if p.codes() != fmt.Sprintf("id-unknown 7:%d", want) {
			t.Errorf("counted in %q: %s, want column %d", c.counts, p.codes(), want)
		}
		c.leave()
	}
}

// What an editor is told of a file is what check reports of it: findings, places and levels.
func TestEditorAgreesWithCheck(t *testing.T) {
	dir := withFixtures(t)
	c := startEditor(t, dir, []string{"utf-32"})
	names := []string{"clean/plausibility-pair.yaml", "failing/laminated-pair.yaml", "failing/battery-container.yaml", "failing/crane-copper-channel.yaml", "failing/welder-trapezoid.yaml", "clean/ferry-thruster.yaml", "examples/measured.yaml"}
	under, err := fixtures.FS.ReadDir("standard/layouts")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range under {
		names = append(names, "standard/layouts/"+e.Name())
	}
	met, hidden := 0, 0
	for _, name := range names {
		data, err := fixtures.FS.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(dir, filepath.FromSlash(name))
		var report struct {
			Findings []struct {
				Rule, Level, Message, Path string
				Line, Column               int
			}
			Permitted []any
		}
		got := call(dir, "check", "--no-store", "--format", "json", filepath.FromSlash(name))
		if err := json.Unmarshal([]byte(got.out), &report); err != nil {
			t.Fatalf("%s: %v\n%s", name, err, got.err)
		}
		hidden += len(report.Permitted)
		want := map[string][]string{file: nil}
		for _, f := range report.Findings {
			at := filepath.Join(dir, filepath.FromSlash(f.Path))
			want[at] = append(want[at], fmt.Sprintf("%s %d:%d %s", f.Rule, f.Line-1, f.Column-1, f.Message))
		}
		c.open(file, string(data))
		for at, list := range want {
			slices.Sort(list)
			met += len(list)
			c.until(at, func(p *published) bool {
				var said []string
				for _, d := range p.Diagnostics {
					message, _, _ := strings.Cut(d.Message, "\ntry: ")
					message = strings.TrimPrefix(message, "undecided: ")
					said = append(said, fmt.Sprintf("%s %d:%d %s", d.Code, d.Range.Start.Line, d.Range.Start.Character, message))
				}
				slices.Sort(said)
				return slices.Equal(said, list)
			})
		}
		c.notify("textDocument/didClose", map[string]any{"textDocument": map[string]any{"uri": uri(file)}})
	}
	if met < 10 || hidden == 0 {
		t.Errorf("%d findings were compared, %d were hidden: too few to say anything", met, hidden)
	}
	c.leave()
}
