package browser

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// On the first screen of a desk, 1280 by 900 pixels, stand the verdict, the whole matrix of margins, the
// section with its field and the head of the changes; margins turn into amperes without script.
func TestFirstScreen(t *testing.T) {
	each(t, func(t *testing.T, s sample, html string) {
		b := open(t, html, script(false))
		b.do(t, chromedp.EmulateViewport(1280, 900))
		type edges struct{ Verdict, Matrix, Top, Bottom, Changes, Cells, Overlap float64 }
		got := eval[edges](t, b, `(function () {
			function box(q) { return document.querySelector(q).getBoundingClientRect(); }
			var matrix = box("table.matrix"), figure = box("#section-slot svg.fg");
			return { Verdict: box("#result").bottom, Matrix: matrix.bottom, Top: figure.top, Bottom: figure.bottom, Changes: box(".glance-changes h3").bottom,
				Cells: document.querySelectorAll("table.matrix td[data-verdict]:not([data-verdict=none])").length, Overlap: matrix.right - figure.left };
		})()`)
		if !(got.Verdict < 250) || !(got.Matrix <= 900) || !(got.Top < 400) || !(got.Bottom <= 900) || !(got.Changes <= 900) || got.Cells < 10 || got.Overlap > 0 {
			t.Errorf("%+v", got)
		}
		const shown = `Array.from(document.querySelectorAll("table.matrix td a")).map(function (a) { return a.innerText; }).join("|")`
		before := eval[string](t, b, shown)
		eval[int](t, b, `document.getElementById("as-amount").click(), 0`)
		after := eval[string](t, b, shown)
		if !strings.Contains(before, " %") || strings.Contains(before, " A|") || !strings.Contains(after, " A|") || strings.Count(before, "|") != strings.Count(after, "|") {
			t.Errorf("per cent %q, amperes %q", before, after)
		}
		for _, cell := range append(strings.Split(before, "|"), strings.Split(after, "|")...) {
			if strings.Contains(cell, " %") && strings.HasSuffix(cell, " A") {
				t.Errorf("a cell shows both: %q", cell)
			}
		}
	})
}

// The slides stand below the drawing, folded at first and small when they are open, whichever duty is shown.
func TestSlidesAreSmall(t *testing.T) {
	each(t, func(t *testing.T, s sample, html string) {
		b := open(t, html)
		b.do(t, chromedp.EmulateViewport(1280, 900))
		for _, fault := range eval[[]string](t, b, `(function () {
			var out = [], tools = document.getElementById("section-tools"), pick = document.getElementById("pick-frame");
			if (tools.open || tools.getBoundingClientRect().height > 40) { out.push("folded " + tools.getBoundingClientRect().height); }
			tools.open = true;
			for (var i = 0; i < pick.options.length; i++) {
				pick.value = i;
				pick.dispatchEvent(new Event("change"));
				var figure = document.querySelector("#section-slot svg.fg").getBoundingClientRect(), rows = tools.querySelectorAll("fieldset").length;
				if (tools.getBoundingClientRect().top < figure.bottom) { out.push("above the drawing of " + pick.options[i].text); }
				if (tools.getBoundingClientRect().height > 40 + 56 * rows) { out.push(rows + " rows are " + tools.getBoundingClientRect().height + " high"); }
				if (document.querySelectorAll("#section-slot figure").length !== 1 || document.querySelectorAll("figure.frame").length !== pick.options.length) { out.push("a drawing is lost"); }
			}
			tools.querySelectorAll("input").forEach(function (e) { if (e.getBoundingClientRect().width > 130) { out.push("a wide slide"); } });
			return out;
		})()`) {
			t.Error(fault)
		}
	})
}

