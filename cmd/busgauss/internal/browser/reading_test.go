package browser

import (
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// inks lists the text of the page with its colour and what lies behind it: the halo
// where letters have one, else the topmost painted thing at each of three places of the
// text, down to the paper. The window must hold the page as a whole.
const inks = `(function () {
	var out = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), range = document.createRange(), node;
	function rgba(c) { var m = c.match(/[\d.]+/g).map(Number); return [m[0], m[1], m[2], m.length > 3 ? m[3] : 1]; }
	function behind(e, x, y) {
		var layers = [];
		document.elementsFromPoint(x, y).some(function (o) {
			var s = getComputedStyle(o), c, a = 1;
			if (o instanceof SVGElement && !(o instanceof SVGSVGElement)) {
				if (o.closest("text") || s.fill === "none" || !/^rgb/.test(s.fill)) { return false; }
				c = rgba(s.fill);
				a = +s.fillOpacity * +s.opacity;
			} else {
				c = rgba(s.backgroundColor);
			}
			if (c[3] * a > 0) { layers.push([c[0], c[1], c[2], c[3] * a]); }
			return c[3] * a === 1;
		});
		return layers;
	}
	while ((node = walk.nextNode())) {
		var e = node.parentElement, s = getComputedStyle(e), boxes, box, halo, svg = e instanceof SVGElement;
		if (!node.textContent.trim() || /^(SCRIPT|STYLE|OPTION)$/.test(e.tagName) || e.closest("title,desc") || s.visibility !== "visible") { continue; }
		range.selectNodeContents(node);
		boxes = Array.prototype.filter.call(range.getClientRects(), function (r) { return r.width > 1 && r.height > 1 && r.x >= 0; });
		if (!boxes.length) { continue; }
		halo = svg && /^stroke/.test(s.paintOrder) && s.stroke !== "none" && parseFloat(s.strokeWidth) >= 2 ? [rgba(s.stroke)] : null;
		box = boxes[0];
		out.push({
			text: node.textContent.trim().slice(0, 60),
			ink: rgba(svg ? s.fill : s.color),
			behind: halo ? [halo] : [0.1, 0.5, 0.9].map(function (k) { return behind(e, box.x + k * box.width, box.y + box.height / 2); })
		});
	}
	return out;
})()`

type ink struct {
	Text   string
	Ink    [4]float64
	Behind [][][4]float64
}

// Text stands out from what lies behind it by 4.5 to 1 at least, in light and in dark
// (Web Content Accessibility Guidelines 2.1, success criterion 1.4.3).
func TestContrast(t *testing.T) {
	each(t, func(t *testing.T, s sample, html string) {
		for _, scheme := range []string{"light", "dark"} {
			b := open(t, html, media("", scheme))
			unfold(t, b)
			height := eval[int64](t, b, `document.documentElement.scrollHeight`)
			b.do(t, chromedp.EmulateViewport(1100, height+100))
			list := eval[[]ink](t, b, inks)
			paper := eval[[]float64](t, b, `getComputedStyle(document.documentElement).backgroundColor.match(/[\d.]+/g).map(Number)`)
			if dark := luminance(paper) < 0.5; dark != (scheme == "dark") {
				t.Errorf("%s: the paper is %v", scheme, paper)
			}
			if len(list) < 400 {
				t.Errorf("%s: found %d texts", scheme, len(list))
			}
			for _, i := range list {
				for _, layers := range i.Behind {
					if got := contrast(i.Ink[:], over(layers, paper)); !(got >= 4.5) {
						t.Errorf("%s: %q has a contrast of %.2f: %v on %v", scheme, i.Text, got, i.Ink, layers)
					}
				}
			}
		}
	})
}

// over returns the colour of layers, topmost first, on paper.
func over(layers [][4]float64, paper []float64) []float64 {
	out := append([]float64(nil), paper[:3]...)
	for k := len(layers) - 1; k >= 0; k-- {
		for c := range 3 {
			out[c] = layers[k][c]*layers[k][3] + out[c]*(1-layers[k][3])
		}
	}
	return out
}

// luminance is the relative luminance of an sRGB colour, and contrast the ratio of two,
// as the guidelines define them; ink that is not opaque counts as unreadable.
func luminance(c []float64) float64 {
	sum := 0.0
	for k, weight := range []float64{0.2126, 0.7152, 0.0722} {
		v := c[k] / 255
		if v <= 0.04045 {
			v /= 12.92
		} else {
			v = math.Pow((v+0.055)/1.055, 2.4)
		}
		sum += weight * v
	}
	return sum
}

func contrast(ink, paper []float64) float64 {
	if len(ink) > 3 && ink[3] != 1 {
		return 0
	}
	x, y := luminance(ink), luminance(paper)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// Tables are tables to a screen reader too: each has its caption as its name, headings
// of columns and, in every row of a body, a heading of the row; every drawing is a
// picture with a name; headings go down by one at a time.
func TestSemantics(t *testing.T) {
	each(t, func(t *testing.T, s sample, html string) {
		b := open(t, html)
		unfold(t, b)
		for _, fault := range eval[[]string](t, b, `(function () {
			var out = [], level = 0;
			document.querySelectorAll("table").forEach(function (t) {
				var name = t.caption ? t.caption.textContent.trim() : "";
				if (!name) { out.push("a table without a caption"); }
				if (!t.tHead || !t.tHead.querySelector("th[scope=col]")) { out.push(name + ": no headings of columns"); }
				t.querySelectorAll("th").forEach(function (h) { if (!/^(col|row)$/.test(h.scope)) { out.push(name + ": a heading of nothing: " + h.textContent); } });
				Array.prototype.forEach.call(t.tBodies, function (body) {
					if (!body.querySelector("th[scope=row]") && !body.querySelector("td[colspan]")) { out.push(name + ": a body without a heading"); }
				});
				t.querySelectorAll("tbody tr").forEach(function (r) {
					var n = 0;
					Array.prototype.forEach.call(r.cells, function (c) { n += c.colSpan; });
					if (n !== t.tHead.rows[0].cells.length) { out.push(name + ": a row of " + n + " cells"); }
				});
			});
			document.querySelectorAll("h1,h2,h3,h4").forEach(function (h) {
				var l = +h.tagName[1];
				if (l > level + 1) { out.push("heading " + h.textContent + " skips a level"); }
				level = l;
			});
			if (document.documentElement.lang !== "en" || !document.title) { out.push("no language or title"); }
			document.querySelectorAll("a[href^='#']").forEach(function (a) { if (!document.getElementById(a.hash.slice(1))) { out.push("a link to nowhere: " + a.hash); } });
			return out;
		})()`) {
			t.Error(fault)
		}
		tables := eval[[]string](t, b, `Array.from(document.querySelectorAll("table"), function (t) { return t.checkVisibility() ? t.caption.textContent.trim() : ""; }).filter(Boolean)`)
		pictures := eval[int](t, b, `Array.from(document.querySelectorAll("svg.fg")).filter(function (s) { return s.checkVisibility(); }).length`)
		tree, err := chromedp.Run(b.ctx, func(ctx context.Context, to *chromedp.Target) (*accessibility.GetFullAXTreeResult, error) {
			r, err := cdp.Call(ctx, to, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
			return &r, err
		})
		if err != nil {
			t.Fatal(err)
		}
		heard := map[string]int{}
		named := map[string]int{}
		for _, n := range tree.Nodes {
			if n.Ignored || n.Role == nil {
				continue
			}
			role, name := textOf(t, n.Role), textOf(t, n.Name)
			heard[role]++
			switch role {
			case "table":
				named[name]++
			case "image", "img", "combobox", "slider", "region", "link":
				if name == "" {
					t.Errorf("a %s without a name", role)
				}
			}
		}
		for _, name := range tables {
			if named[name] == 0 {
				t.Errorf("no table is heard as %q", name)
			}
		}
		if heard["table"] != len(tables) || heard["columnheader"] == 0 || heard["rowheader"] == 0 || heard["main"] != 1 || heard["slider"] == 0 {
			t.Errorf("of %d tables is heard %v", len(tables), heard)
		}
		if n := heard["image"] + heard["img"]; n != pictures {
			t.Errorf("of %d drawings %d are heard", pictures, n)
		}
	})
}

func textOf(t *testing.T, v *accessibility.Value) (text string) {
	t.Helper()
	if v == nil || len(v.Value) == 0 {
		return ""
	}
	if err := json.Unmarshal(v.Value, &text); err != nil {
		t.Fatal(err)
	}
	return text
}

// With the keyboard alone one gets to the duties, the section and the slides below it, in the
// order of the page and each with a visible frame; arrows read the field and move the slide.
func TestKeyboard(t *testing.T) {
	each(t, func(t *testing.T, s sample, html string) {
		b := open(t, html)
		const readout = `document.getElementById("hover-readout").textContent`
		var passed []string
		for range 200 {
			b.do(t, chromedp.KeyEvent(kb.Tab))
			at := eval[string](t, b, `(function () {
				var e = document.activeElement, s = getComputedStyle(e);
				if (s.outlineStyle === "none" || parseFloat(s.outlineWidth) < 2) { return "no frame: " + e.outerHTML.slice(0, 80); }
				return e.id || e.className && e.className.baseVal || e.className || e.getAttribute("href") || e.tagName.toLowerCase();
			})()`)
			if strings.HasPrefix(at, "no frame: ") {
				t.Error(at)
			}
			passed = append(passed, at)
			switch {
			case eval[bool](t, b, `document.activeElement.matches("#section-slot svg.fg")`):
				passed[len(passed)-1] = "section"
				seen := map[string]bool{eval[string](t, b, readout): true}
				for _, key := range []string{kb.ArrowRight, kb.ArrowUp, kb.ArrowRight, kb.ArrowDown, kb.ArrowDown} {
					b.do(t, chromedp.KeyEvent(key))
					is := eval[string](t, b, readout)
					if seen[is] {
						t.Errorf("an arrow stays at %q", is)
					}
					seen[is] = true
				}
			case at == "summary" && !strings.Contains(strings.Join(passed[:len(passed)-1], " "), "summary"):
				b.do(t, chromedp.KeyEvent(kb.Enter))
			}
			if at == "slide-0-x" {
				was := eval[string](t, b, `document.getElementById("slide-0-readout").textContent`)
				b.do(t, chromedp.KeyEvent(kb.ArrowRight))
				if is := eval[string](t, b, `document.getElementById("slide-0-readout").textContent`); is == was {
					t.Error("an arrow does not move the slide")
				}
				break
			}
		}
		order := strings.Join(passed, " ")
		place := func(what string) int { return strings.Index(order, what) }
		if passed[0] != "skip" || place("pick-frame") < 0 || !(place("as-share") < place("pick-frame") && place("pick-frame") < place("section") && place("section") < place("slide-0-x")) {
			t.Fatalf("the keyboard passes %s", order)
		}
		quiet(t, b)
	})
}

// Without script every duty is there, and nothing that only script can move; a part that is folded opens by
// itself, without script too.
func TestWithoutScript(t *testing.T) {
	each(t, func(t *testing.T, s sample, html string) {
		const facts = `(function () {
			var lost = [];
			document.querySelectorAll("summary").forEach(function (e) { e.click(); });
			document.querySelectorAll("main section, figure, table, figcaption, svg.fg, h2, h3, h4, pre").forEach(function (e) {
				if (!e.closest(".tools") && !e.checkVisibility()) { lost.push(e.outerHTML.slice(0, 80)); }
			});
			return { Lost: lost, Tools: document.getElementById("section-tools").checkVisibility(), Frames: document.querySelectorAll("figure.frame").length, Words: document.getElementById("main").innerText.length };
		})()`
		type fact struct {
			Lost          []string
			Tools         bool
			Frames, Words int
		}
		still := open(t, html, script(false))
		got := eval[fact](t, still, facts)
		if len(got.Lost) > 0 || got.Tools || got.Frames < 2 || got.Words < 10000 {
			t.Errorf("without script: %+v", got)
		}
		quiet(t, still)
		if with := eval[fact](t, open(t, html), facts); !with.Tools || len(with.Lost) > 0 {
			t.Errorf("with script: %+v", with)
		}
	})
}
