package browser

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// cover lays a link over every part that a selector names; over the first cell of a row. The browser
// writes a link into the file it prints as a rectangle on a page, with the address: a thing that a
// break cuts gives a rectangle on each of two pages. The links take no room. It returns how many
// parts there are.
const cover = `(function (parts) {
	var list = document.querySelectorAll(parts);
	list.forEach(function (e, k) {
		var a = document.createElement("a"), o = e.tagName === "TR" ? e.cells[0] : e;
		a.href = "http://mark.invalid/" + k;
		a.textContent = "\u00a0";
		a.style.cssText = "position:absolute;inset:0;display:block";
		o.style.position = "relative";
		o.appendChild(a);
	});
	return list.length;
})(%q)`

var (
	pdfObject = regexp.MustCompile(`(?s)(\d+) 0 obj\s*(.*?)endobj`)
	pdfPage   = regexp.MustCompile(`/Type /Page\b`)
	pdfLinks  = regexp.MustCompile(`(?s)/Annots \[(.*?)\]`)
	pdfOther  = regexp.MustCompile(`(\d+) 0 R`)
	pdfRect   = regexp.MustCompile(`/Rect \[([-\d.]+) ([-\d.]+) ([-\d.]+) ([-\d.]+)\]`)
	pdfMark   = regexp.MustCompile(`/URI \(http://mark\.invalid/(\d+)\)`)
)

// points is a length on paper in 1/72 of an inch.
func points(mm float64) float64 { return mm / 25.4 * 72 }

// The margins that the page asks for, in points: to each side, above and below.
var sideMargin, topMargin, footMargin = points(14), points(17), points(16)

// printed is a file of pages with the marks of its parts.
type printed struct {
	size  chromedp.PaperSize
	pages int
	marks []printedMark
}

// printedMark is one rectangle of a part, in points from the lower left corner.
type printedMark struct {
	part, page             int
	left, low, right, high float64
}

// printOn prints the page and reads the marks.
func printOn(t *testing.T, b *tab, size chromedp.PaperSize) printed {
	t.Helper()
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(size), chromedp.PDFPrintBackground(), chromedp.PDFPreferCSSPageSize()))
	if err != nil {
		t.Fatal(err)
	}
	out := printed{size: size}
	objects := pdfObject.FindAllSubmatch(pdf, -1)
	pageOf := map[string]int{}
	for _, object := range objects {
		if !pdfPage.Match(object[2]) {
			continue
		}
		if links := pdfLinks.FindSubmatch(object[2]); links != nil {
			for _, link := range pdfOther.FindAllSubmatch(links[1], -1) {
				pageOf[string(link[1])] = out.pages
			}
		}
		out.pages++
	}
	for _, object := range objects {
		mark := pdfMark.FindSubmatch(object[2])
		if mark == nil {
			continue
		}
		rect, page := pdfRect.FindSubmatch(object[2]), 0
		page, ok := pageOf[string(object[1])]
		if rect == nil || !ok {
			t.Fatalf("a mark without a place: %s", object[2])
		}
		out.marks = append(out.marks, printedMark{int(number(t, mark[1])), page,
			number(t, rect[1]), number(t, rect[2]), number(t, rect[3]), number(t, rect[4])})
	}
	return out
}

