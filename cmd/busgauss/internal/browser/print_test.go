package browser

import (
	"regexp"
	"slices"
	"strconv"
	"testing"

	"github.com/chromedp/chromedp"
)

// cover lays a link over every figure and note, and over a cell of the first and of the
// last row of each verdict. The browser writes a link into the file it prints as a
// rectangle on a page, with the address: a thing that a break cuts gives a rectangle on
// each of two pages. The links take no room. It returns how many rectangles each part
// should give.
const cover = `(function () {
	var counts = [];
	document.querySelectorAll("figure, .caution, tbody.row").forEach(function (e) {
		var over = e.tagName === "TBODY" ? [e.rows[0].cells[0], e.rows[e.rows.length - 1].cells[0]] : [e];
		over.forEach(function (o) {
			var a = document.createElement("a");
			a.href = "http://mark.invalid/" + counts.length;
			a.textContent = "\u00a0";
			a.style.cssText = "position:absolute;inset:0;display:block";
			o.style.position = "relative";
			o.appendChild(a);
		});
		counts.push(over.length);
	});
	return counts;
})()`

var (
	pdfObject = regexp.MustCompile(`(?s)(\d+) 0 obj\s*(.*?)endobj`)
	pdfLinks  = regexp.MustCompile(`(?s)/Annots \[(.*?)\]`)
	pdfOther  = regexp.MustCompile(`(\d+) 0 R`)
	pdfRect   = regexp.MustCompile(`/Rect \[([-\d.]+) ([-\d.]+) ([-\d.]+) ([-\d.]+)\]`)
	pdfMark   = regexp.MustCompile(`/URI \(http://mark\.invalid/(\d+)\)`)
)

// margin is 14 mm in points.
const margin = 14 / 25.4 * 72

// On paper of both sizes no figure is cut: each lies whole on one page and within its
// margins, and nothing is wider than the page.
func TestPrint(t *testing.T) {
	each(t, func(t *testing.T, s sample, html string) {
		b := open(t, html, media("print", "dark"))
		// 14 mm of margin to each side, as the page asks; 96 pixels to the inch.
		for _, widthMM := range []float64{210, 215.9} {
			width := int64((widthMM - 28) / 25.4 * 96)
			b.do(t, chromedp.EmulateViewport(width, 1000))
			for _, wide := range eval[[]string](t, b, `Array.from(document.querySelectorAll("body *")).filter(function (e) {
				return !(e instanceof SVGElement && !(e instanceof SVGSVGElement)) && e.checkVisibility() && e.getBoundingClientRect().right > innerWidth + 1;
			}).map(function (e) { return e.outerHTML.slice(0, 100); })`) {
				t.Errorf("wider than a page of %g mm: %s", widthMM, wide)
			}
		}
		if got := eval[string](t, b, `getComputedStyle(document.documentElement).backgroundColor`); got != "rgb(255, 255, 255)" {
			t.Errorf("the paper is %s", got)
		}
		marks := eval[[]int](t, b, cover)
		if len(marks) < 20 {
			t.Fatalf("%d parts", len(marks))
		}
		b.do(t, media("", "light"))
		for _, paper := range []struct {
			name string
			size chromedp.PaperSize
		}{{"A4", chromedp.PaperA4}, {"Letter", chromedp.PaperLetter}} {
			pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper.size), chromedp.PDFPrintBackground()))
			if err != nil {
				t.Fatal(err)
			}
			objects := pdfObject.FindAllSubmatch(pdf, -1)
			pageOf := map[string]int{}
			for n, object := range objects {
				if links := pdfLinks.FindSubmatch(object[2]); links != nil {
					for _, link := range pdfOther.FindAllSubmatch(links[1], -1) {
						pageOf[string(link[1])] = n
					}
				}
			}
			found := make([][]int, len(marks))
			for _, object := range objects {
				mark := pdfMark.FindSubmatch(object[2])
				if mark == nil {
					continue
				}
				k, rect := int(number(t, mark[1])), pdfRect.FindSubmatch(object[2])
				page, ok := pageOf[string(object[1])]
				if k >= len(marks) || rect == nil || !ok {
					t.Fatalf("%s: a mark without a place: %s", paper.name, object[2])
				}
				found[k] = append(found[k], page)
				// The page asks for margins of 14 mm, 16 mm below; a point is 1/72 of an inch.
				left, low, right, high := number(t, rect[1]), number(t, rect[2]), number(t, rect[3]), number(t, rect[4])
				if left < margin-1 || right > 72*paper.size.Width-margin+1 || low < 16*margin/14-1 || high > 72*paper.size.Height-margin+1 || high-low < 10 || right-left < 10 {
					t.Errorf("%s: part %d lies at %.0f to %.0f, %.0f to %.0f points", paper.name, k, left, right, low, high)
				}
			}
			for k, pages := range found {
				if slices.Sort(pages); len(pages) != marks[k] || pages[0] != pages[len(pages)-1] {
					t.Errorf("%s: part %d has %d marks, not %d, on pages %v", paper.name, k, len(pages), marks[k], pages)
				}
			}
		}
	})
}

func number(t *testing.T, text []byte) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(string(text), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
