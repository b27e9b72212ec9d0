package page

import (
	"bytes"
	"io"
	"strings"
	"testing"

	"busgauss/rules/audit"
)

// hostile is a layout whose names would be markup, script, quotes, direction marks and
// very long; with -long its shield ends, so that its field is computed in space.
func hostile() string {
	longName := strings.Repeat("x", 300)
	text := `layout: 1
title: "</title><script>alert(1)</script> TITLE"
bars:
  "<script>alert(2)</script>": {section: {width: 20 mm, thickness: 3 mm}, at: [-25 mm, 0 mm], metal: copper, length: 200 mm}
  "</script><b>bold": {section: {width: 20 mm, thickness: 3 mm}, at: [25 mm, 0 mm], metal: copper, length: 200 mm}
shields:
  "]]>&amp;'K": {form: {plate: {width: 20 mm, thickness: 1 mm}}, at: [-25 mm, 12 mm], material: "<!-- iron", depth: 100 mm}
materials:
  "<!-- iron": {relative-permeability: 500, saturation: 1.5 T, source: "<a href=javascript:alert(3)>"}
sensors:
  "S\u202E\u2066\"'><img src=x onerror=alert(4)>": {reads: "<script>alert(2)</script>", at: [-25 mm, 6 mm], axis: 180 deg, part: "javascript:alert(5)", placement: {x: 0.2 mm, y: 0.2 mm, tilt: 0.5 deg}}
  "LONG": {reads: "</script><b>bold", at: [25 mm, 6 mm], axis: 180 deg, part: "javascript:alert(5)"}
parts:
  "javascript:alert(5)": {linear-range: 20 mT, sensitivity: 100 mV/mT, output: {zero: 2.5 V, low: 0.5 V, high: 4.5 V}}
duties:
  "{{.Data}}": {kind: continuous, frequency: 50 Hz, currents: {"<script>alert(2)</script>": {rms: 100 A}, "</script><b>bold": {rms: 100 A, phase: 180 deg}}}
`
	if !*long {
		text = strings.Replace(text, "depth: 100 mm", "depth: long", 1)
	}
	return strings.Replace(text, "LONG", longName, 1)
}

func TestHostileNames(t *testing.T) {
	p := pageOf(t, hostile())
	page := written(t, p)
	all := structure(t, page)
	scripts := 0
	for _, e := range all {
		switch e.name {
		case "script":
			scripts++
		case "b", "img":
			t.Errorf("a name became <%s>", e.name)
		case "a":
			if !strings.HasPrefix(e.attr["href"], "#") {
				t.Errorf("a name became a link to %s", e.attr["href"])
			}
		}
	}
	if scripts != 2 {
		t.Errorf("%d script elements, want data and script", scripts)
	}
	for _, r := range page {
		if r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 || r < 0x20 && r != '\n' {
			t.Errorf("U+%04X is on the page", r)
			break
		}
	}
	if !strings.Contains(page, `\u202e`) || !strings.Contains(page, strings.Repeat("x", 300)) || !strings.Contains(page, "{{.Data}}") {
		t.Error("a name is not shown")
	}
	for name, write := range map[string]func(io.Writer, *audit.Page) error{"markdown": WriteMarkdown, "json": WriteJSON} {
		var out bytes.Buffer
		if err := write(&out, p); err != nil {
			t.Fatal(err)
		}
		if strings.ContainsAny(out.String(), "\u202e\u2066\x1b") || name == "markdown" && strings.Contains(out.String(), "<") {
			t.Errorf("%s shows a name as it is", name)
		}
	}
}
