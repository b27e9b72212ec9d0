package policyfile

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"busgauss/model/finding"
	"busgauss/model/policy"
)

// tree makes a file system out of names and contents.
func tree(files ...string) fstest.MapFS {
	out := fstest.MapFS{}
	for i := 0; i < len(files); i += 2 {
		out[files[i]] = &fstest.MapFile{Data: []byte(files[i+1])}
	}
	return out
}

// said prints findings one a line.
func said(list []finding.Finding) string {
	var out strings.Builder
	for _, f := range list {
		fmt.Fprintf(&out, "%s-%d:%d %s: %s\n", f.Span, f.Span.End.Line, f.Span.End.Column, f.Rule, f.Message)
	}
	return out.String()
}

func names(s *policy.Set) string {
	var out []string
	for _, f := range s.Files {
		out = append(out, f.Path)
	}
	return strings.Join(out, " ")
}

func TestFindIsNearest(t *testing.T) {
	root := tree("busgauss-standard.yaml", "", "a/busgauss-standard.yaml", "", "a/b/busgauss-baseline.yaml", "",
		"a/b/c/x.yaml", "", "busgauss-deviations.yaml", "", "z/x.yaml", "")
	for _, c := range []struct {
		layout string
		want   Paths
	}{
		{"a/b/c/x.yaml", Paths{"a/busgauss-standard.yaml", "busgauss-deviations.yaml", "a/b/busgauss-baseline.yaml"}},
		{"z/x.yaml", Paths{"busgauss-standard.yaml", "busgauss-deviations.yaml", ""}},
		{"x.yaml", Paths{"busgauss-standard.yaml", "busgauss-deviations.yaml", ""}},
		{"not/there/x.yaml", Paths{"busgauss-standard.yaml", "busgauss-deviations.yaml", ""}},
		{"z/x.yaml/y.yaml", Paths{"busgauss-standard.yaml", "busgauss-deviations.yaml", ""}},
		{"../x.yaml", Paths{"busgauss-standard.yaml", "busgauss-deviations.yaml", ""}},
		{"/x/y.yaml", Paths{"busgauss-standard.yaml", "busgauss-deviations.yaml", ""}},
	} {
		if got := Find(root, c.layout); got != c.want {
			t.Errorf("%s: %+v", c.layout, got)
		}
	}
	if got := Find(fstest.MapFS{}, "a/x.yaml"); got != (Paths{}) {
		t.Errorf("nothing there: %+v", got)
	}
}

// A later file wins, so what is extended stands first, each file once.
func TestChainOrder(t *testing.T) {
	root := tree(
		"yard/busgauss-standard.yaml", "standard: 1\nextends: [metering, left.yaml, ../right.yaml]\n",
		"yard/left.yaml", "standard: 1\nextends: ../base.yaml\n",
		"right.yaml", "standard: 1\nextends: [base.yaml, metering, drive]\n",
		"base.yaml", "standard: 1\ntitle: base\n",
	)
	set, problems := Load(root, Paths{Standard: "yard/busgauss-standard.yaml"}, Options{})
	if len(problems) > 0 || set.Broken {
		t.Fatal(said(problems))
	}
	if got := names(set); got != "metering base.yaml yard/left.yaml drive right.yaml yard/busgauss-standard.yaml" {
		t.Error(got)
	}
	var sources []string
	for _, s := range set.Sources {
		sources = append(sources, s.RootPath)
	}
	if got := strings.Join(sources, " "); got != "base.yaml right.yaml yard/busgauss-standard.yaml yard/left.yaml" {
		t.Errorf("sources: %s", got)
	}
}

// The limits of the three kinds of file at their edge.
func TestSizes(t *testing.T) {
	for _, c := range []struct {
		head string
		most int
		at   func(string) Paths
	}{
		{"standard: 1\n#", maxStandardBytes, func(name string) Paths { return Paths{Standard: name} }},
		{"deviations: 1\npermits: []\n#", maxDeviationsBytes, func(name string) Paths { return Paths{Deviations: name} }},
		{"baseline: 1\nfindings: []\n#", maxBaselineBytes, func(name string) Paths { return Paths{Baseline: name} }},
	} {
		for _, more := range []int{-1, 0, 1} {
			text := c.head + strings.Repeat("x", c.most+more-len(c.head))
			set, problems := Load(tree("f.yaml", text), c.at("f.yaml"), Options{})
			over := strings.Contains(said(problems), fmt.Sprintf("it has more than %d bytes", c.most))
			if over != (more > 0) || set.Broken != over || len(problems) > 0 != over {
				t.Errorf("%.10s of %d bytes: broken %v, %s", c.head, len(text), set.Broken, said(problems))
			}
		}
	}
}

