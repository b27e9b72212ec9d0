package page

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"html"
	"io"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/rules"
	"busgauss/rules/audit"
	"busgauss/rules/engine"
	"busgauss/rules/report"
	"busgauss/schema/load"
)

var long = flag.Bool("long", false, "run cases of minutes too")

func pageOf(t *testing.T, text string) *audit.Page {
	t.Helper()
	l, problems := load.Load("test.yaml", []byte(text))
	if l == nil {
		t.Fatal(problems)
	}
	m := probe.NewModel(l)
	found := engine.CheckWith(m, rules.All(), engine.Options{})
	return audit.Build(audit.Input{
		Model: m, Findings: found, Assumed: channel.Assumed(l), Rules: rules.Describe(rules.All()),
		Cover: audit.Cover{Path: "test.yaml", Digest: strings.Repeat("0", 64), Tool: "busgauss test", Date: "2026-11-25", Standard: "drives, edition 3",
			Customer: "Nordholm Ferries", Drawing: "FT-1042", Author: "A. Holm", Reviewer: "B. Sund", History: []audit.Issue{{Mark: "B", Date: "2026-11-20", What: "taller shield", By: "A. Holm"}}},
	})
}

func fixture(t *testing.T, name string) string {
	t.Helper()
	data, err := os.ReadFile("../../../fixtures/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func written(t *testing.T, p *audit.Page) string {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, p); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// element is a start tag of a page.
type element struct {
	name   string
	attr   map[string]string
	text   string // of a heading or a caption
	inside []string
}

var rawText = regexp.MustCompile(`(?s)(<(script|style)\b[^>]*>).*?(</(?:script|style)>)`)

// parsed returns every element of a page. The text of scripts and styles, which is no
// markup, is left out first.
func parsed(t *testing.T, page string) []element {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(rawText.ReplaceAllString(page, "$1$3")))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	var out []element
	var open []string
	var at []int
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("the page is not well formed: %v", err)
		}
		switch v := token.(type) {
		case xml.StartElement:
			e := element{name: v.Name.Local, attr: map[string]string{}, inside: append([]string{}, open...)}
			for _, a := range v.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			out = append(out, e)
			open, at = append(open, v.Name.Local), append(at, len(out)-1)
		case xml.EndElement:
			if len(open) == 0 || open[len(open)-1] != v.Name.Local {
				t.Fatalf("</%s> closes %v", v.Name.Local, open)
			}
			open, at = open[:len(open)-1], at[:len(at)-1]
		case xml.CharData:
			for _, i := range at {
				out[i].text += string(v)
			}
		}
	}
	return out
}