// broken lists numbers that a line breaks apart, from their units too, on what is shown.
const broken = `(function () {
	var out = [], n = 0, walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), range = document.createRange(), node, m;
	var number = /[+\-\u2212\u00b1]?\d+(?:[.,]\d+)*(?:e[+-]?\d+)?(?: (?:%|\u00b0C|deg|[pnu\u00b5mkMG]?(?:A|Hz|T|V|m|s|S|K|W|ohm)(?:\/[mu]?[ATVK]\b)?)(?![\w]))?/g;
	while ((node = walk.nextNode())) {
		var e = node.parentElement;
		if (/^(SCRIPT|STYLE|OPTION)$/.test(e.tagName) || e.closest("svg,code,pre") || !e.checkVisibility()) { continue; }
		number.lastIndex = 0;
		while ((m = number.exec(node.textContent))) {
			if (m.index && /[\w.\/-]/.test(node.textContent[m.index - 1])) { continue; }
			range.setStart(node, m.index);
			range.setEnd(node, m.index + m[0].length);
			var tops = Array.from(range.getClientRects(), function (r) { return Math.round(r.top); });
			n++;
			if (Math.max.apply(null, tops) - Math.min.apply(null, tops) > 3) { out.push(m[0] + " in " + e.outerHTML.slice(0, 120)); }
		}
	}
	return { Broken: out, Numbers: n };
})()`

// On a telephone, 390 pixels wide, nothing is wider than the screen, tables are cards, and no number is broken,
// with every part open; nor is one on a desk.
func TestNarrow(t *testing.T) {
	each(t, func(t *testing.T, s sample, html string) {
		b := open(t, html)
		unfold(t, b)
		for _, width := range []int64{390, 1280} {
			b.do(t, chromedp.EmulateViewport(width, 844))
			if width == 390 {
				narrow(t, b)
			}
			got := eval[struct {
				Broken  []string
				Numbers int
			}](t, b, broken)
			for _, text := range got.Broken {
				t.Errorf("%d pixels: broken: %s", width, text)
			}
			if got.Numbers < 300 {
				t.Errorf("%d pixels: %d numbers", width, got.Numbers)
			}
		}
	})
}

// The index of several pages fits a telephone too, and is light and dark.
func TestIndexNarrow(t *testing.T) {
	need(t)
	html := indexOf(t)
	for _, scheme := range []string{"light", "dark"} {
		b := open(t, html, media("", scheme))
		b.do(t, chromedp.EmulateViewport(390, 844))
		narrow(t, b)
		for _, text := range eval[struct{ Broken []string }](t, b, broken).Broken {
			t.Errorf("broken: %s", text)
		}
		quiet(t, b)
	}
}

// indexOf returns the index of two layouts, one of which fails, whose page is beside it.
func indexOf(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	for _, name := range []string{"failing/laminated-pair.yaml", "clean/plausibility-pair.yaml"} {
		if err := os.WriteFile(filepath.Join(dir, filepath.Base(name)), []byte(source(name)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if got := call(dir, "report", "--quiet", "--customer", "Nordholm Ferries", "--output", "audit/", "."); got.status != 0 {
		t.Fatal(got.err)
	}
	html, err := os.ReadFile(filepath.Join(dir, "audit", "index.html"))
	if err != nil {
		t.Fatal(err)
	}
	return string(html)
}

// narrow holds the page against a narrow screen.
func narrow(t *testing.T, b *tab) {
	t.Helper()
	for _, fault := range eval[[]string](t, b, `(function () {
		var out = [];
		if (document.documentElement.scrollWidth > 390) { out.push("the page is " + document.documentElement.scrollWidth + " wide"); }
		document.querySelectorAll("body *").forEach(function (e) {
			if (e.closest(".pan") && !e.classList.contains("pan") || e.closest(".unseen,.skip,thead,colgroup,option") || !e.checkVisibility()) { return; }
			if (e.getBoundingClientRect().right > 391) { out.push("wider than the screen: " + e.outerHTML.slice(0, 120)); }
		});
		document.querySelectorAll("table.cards tr, table.matrix tr").forEach(function (r) {
			if (!r.closest("thead") && r.cells.length > 1 && r.checkVisibility() && getComputedStyle(r).display === "table-row") { out.push("no card: " + r.outerHTML.slice(0, 80)); }
		});
		document.querySelectorAll("table.cards td:not([colspan])").forEach(function (c) {
			var range = document.createRange(), left = c.getBoundingClientRect().left + parseFloat(getComputedStyle(c).fontSize) * 7;
			if (!c.dataset.label) { out.push("a cell without a name: " + c.textContent); }
			if (!c.checkVisibility()) { return; }
			range.selectNodeContents(c);
			if (Array.from(range.getClientRects()).some(function (r) { return r.width > 0 && r.left < left; })) { out.push("text under its name: " + c.textContent); }
		});
		return out;
	})()`) {
		t.Error(fault)
	}
}