func TestBuiltInPresetsRead(t *testing.T) {
	for _, name := range Presets() {
		data, ok := Preset(name)
		if !ok {
			t.Fatalf("no text of preset %q", name)
		}
		set, problems := Load(tree("s.yaml", string(data)), Paths{Standard: "s.yaml"}, Options{})
		if len(problems) > 0 {
			t.Errorf("%s: %s", name, said(problems))
			continue
		}
		for _, r := range set.Files[0].Rules {
			if !strings.Contains(r.Reason.Value, "common practice") && !strings.Contains(r.Reason.Value, "IEC ") {
				t.Errorf("%s: %s has no origin: %q", name, r.Rule.Value, r.Reason.Value)
			}
		}
		if len(set.Files[0].Rules) < 4 {
			t.Errorf("%s: %d rules", name, len(set.Files[0].Rules))
		}
	}
}

// Every refusal names its place and what is wrong.
func TestRefusals(t *testing.T) {
	permit := "deviations: 1\npermits:\n  - {file: a.yaml, rule: geometry, object: S, reason: r, approver: p, until: %s}\n"
	for _, c := range []struct{ name, files, want string }{
		{"unknown key", "standard: 1\nruels: {}\n",
			"s.yaml:2:1-2:6 key-unknown: unknown key \"ruels\" in the standard. Did you mean \"rules\"? Known keys: $schema, baseline-slack, classes, edition, extends, house-rules, least-version, paths, rules, rules-edition, standard, title, work\n"},
		{"two slips", "standard: 1\nrules: {geometry: {levle: note, limit: 3}}\n",
			"s.yaml:2:20-2:25 key-unknown: unknown key \"levle\" in geometry of rules. Did you mean \"level\"? Known keys: level, limits, reason\n" +
				"s.yaml:2:33-2:38 key-unknown: unknown key \"limit\" in geometry of rules. Did you mean \"limits\"? Known keys: level, limits, reason\n"},
		{"version", "standard: 3\n", "s.yaml:1:11-1:12 value-form: standard must be 1, the version of the format that this program reads, not the number 3\n"},
		{"level", "standard: 1\nrules: {geometry: {level: warn}}\n",
			"s.yaml:2:27-2:31 value-form: level of geometry of rules must be none, note, warning or error, not the text \"warn\"\n"},
		{"blank reason", "standard: 1\nrules: {geometry: {level: note, reason: '  '}}\n", "s.yaml:2:41-2:45 value-form: reason of geometry is blank\n"},
		{"preset", "standard: 1\nextends: metring\n",
			"s.yaml:2:10-2:17 standard-extends: no built-in preset is called \"metring\". Did you mean \"metering\"? There are metering, drive, protection, and a file is named with its ending\n"},
		{"missing file", "standard: 1\nextends: [company.yaml]\n",
			"s.yaml:2:11-2:23 standard-file: \"company.yaml\" cannot be read: it does not exist\n"},
		{"out of the root", "standard: 1\nextends: ../company.yaml\n", "s.yaml:2:10-2:25 standard-extends: \"../company.yaml\": the path leads out of the root\n"},
		{"absolute", "standard: 1\nextends: /etc/company.yaml\n", "s.yaml:2:10-2:27 standard-extends: \"/etc/company.yaml\": a path is relative to the folder of its file\n"},
		{"drive letter", "standard: 1\nextends: 'c:/company.yaml'\n", "s.yaml:2:10-2:27 standard-extends: \"c:/company.yaml\": a path is relative to the folder of its file\n"},
		{"backslash", "standard: 1\nextends: a\\company.yaml\n", "s.yaml:2:10-2:24 standard-extends: \"a\\\\company.yaml\": write forward slashes\n"},
		{"itself", "standard: 1\nextends: s.yaml\n", "s.yaml:2:10-2:16 standard-extends: the standards extend each other in a circle: s.yaml → s.yaml\n"},
		{"glob", "standard: 1\npaths: [{files: ['a/[b', '../x/**', 'c\\d'], rules: {}}]\n",
			"s.yaml:2:18-2:24 standard-path: \"a/[b\": the pattern is not complete\n" +
				"s.yaml:2:26-2:35 standard-path: \"../x/**\": the path leads out of the root\n" +
				"s.yaml:2:37-2:42 standard-path: \"c\\\\d\": write forward slashes\n"},
		{"channel glob", "standard: 1\nclasses: {pack: {channels: ['{a']}}\n", "s.yaml:2:29-2:33 standard-path: \"{a\": the pattern is not complete\n"},
		{"list", "- 1\n", "s.yaml:1:1-1:4 value-form: expected a mapping, found a list\n"},
		{"empty", "", "s.yaml:1:1-1:1 file-documents: the file is empty\n"},
		{"duplicate key", "standard: 1\nrules: {}\nrules: {}\n", "s.yaml:3:1-3:6 key-duplicate: key \"rules\" is repeated\n"},
		{"house rule lacks", "standard: 1\nhouse-rules:\n  own: {title: t, for: channels, holds: 'true'}\n",
			"s.yaml:3:3-3:6 key-missing: own of house-rules needs \"message\"\n" +
				"s.yaml:3:24-3:32 value-form: for of own of house-rules must be channel, bar, shield or duty, not the text \"channels\". Did you mean \"channel\"?\n"},
		{"date form", "D" + fmt.Sprintf(permit, "31.12.2026"), "d.yaml:3:78-3:88 value-form: until: \"31.12.2026\" is not a day: write year-month-day, such as 2026-12-31\n"},
		{"no such day", "D" + fmt.Sprintf(permit, "2026-02-29"), "d.yaml:3:78-3:88 value-form: until: \"2026-02-29\" is not a day: write year-month-day, such as 2026-12-31\n"},
		{"no reason", "Ddeviations: 1\npermits:\n  - {file: a.yaml, rule: geometry, object: S, until: 2026-01-01}\n",
			"d.yaml:3:6-3:10 key-missing: item 1 of permits needs \"approver\"\n" +
				"d.yaml:3:6-3:10 key-missing: item 1 of permits needs \"reason\"\n"},
		{"layout outside", "D" + strings.Replace(fmt.Sprintf(permit, "2026-01-01"), "a.yaml", "../a.yaml", 1),
			"d.yaml:3:12-3:21 standard-path: \"../a.yaml\": the path leads out of the root\n"},
		{"half a value", "Bbaseline: 1\nfindings:\n  - {file: a.yaml, rule: geometry, object: S, verdict: fail, level: error, value: 3}\n",
			"b.yaml:3:5-3:85 value-form: value, limit and unit stand together or not at all\n"},
		{"baseline verdict", "Bbaseline: 1\nfindings:\n  - {file: a.yaml, rule: geometry, object: S, verdict: pass, level: error}\n",
			"b.yaml:3:56-3:60 value-form: verdict of item 1 of findings must be fail or undecided, not the text \"pass\"\n"},
	} {
		p, name, text := Paths{Standard: "s.yaml"}, "s.yaml", c.files
		if rest, ok := strings.CutPrefix(text, "D"); ok {
			p, name, text = Paths{Deviations: "d.yaml"}, "d.yaml", rest
		} else if rest, ok := strings.CutPrefix(text, "B"); ok {
			p, name, text = Paths{Baseline: "b.yaml"}, "b.yaml", rest
		}
		set, problems := Load(tree(name, text), p, Options{})
		if got := said(problems); got != c.want {
			t.Errorf("%s:\n got %swant %s", c.name, got, c.want)
		}
		if !set.Broken {
			t.Errorf("%s: the set is not broken", c.name)
		}
	}
}