// structure holds a page against what it promises readers of any kind.
func structure(t *testing.T, page string) []element {
	t.Helper()
	all := parsed(t, page)
	ids := map[string]bool{}
	for _, e := range all {
		if id := e.attr["id"]; id != "" {
			if ids[id] {
				t.Errorf("id %q stands twice", id)
			}
			ids[id] = true
		}
	}
	heading, tops := 0, 0
	landmarks := map[string]int{}
	for i, e := range all {
		landmarks[e.name]++
		for name, value := range e.attr {
			switch {
			case strings.HasPrefix(name, "on"), name == "style":
				t.Errorf("<%s> has the attribute %s", e.name, name)
			case name == "src", name == "action", name == "srcset":
				t.Errorf("<%s> asks for %s", e.name, value)
			case name == "href" && !strings.HasPrefix(value, "#") && value != "data:," && e.name != "a":
				t.Errorf("<%s> asks for %s", e.name, value)
			case name == "href" && strings.HasPrefix(value, "#") && !ids[value[1:]]:
				t.Errorf("a link leads to %s, which is not there", value)
			case name == "aria-labelledby" || name == "aria-describedby":
				for _, id := range strings.Fields(value) {
					if !ids[id] {
						t.Errorf("<%s> is named by %s, which is not there", e.name, id)
					}
				}
			}
		}
		switch e.name {
		case "h1", "h2", "h3", "h4":
			level := int(e.name[1] - '0')
			if level > heading+1 {
				t.Errorf("%s %q follows h%d", e.name, e.text, heading)
			}
			heading = level
			if level == 1 {
				tops++
			}
			if strings.TrimSpace(e.text) == "" {
				t.Errorf("an empty %s", e.name)
			}
		case "table":
			if all[i+1].name != "caption" || strings.TrimSpace(all[i+1].text) == "" {
				t.Errorf("table %v has no caption", e.attr)
			}
		case "th":
			if s := e.attr["scope"]; s != "col" && s != "row" {
				t.Errorf("th %q has the scope %q", e.text, s)
			}
		case "svg":
			if e.attr["role"] != "img" || e.attr["aria-labelledby"] == "" {
				t.Errorf("svg %q has no name for a screen reader", e.attr["id"])
			}
		case "section":
			if e.attr["aria-labelledby"] == "" {
				t.Errorf("section %q has no name", e.attr["id"])
			}
		case "object", "embed", "iframe", "img", "image", "video", "audio", "form", "base":
			t.Errorf("the page has <%s>", e.name)
		}
	}
	if tops != 1 || landmarks["main"] != 1 || landmarks["header"] != 1 || landmarks["footer"] != 1 {
		t.Errorf("%d h1, %d main, %d header, %d footer", tops, landmarks["main"], landmarks["header"], landmarks["footer"])
	}
	if all[0].attr["lang"] == "" {
		t.Error("the page has no language")
	}
	if shown := rawText.ReplaceAllString(page, "$1$3"); strings.Contains(shown, "NaN") || strings.Contains(shown, "+Inf") || strings.Contains(shown, "not a number") {
		t.Error("the page shows a number that is none")
	}
	policyHolds(t, page)
	return all
}

// policyHolds computes the digests of style and script as a browser does (W3C, Content
// Security Policy Level 3, section 6.7.2) and looks for them in the policy.
func policyHolds(t *testing.T, page string) {
	t.Helper()
	found := regexp.MustCompile(`Content-Security-Policy" content="([^"]*)"`).FindStringSubmatch(page)
	if found == nil {
		t.Fatal("no policy")
	}
	policy := html.UnescapeString(found[1])
	if !strings.HasPrefix(policy, "default-src 'none'; ") || strings.Contains(policy, "unsafe") || strings.Contains(policy, "http") {
		t.Errorf("policy %s", policy)
	}
	for _, text := range regexp.MustCompile(`(?s)<(script|style)>(.*?)</(?:script|style)>`).FindAllStringSubmatch(page, -1) {
		sum := sha256.Sum256([]byte(text[2]))
		if want := text[1] + "-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"; !strings.Contains(policy, want) {
			t.Errorf("the policy lacks %s", want)
		}
	}
}

func TestPageStructure(t *testing.T) {
	for _, name := range []string{"clean/ferry-thruster.yaml", "failing/laminated-pair.yaml", "failing/cable-car-winch.yaml", "clean/plausibility-pair.yaml"} {
		t.Run(name, func(t *testing.T) {
			page := written(t, pageOf(t, fixture(t, name)))
			structure(t, page)
			if len(page) > 3e6 {
				t.Errorf("%d bytes", len(page))
			}
			for _, part := range []string{`id="glance"`, `id="assumed"`, `id="annex-not-seen"`, `id="section"`, `id="channel-0"`, `id="annex-sources"`, `class="matrix"`, "Worked calculation", "Estimate by hand", "<dd><span class=\"q\">2026-11-25", "drives, edition", "Nordholm Ferries", "FT-", "taller shield", audit.Caution} {
				if !strings.Contains(page, html.EscapeString(part)) && !strings.Contains(page, part) {
					t.Errorf("the page lacks %s", part)
				}
			}
		})
	}
}

