package figure

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"busgauss/model/geom"
)

// samples are all figures that the tests look at.
func samples() map[string]func() string {
	return map[string]func() string{
		"section":  func() string { return Draw(thruster()) },
		"detail":   func() string { return Draw(detail()) },
		"plan":     func() string { return Draw(plan()) },
		"chain":    func() string { return DrawChart(chain()) },
		"response": func() string { return DrawChart(response()) },
		"ranking":  func() string { return DrawRanking(contributors()) },
		"empty":    func() string { return Draw(Drawing{}) + DrawChart(Chart{}) + DrawRanking(Ranking{}) },
		"hostile":  func() string { return hostile() },
	}
}

// An element is one tag with what stands in it.
type element struct {
	name string
	attr map[string]string
	text string
}

// parse reads the text of svg elements strictly and returns its elements.
func parse(t *testing.T, s string) []element {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader("<page>" + s + "</page>"))
	var out []element
	var open []int
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			e := element{name: tok.Name.Local, attr: map[string]string{}}
			for _, a := range tok.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			open = append(open, len(out))
			out = append(out, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if n := len(open); n > 0 && out[open[n-1]].name != "svg" {
				out[open[n-1]].text += string(tok)
			}
		}
	}
}

func TestWellFormed(t *testing.T) {
	for name, draw := range samples() {
		t.Run(name, func(t *testing.T) {
			s := draw()
			if s != draw() {
				t.Error("twice the same data, two drawings")
			}
			if strings.Contains(s, "NaN") || strings.Contains(s, "Inf") {
				t.Error("a number that is none reached the drawing")
			}
			ids := map[string]bool{}
			figures := 0
			for _, e := range parse(t, s) {
				if id := e.attr["id"]; id != "" && name != "empty" {
					if ids[id] {
						t.Errorf("id %q twice", id)
					}
					ids[id] = true
				}
				if e.name == "svg" {
					figures++
					if e.attr["role"] != "img" || e.attr["aria-labelledby"] == "" {
						t.Errorf("svg is not named for screen readers: %v", e.attr)
					}
				}
				for k := range e.attr {
					if strings.HasPrefix(k, "on") || k == "style" || k == "href" {
						t.Errorf("attribute %s in %s", k, e.name)
					}
				}
			}
			if figures == 0 {
				t.Error("no figure")
			}
			for _, e := range parse(t, s) {
				for _, ref := range strings.Fields(e.attr["aria-labelledby"]) {
					if !ids[ref] && name != "empty" {
						t.Errorf("names %q, which is not there", ref)
					}
				}
				for _, v := range e.attr {
					if m := regexp.MustCompile(`^url\(#(.*)\)$`).FindStringSubmatch(v); m != nil && !ids[m[1]] && name != "empty" {
						t.Errorf("refers to %q, which is not there", m[1])
					}
				}
			}
		})
	}
}

// TestLabelsApart boxes every text of the samples by its estimated width and
// finds none that meets another or leaves the figure.
func TestLabelsApart(t *testing.T) {
	for name, draw := range samples() {
		if name == "empty" {
			continue
		}
		t.Run(name, func(t *testing.T) {
			for _, figure := range strings.SplitAfter(draw(), "</svg>\n") {
				var boxes []box
				var texts []string
				height := 0.0
				for _, e := range parse(t, figure) {
					if e.name == "svg" {
						height = number(t, strings.Fields(e.attr["viewBox"])[3])
					}
					if e.name != "text" {
						continue
					}
					b := textBox(t, e)
					if !b.within(box{0, 0, WidthUnits, height}) {
						t.Errorf("%q leaves the figure: %.0f of height %.0f", e.text, b, height)
					}
					for k, o := range boxes {
						if b.meets(o) {
							t.Errorf("%q %.0f meets %q %.0f", e.text, b, texts[k], o)
						}
					}
					boxes, texts = append(boxes, b), append(texts, e.text)
				}
			}
		})
	}
}

// textBox is what the letters of e cover: 10 units above the baseline, 3 below.
func textBox(t *testing.T, e element) box {
	t.Helper()
	w := textWidth(e.text)
	if e.attr["class"] == "fg-bold" {
		w *= boldness
	}
	if tr := e.attr["transform"]; tr != "" {
		m := regexp.MustCompile(`^translate\((\S+) (\S+)\) rotate\(-90\)$`).FindStringSubmatch(tr)
		u, v := number(t, m[1]), number(t, m[2])
		return box{u - 10, v - w/2, u + 3, v + w/2}
	}
	u, v := number(t, e.attr["x"]), number(t, e.attr["y"])
	b := box{u, v - 10, u + w, v + 3}
	switch e.attr["text-anchor"] {
	case "middle":
		b.u0, b.u1 = u-w/2, u+w/2
	case "end":
		b.u0, b.u1 = u-w, u
	}
	return b
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// hostile draws figures whose every text tries to be something else.
func hostile() string {
	evil := `"><script>alert(1)</script>` + "\u202e\n\x1b[31m&'" + strings.Repeat("längenmaß", 30) + "\xff"
	d := thruster()
	d.Frame = Frame{ID: `x" onload="alert(1)`, Title: evil, Desc: evil}
	d.Across, d.Up = evil, evil
	d.Shade.Title, d.Flux.Title, d.Shade.Unit = evil, evil, evil
	for k := range d.Bars {
		d.Bars[k].Name, d.Shields[k].Name = evil, evil
		d.Sensors[k].Name, d.Sensors[k].Note = evil, evil
	}
	d.Sensors[0].AtM.X = math.NaN()
	d.Dimensions[0].Text = evil
	d.Dimensions[3].ToM.X = math.Inf(1)
	d.Cuts = []Cut{{ToM: geom.Point{X: 0.01, Y: 0.03}, Label: evil}}
	c := chain()
	c.Frame = Frame{ID: "1<b>", Title: evil, Desc: evil}
	c.X.Title, c.X.Unit, c.Panels[0].Y.Title = evil, evil, evil
	for k := range c.Panels[0].Series {
		c.Panels[0].Series[k].Name = evil
	}
	c.Panels[0].Marks[0].Label, c.Panels[0].Marks[3].Label, c.Panels[0].Bands[0].Label = evil, evil, evil
	r := contributors()
	r.Frame = Frame{ID: "", Title: evil}
	r.Title, r.Items[0].Name, r.Items[0].Text, r.Items[1].Value = evil, evil, evil, math.Inf(1)
	return Draw(d) + DrawChart(c) + DrawRanking(r)
}

func TestHostileNames(t *testing.T) {
	s := hostile()
	for _, e := range parse(t, s) {
		if e.name == "script" {
			t.Error("a name became an element")
		}
		for k, v := range e.attr {
			if strings.Contains(v, "alert") && k != "id" && k != "aria-labelledby" && !strings.HasPrefix(v, "url(#") {
				t.Errorf("a name became the attribute %s=%q", k, v)
			}
		}
		if strings.ContainsAny(e.attr["id"], `<>" =()`) {
			t.Errorf("id %q", e.attr["id"])
		}
		if strings.ContainsAny(strings.TrimSpace(e.text), "\u202e\x1b") {
			t.Errorf("a control reached the drawing in %s", e.name)
		}
	}
}