func TestCircleOverFiles(t *testing.T) {
	_, problems := Load(tree(
		"s.yaml", "standard: 1\nextends: a/a.yaml\n",
		"a/a.yaml", "standard: 1\nextends:\n  - metering\n  - ../b.yaml\n",
		"b.yaml", "standard: 1\nextends: a/a.yaml\n"), Paths{Standard: "s.yaml"}, Options{})
	if got, want := said(problems), "b.yaml:2:10-2:18 standard-extends: the standards extend each other in a circle: a/a.yaml → b.yaml → a/a.yaml\n"; got != want {
		t.Errorf("got %swant %s", got, want)
	}
}

func TestTooManyFiles(t *testing.T) {
	root := fstest.MapFS{}
	for i := range 20 {
		root[fmt.Sprintf("%d.yaml", i)] = &fstest.MapFile{Data: fmt.Appendf(nil, "standard: 1\nextends: %d.yaml\n", i+1)}
	}
	set, problems := Load(root, Paths{Standard: "0.yaml"}, Options{})
	if !set.Broken || len(problems) != 1 || problems[0].Rule != ruleExtends || problems[0].Span.File != "7.yaml" {
		t.Error(said(problems))
	}
}

// Paths are relative to the folder of the file that has them.
func TestPathsBelongToTheirFile(t *testing.T) {
	root := tree("y[a]rd/s.yaml", "standard: 1\npaths: [{files: [hulls/**, ../spare/*.yaml], rules: {}}]\n",
		"y[a]rd/d.yaml", "deviations: 1\npermits:\n  - {file: ../hulls/a.yaml, rule: geometry, object: S, reason: r, approver: p, until: 2026-12-31}\n")
	set, problems := Load(root, Paths{Standard: "y[a]rd/s.yaml", Deviations: "y[a]rd/d.yaml"}, Options{Show: func(n string) string { return "../" + n }})
	if len(problems) > 0 {
		t.Fatal(said(problems))
	}
	globs := set.Files[0].Paths[0].Files
	if globs[0].Value != `y\[a]rd/hulls/**` || globs[1].Value != "spare/*.yaml" {
		t.Errorf("%q %q", globs[0].Value, globs[1].Value)
	}
	if f := set.Deviations[0].File; f.Value != "hulls/a.yaml" || f.Span.File != "../y[a]rd/d.yaml" {
		t.Errorf("%+v", f)
	}
	if d := set.Deviations[0]; d.Span.String() != "../y[a]rd/d.yaml:3:6" || d.Until != policy.Day(2026, 12, 31) {
		t.Errorf("%v %v", d.Span, d.Until)
	}
	outside, _ := Load(root, Paths{Standard: "y[a]rd/s.yaml"}, Options{Outside: true})
	if outside != nil && !outside.Broken {
		t.Error("../spare leads out of the root of layouts when the standard stands outside")
	}
}