// Every verdict stands on the page once, with its word: on a card what is to be looked at, in the annex what
// holds; cells of the matrix lead to them.
func TestVerdictsStandOnce(t *testing.T) {
	p := pageOf(t, fixture(t, "failing/cable-car-winch.yaml"))
	page := written(t, p)
	all := structure(t, page)
	cards, rows, cells := 0, 0, 0
	for _, e := range all {
		v := e.attr["data-verdict"]
		switch {
		case e.name == "article":
			if cards++; v == "pass" || !strings.Contains(e.text, v) {
				t.Errorf("a card of %s says %q", v, e.text)
			}
		case e.name == "tr" && strings.HasPrefix(e.attr["id"], "verdict-"):
			if rows++; !slices.Contains(e.inside, "details") {
				t.Errorf("what holds is not folded: %q", e.text)
			}
		case e.name == "td" && v != "" && v != "none":
			cells++
		}
	}
	n := audit.Count(p.Verdicts)
	if n.Fail == 0 || cards != n.Fail+n.Undecided+n.Noted+n.Permitted || rows != n.Pass+n.NotApplicable {
		t.Errorf("%d cards, %d rows of %+v", cards, rows, n)
	}
	if cells < 40 || strings.Count(page, `href="#verdict-`) != cells {
		t.Errorf("%d cells, %d of them lead somewhere", cells, strings.Count(page, `href="#verdict-`))
	}
	for i := range p.Verdicts {
		if n := strings.Count(page, fmt.Sprintf(`id="verdict-%d"`, i)); n != 1 {
			t.Errorf("verdict %d stands %d times", i, n)
		}
	}
}

// The numbers for the script are whole JSON, and its texts those of the formatter that
// the other outputs use.
func TestScriptData(t *testing.T) {
	p := pageOf(t, fixture(t, "clean/ferry-thruster.yaml"))
	page := written(t, p)
	raw := regexp.MustCompile(`(?s)<script type="application/json" id="data">(.*?)</script>`).FindStringSubmatch(page)
	if raw == nil {
		t.Fatal("no data")
	}
	var d jsData
	if err := json.Unmarshal([]byte(raw[1]), &d); err != nil {
		t.Fatal(err)
	}
	if len(d.Points) != len(p.Section.Points) || len(d.Frames) != len(p.Section.Frames) || len(d.Slides) != len(p.Channels) {
		t.Fatalf("%d points, %d frames, %d slides", len(d.Points), len(d.Frames), len(d.Slides))
	}
	for i, f := range d.Frames {
		if len(f.At) != len(d.Points) || len(f.Bars) != len(d.Points) || len(f.Slid) != len(d.Slides) {
			t.Fatalf("frame %d: %d at, %d bars, %d slides", i, len(f.At), len(f.Bars), len(f.Slid))
		}
		for k, text := range f.At {
			want := p.Section.Frames[i].At[k]
			if parts := strings.Split(text, "|"); parts[0] != si.Format(want.X, "T") || parts[1] != si.Format(want.Y, "T") {
				t.Errorf("frame %d, point %d: %q, want %+v", i, k, text, want)
			}
			if n := strings.Count(f.Bars[k], "|") + 1; n != len(d.Bars) {
				t.Errorf("frame %d, point %d: parts of %d bars", i, k, n)
			}
		}
		for k := range f.Slid {
			if len(f.Slid[k]) != len(d.Slides[k].DX)*len(d.Slides[k].DY) {
				t.Errorf("frame %d, slide %d: %d places", i, k, len(f.Slid[k]))
			}
		}
	}
	for _, q := range d.Points {
		for _, v := range q {
			if s := strconv.FormatFloat(v, 'g', -1, 64); len(s) > 10 {
				t.Errorf("the place %s mm is no round number", s)
			}
		}
	}
	if three := 3.0; millimetres(1.1*three/1000) != 3.3 {
		t.Errorf("three times 1.1 mm are %v mm", millimetres(1.1*three/1000))
	}
	// The sliders begin at the sensor's own place.
	for _, e := range parsed(t, page) {
		if e.attr["type"] != "range" {
			continue
		}
		var k int
		var axis string
		if _, err := fmt.Sscanf(strings.ReplaceAll(e.attr["id"], "-", " "), "slide %d %s", &k, &axis); err != nil {
			t.Fatal(err)
		}
		list := map[string][]float64{"x": d.Slides[k].DX, "y": d.Slides[k].DY}[axis]
		at, _ := strconv.Atoi(e.attr["value"])
		if list[at] != 0 || e.attr["max"] != strconv.Itoa(len(list)-1) {
			t.Errorf("%s begins at %g of %v", e.attr["id"], list[at], list)
		}
	}
}