// On paper of both sizes no figure and no card is cut: each lies whole on one page and within its
// margins, and nothing is wider than the page.
func TestPrint(t *testing.T) {
	each(t, func(t *testing.T, s sample, html string) {
		b := open(t, html, media("print", "dark"))
		// 96 pixels to the inch.
		for _, widthMM := range []float64{210, 215.9} {
			width := int64((widthMM - 28) / 25.4 * 96)
			b.do(t, chromedp.EmulateViewport(width, 1000))
			for _, wide := range eval[[]string](t, b, `Array.from(document.querySelectorAll("body *")).filter(function (e) {
				return !(e instanceof SVGElement && !(e instanceof SVGSVGElement)) && e.checkVisibility() && e.getBoundingClientRect().right > innerWidth + 1;
			}).map(function (e) { return e.outerHTML.slice(0, 100); })`) {
				t.Errorf("wider than a page of %g mm: %s", widthMM, wide)
			}
			for _, cut := range eval[[]string](t, b, `Array.from(document.querySelectorAll("td .q, th .q")).filter(function (e) {
				return e.getBoundingClientRect().right > e.closest("td,th").getBoundingClientRect().right + 1;
			}).map(function (e) { return e.textContent + " in " + e.closest("table").caption.textContent; })`) {
				t.Errorf("wider than its cell on a page of %g mm: %s", widthMM, cut)
			}
		}
		if got := eval[string](t, b, `getComputedStyle(document.documentElement).backgroundColor`); got != "rgb(255, 255, 255)" {
			t.Errorf("the paper is %s", got)
		}
		parts := eval[int](t, b, fmt.Sprintf(cover, "figure, .caution, .card"))
		if parts < 10 {
			t.Fatalf("%d parts", parts)
		}
		b.do(t, media("", "light"))
		for _, size := range []chromedp.PaperSize{chromedp.PaperA4, chromedp.PaperLetter} {
			found := make([][]int, parts)
			for _, m := range printOn(t, b, size).marks {
				found[m.part] = append(found[m.part], m.page)
				if m.left < sideMargin-1 || m.right > 72*size.Width-sideMargin+1 || m.low < footMargin-1 || m.high-m.low < 10 || m.right-m.left < 10 {
					t.Errorf("%v: part %d lies at %.0f to %.0f, %.0f to %.0f points", size, m.part, m.left, m.right, m.low, m.high)
				}
			}
			for k, pages := range found {
				if len(pages) != 1 {
					t.Errorf("%v: part %d is on pages %v", size, k, pages)
				}
			}
		}
	})
}

// The layouts of three channels that are printed: one with much to say, one of bars alone, one with shields.
var threeChannels = []sample{{"failing/cable-car-winch.yaml", false}, bare, {"clean/ferry-channels.yaml", false}}

// mostPages is how many pages three channels may take before the annex.
const mostPages = 12

// Three channels take twelve pages at most without the annex, in which what holds stands; no page but the last is
// half empty, and the foot of each has its number.
func TestPrintedPages(t *testing.T) {
	need(t)
	for _, s := range threeChannels {
		t.Run(strings.TrimSuffix(s.name, ".yaml"), func(t *testing.T) {
			html := pageOf(t, s)
			if !strings.Contains(html, `counter(page) " of " counter(pages)`) {
				t.Error("pages have no numbers")
			}
			b := open(t, html)
			if n := eval[int](t, b, `document.querySelectorAll("section.channel").length`); n != 3 {
				t.Fatalf("%d channels", n)
			}
			const parts = "h1, h2, h3, h4, p, li, tr, pre, figure, dl > div"
			eval[int](t, b, fmt.Sprintf(cover, parts))
			annex := eval[int](t, b, fmt.Sprintf(`Array.from(document.querySelectorAll(%q)).indexOf(document.getElementById("annex-title"))`, parts))
			holding := eval[int](t, b, fmt.Sprintf(`Array.from(document.querySelectorAll(%q)).indexOf(document.querySelector("#holding tbody tr"))`, parts))
			whole := printOn(t, b, chromedp.PaperA4)
			low, first, held := make([]float64, whole.pages), -1, -1
			for i := range low {
				low[i] = 72 * whole.size.Height
			}
			for _, m := range whole.marks {
				low[m.page] = min(low[m.page], m.low)
				switch m.part {
				case annex:
					first = m.page
				case holding:
					held = m.page
				}
			}
			if first < 2 || first >= mostPages || held < first || whole.pages < first+3 {
				t.Errorf("the annex begins on page %d of %d, what holds on %d", first+1, whole.pages, held+1)
			}
			room := 72*whole.size.Height - topMargin - footMargin
			for i, v := range low[:whole.pages-1] {
				if used := (72*whole.size.Height - topMargin - v) / room; used < 0.5 {
					t.Errorf("page %d of %d is used to %.0f %%", i+1, whole.pages, 100*used)
				}
			}
			eval[int](t, b, `document.getElementById("annex").style.display = "none", 0`)
			if body := printOn(t, b, chromedp.PaperA4); body.pages > mostPages || body.pages < first {
				t.Errorf("%d pages without the annex", body.pages)
			} else {
				t.Logf("%d pages without the annex, %d with it", body.pages, whole.pages)
			}
		})
	}
}

func number(t *testing.T, text []byte) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(string(text), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