// The file system of an opened root refuses what leads out of it; a pipe is
// refused before it is opened.
func TestRealFiles(t *testing.T) {
	top := t.TempDir()
	root := filepath.Join(top, "root")
	if err := os.MkdirAll(filepath.Join(root, "a"), 0o755); err != nil {
		t.Fatal(err)
	}
	write := func(name, text string) {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write(filepath.Join(top, "secret.yaml"), "standard: 1\ntitle: secret\n")
	write(filepath.Join(root, "good.yaml"), "standard: 1\ntitle: good\n")
	link := func(to, name string) {
		if err := os.Symlink(to, filepath.Join(root, name)); err != nil {
			t.Skipf("no links here: %v", err)
		}
	}
	link("../secret.yaml", "out.yaml")
	link("good.yaml", "in.yaml")
	link("nowhere.yaml", filepath.Join("a", StandardName))
	write(filepath.Join(root, "large.yaml"), "standard: 1\n#"+strings.Repeat("x", maxStandardBytes))
	r, err := os.OpenRoot(root)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	for _, c := range []struct{ name, want string }{
		{"in.yaml", ""},
		{"out.yaml", "out.yaml:1:1-1:1 standard-file: \"out.yaml\" cannot be read: path escapes from parent\n"},
		{"a", "a:1:1-1:1 standard-file: \"a\" cannot be read: it is not a plain file\n"},
		{"large.yaml", "large.yaml:1:1-1:1 standard-file: \"large.yaml\" cannot be read: it has more than 262144 bytes\n"},
	} {
		if _, problems := Load(r.FS(), Paths{Standard: c.name}, Options{}); said(problems) != c.want {
			t.Errorf("%s:\n got %swant %s", c.name, said(problems), c.want)
		}
	}
	if got := Find(r.FS(), "a/x.yaml"); got.Standard != "a/"+StandardName {
		t.Errorf("a link to nowhere is passed over: %+v", got)
	}
}
