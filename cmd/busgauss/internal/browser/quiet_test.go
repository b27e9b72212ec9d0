package browser

import (
	"slices"
	"strings"
	"testing"
)

// The largest page of a layout of three phases, in bytes.
const mostBytes = 3 << 20

// quiet asserts that the page asked for nothing but itself, and that the browser had
// nothing to complain of.
func quiet(t *testing.T, b *tab) {
	t.Helper()
	requests, troubles, dialogs := b.heard()
	if !slices.Contains(requests, b.url) {
		t.Errorf("the browser did not tell of the page itself: %q", requests)
	}
	for _, r := range requests {
		if r != b.url && r != "data:," {
			t.Errorf("the page asks for %s", r)
		}
	}
	for _, line := range troubles {
		t.Error(line)
	}
	for _, d := range dialogs {
		t.Errorf("a dialog opens: %s", d)
	}
}

// A page is one small file that asks for nothing and has nothing to complain of, also
// after every duty was shown, the section entered and each slide moved.
func TestNothingLeavesThePage(t *testing.T) {
	each(t, func(t *testing.T, s sample, html string) {
		if len(html) >= mostBytes {
			t.Errorf("%d bytes", len(html))
		}
		b := open(t, html)
		moved := eval[int](t, b, `(function () {
			var n = 0, pick = document.getElementById("pick-frame");
			for (var i = 0; i < pick.options.length; i++) {
				pick.value = i;
				pick.dispatchEvent(new Event("change"));
				document.querySelectorAll("input[type=range]").forEach(function (r) {
					for (var k = +r.min; k <= +r.max; k++) { r.value = k; r.dispatchEvent(new Event("input")); n++; }
				});
				var svg = document.querySelector("#section-slot svg.fg"), box = svg.getBoundingClientRect();
				svg.dispatchEvent(new PointerEvent("pointermove", { clientX: box.x + box.width / 2, clientY: box.y + box.height / 4 }));
			}
			return n;
		})()`)
		if moved == 0 {
			t.Error("nothing to move")
		}
		if eval[string](t, b, `document.getElementById("hover-readout").textContent`) == "" {
			t.Error("hovering shows nothing")
		}
		quiet(t, b)
	})
}

// A page that asks for a picture, and one whose own script fails, are noticed; without
// this the test above could be deaf.
func TestNoiseIsHeard(t *testing.T) {
	need(t)
	b := open(t, `<!doctype html><title>x</title><script>console.error("x"); nowhere();</script><img src="http://127.0.0.1:47999/x.png">`)
	requests, troubles, _ := b.heard()
	if !slices.Contains(requests, "http://127.0.0.1:47999/x.png") {
		t.Errorf("requests %q", requests)
	}
	for _, want := range []string{"console.error", "exception: ", "error: "} {
		if !slices.ContainsFunc(troubles, func(s string) bool { return strings.HasPrefix(s, want) }) {
			t.Errorf("no %q among the troubles %q", want, troubles)
		}
	}
}

// Names that are markup, script, quotes, marks of direction, and long, are shown as
// they are written, with what could mislead as an escape; nothing of them runs.
func TestHostileNamesAreHarmless(t *testing.T) {
	need(t)
	nasty := `'"</script><script>alert(1)</script><img src=x onerror=alert(2)><svg onload=alert(3)>`
	long := strings.Repeat("n", 300)
	escaped := strings.ReplaceAll(nasty, `"`, `\"`) + `\u202e`
	text := strings.NewReplacer("BAD", escaped, "LONG", long).Replace(`layout: 1
title: "title BAD"
bars:
  "UBAD": {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  "VLONG": {section: {width: 20 mm, thickness: 3 mm}, at: [25 mm, 0 mm], metal: copper}
sensors:
  "SBAD": {reads: "UBAD", at: [0 mm, 5.5 mm], axis: 180 deg, part: "PBAD"}
parts:
  "PBAD": {linear-range: 2 mT}
duties:
  "DBAD": {kind: continuous, currents: {"UBAD": {dc: 200 A}, "VLONG": {dc: -200 A}}}
`)
	dir := t.TempDir()
	write(t, dir, text)
	got := call(dir, "report", layoutName)
	if got.status != 0 {
		t.Fatal(got.err)
	}
	b := open(t, got.out)
	shown := nasty + `\u202e`
	for _, c := range []struct{ what, expression, want string }{
		{"heading", `document.querySelector("h1").textContent`, "title " + shown},
		{"channel", `document.querySelector("section.channel h2").textContent`, "Channel S" + shown},
		{"scripts", `String(document.scripts.length)`, "2"},
		{"images", `String(document.querySelectorAll("img,iframe,object,embed,[onload],[onerror]").length)`, "0"},
		{"marks of direction", `String(/[\u202a-\u202e\u2066-\u2069]/.test(document.documentElement.outerHTML))`, "false"},
		{"wide", `String(document.documentElement.scrollWidth - document.documentElement.clientWidth)`, "0"},
	} {
		if got := eval[string](t, b, c.expression); got != c.want {
			t.Errorf("%s: %q, want %q", c.what, got, c.want)
		}
	}
	// The names reach the script as well, where hovering lists the bars.
	eval[bool](t, b, `(function () {
		var svg = document.querySelector("#section-slot svg.fg"), box = svg.getBoundingClientRect();
		return svg.dispatchEvent(new PointerEvent("pointermove", { clientX: box.x + box.width / 3, clientY: box.y + box.height / 3 }));
	})()`)
	if got := eval[string](t, b, `document.getElementById("hover-readout").textContent`); !strings.Contains(got, "U"+shown) || !strings.Contains(got, "V"+long) {
		t.Errorf("hovering shows %q", got)
	}
	quiet(t, b)
}