func TestSameBytes(t *testing.T) {
	text := fixture(t, "clean/ferry-thruster.yaml")
	first := written(t, pageOf(t, text))
	if again := written(t, pageOf(t, text)); again != first {
		t.Error("two pages of one layout differ")
	}
}

// A permission is shown with who gave it and why, and does not count as failing.
func TestPermitted(t *testing.T) {
	p := pageOf(t, fixture(t, "clean/plausibility-pair.yaml"))
	f := finding.Finding{Rule: "stray-ratio", Verdict: finding.Permitted, Object: "above", Message: "over"}
	perm := report.Permission{Finding: f, Was: finding.Fail, Level: finding.Error, Reason: "until the new part", By: "Head of Design"}
	p.Verdicts = append([]audit.Verdict{{Rule: f.Rule, Object: f.Object, About: f.Object, Verdict: f.Verdict, Was: perm.Was, Level: perm.Level, Permission: perm.Words(), Message: f.Message, MarginShare: math.NaN()}}, p.Verdicts...)
	page := regexp.MustCompile(`</?span[^>]*>`).ReplaceAllString(written(t, p), "")
	if !strings.Contains(page, "by Head of Design: until the new part") || !strings.Contains(page, "else fail, error") || !strings.Contains(page, "0 failing, 0 undecided, 1 permitted") {
		t.Error("the permission is not shown")
	}
}

// failing is a writer that takes n bytes.
type failing struct{ n int }

func (f *failing) Write(p []byte) (int, error) {
	if len(p) > f.n {
		return f.n, errors.New("full")
	}
	f.n -= len(p)
	return len(p), nil
}

func TestWriterFails(t *testing.T) {
	p := pageOf(t, fixture(t, "clean/plausibility-pair.yaml"))
	x := &Index{Entries: []Entry{EntryOf(p, "a.html")}}
	for name, write := range map[string]func(io.Writer) error{
		"html":     func(w io.Writer) error { return Write(w, p) },
		"markdown": func(w io.Writer) error { return WriteMarkdown(w, p) },
		"json":     func(w io.Writer) error { return WriteJSON(w, p) },
		"index":    func(w io.Writer) error { return WriteIndex(w, x) },
		"index md": func(w io.Writer) error { return WriteIndexMarkdown(w, x) },
		"index js": func(w io.Writer) error { return WriteIndexJSON(w, x) },
	} {
		for _, n := range []int{0, 1, 100, 1000} {
			if err := write(&failing{n}); err == nil {
				t.Errorf("%s: a writer that fails after %d bytes goes unseen", name, n)
			}
		}
	}
}

// A note on which no verdict rests does not count as failing.
func TestNotesAreCountedApart(t *testing.T) {
	p := &audit.Page{Verdicts: []audit.Verdict{
		{Verdict: finding.Fail, Level: finding.Error}, {Verdict: finding.Fail, Level: finding.Note}, {Verdict: finding.Pass},
	}}
	if got, want := summary(p), "1 failing, 1 noted, 0 undecided, 0 permitted, 1 passed, 0 not applicable"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
