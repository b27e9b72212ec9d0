package policyfile

import (
	"testing"

	"busgauss/model/span"
)

// FuzzLoad reads any text in each of the three places: no panic, every problem
// inside its file, every place of an expression inside the file, and no problem
// of level error without the set being broken.
func FuzzLoad(f *testing.F) {
	for _, name := range Presets() {
		text, _ := Preset(name)
		f.Add(string(text))
	}
	f.Add("standard: 1\nextends: [metering, f.yaml]\nhouse-rules:\n  own: {title: t, for: bar, holds: >-\n    a <\n    1.0, message: \"{a} \\u0041\"}\n")
	f.Add("deviations: 1\npermits:\n  - {file: a.yaml, rule: geometry, object: S, reason: r, approver: p, until: 2026-12-31, up-to: 2.5 %}\n")
	f.Add("baseline: 1\nfindings:\n  - {file: a.yaml, rule: geometry, object: S, verdict: fail, level: error, value: 1e-3, limit: 0.5, unit: \"1\"}\n")
	f.Add("standard: 1\nclasses: {a: {preset: drive, channels: ['*'], files: ['{a,b}/**']}}\n")
	f.Fuzz(func(t *testing.T, text string) {
		lines := splitLines([]byte(text))
		inside := func(p span.Pos) bool {
			return p.Line >= 1 && p.Line <= max(1, len(lines)) && p.Column >= 1 && p.Column <= len(lines[p.Line-1])+1
		}
		root := tree("f.yaml", text)
		for _, p := range []Paths{{Standard: "f.yaml"}, {Deviations: "f.yaml"}, {Baseline: "f.yaml"}} {
			set, problems := Load(root, p, Options{})
			if len(problems) > 0 != set.Broken {
				t.Fatalf("broken %v with %d problems", set.Broken, len(problems))
			}
			for _, f := range problems {
				if !f.Span.Valid() || !inside(f.Span.Start) || !inside(f.Span.End) || f.Message == "" {
					t.Fatalf("problem outside the file: %v %v %s", f.Span, f.Span.End, f.Message)
				}
			}
			for _, file := range set.Files {
				for _, h := range file.HouseRules {
					for _, at := range h.Holds.Places {
						if file.BuiltIn {
							continue
						}
						if !inside(at) {
							t.Fatalf("place %v outside the file", at)
						}
					}
				}
			}
		}
	})
}
