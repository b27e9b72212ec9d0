package figure

import (
	"encoding/xml"
	"math"
	"strconv"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/geom"
)

// canvas collects the elements of one figure.
type canvas struct {
	id string
	b  strings.Builder
}

func newCanvas(f Frame) *canvas { return &canvas{id: safeID(f.ID)} }

// safeID keeps letters, digits, - and _ and puts - for anything else; an id
// that does not begin with a letter gets one.
func safeID(s string) string {
	id := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_':
			return r
		}
		return '-'
	}, s)
	if id == "" || !(id[0]|0x20 >= 'a' && id[0]|0x20 <= 'z') {
		id = "f" + id
	}
	return id
}

// escape makes s harmless in text and in attributes: controls of line, colour
// and direction become visible, markup becomes entities.
func escape(s string) string {
	var b strings.Builder
	xml.EscapeText(&b, []byte(finding.Clean(s))) // a Builder does not fail
	return b.String()
}

// num writes a drawing unit with at most two decimals.
func num(v float64) string {
	s := strconv.FormatFloat(v, 'f', 2, 64)
	s = strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

func finite(vs ...float64) bool {
	for _, v := range vs {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// placed reports whether each of the points has a place: numbers, and within a
// thousand kilometres, beyond which drawing units overflow.
func placed(points ...geom.Point) bool {
	for _, p := range points {
		if !(math.Abs(p.X) < 1e6 && math.Abs(p.Y) < 1e6) {
			return false
		}
	}
	return true
}

// add writes parts as they are; numbers with num. Text must be escaped before.
func (c *canvas) add(parts ...any) {
	for _, p := range parts {
		switch p := p.(type) {
		case string:
			c.b.WriteString(p)
		case float64:
			c.b.WriteString(num(p))
		case int:
			c.b.WriteString(strconv.Itoa(p))
		default:
			panic("figure: part is neither text nor number")
		}
	}
}

func (c *canvas) line(class string, u1, v1, u2, v2 float64) {
	c.add(`<line class="`, class, `" x1="`, u1, `" y1="`, v1, `" x2="`, u2, `" y2="`, v2, `"/>`, "\n")
}

func (c *canvas) rect(class string, b box) {
	c.add(`<rect class="`, class, `" x="`, b.u0, `" y="`, b.v0, `" width="`, b.u1-b.u0, `" height="`, b.v1-b.v0, `"/>`, "\n")
}

func (c *canvas) circle(class string, u, v, r float64) {
	c.add(`<circle class="`, class, `" cx="`, u, `" cy="`, v, `" r="`, r, `"/>`, "\n")
}

func (c *canvas) path(class, d string) {
	if d != "" {
		c.add(`<path class="`, class, `" d="`, d, `"/>`, "\n")
	}
}

// text writes s with its baseline at v; anchor is start, middle or end. A text
// that was shortened carries the whole as its title.
func (c *canvas) text(class, anchor string, u, v float64, s, whole string) {
	c.add(`<text class="`, class, `" text-anchor="`, anchor, `" x="`, u, `" y="`, v, `">`)
	if whole != s && whole != "" {
		c.add("<title>", escape(whole), "</title>")
	}
	c.add(escape(s), "</text>\n")
}

// upright writes s turned by a quarter, read from the right, centred on u, v.
func (c *canvas) upright(class string, u, v float64, s string) {
	c.add(`<text class="`, class, `" text-anchor="middle" transform="translate(`, u, " ", v, `) rotate(-90)">`, escape(s), "</text>\n")
}

// marker defines what stands at the ends of lines and returns its reference.
func (c *canvas) marker(name, class, d string, refU float64) {
	c.add(`<marker id="`, c.id, `-`, name, `" class="`, class, `" viewBox="0 0 10 10" refX="`, refU,
		`" refY="5" markerWidth="10" markerHeight="10" markerUnits="userSpaceOnUse" orient="auto-start-reverse"><path d="`, d, `"/></marker>`, "\n")
}

// pattern defines hatching: lines of the class across a square of the size,
// turned.
func (c *canvas) pattern(name, class string, size, turnDeg float64) {
	c.add(`<pattern id="`, c.id, `-`, name, `" patternUnits="userSpaceOnUse" width="`, size, `" height="`, size,
		`" patternTransform="rotate(`, turnDeg, `)"><line class="`, class, `" x1="0" y1="0" x2="0" y2="`, size, `"/></pattern>`, "\n")
}

// svg closes the figure: the element with its title, description and data.
func (c *canvas) svg(f Frame, height float64, data string) string {
	title := f.Title
	if title == "" {
		title = "figure"
	}
	var o canvas
	o.add(`<svg xmlns="http://www.w3.org/2000/svg" class="fg" id="`, c.id, `" role="img" aria-labelledby="`, c.id, `-title`)
	if f.Desc != "" {
		o.add(` `, c.id, `-desc`)
	}
	o.add(`" viewBox="0 0 `, WidthUnits, ` `, math.Ceil(height), `"`, data, `>`, "\n")
	o.add(`<title id="`, c.id, `-title">`, escape(title), "</title>\n")
	if f.Desc != "" {
		o.add(`<desc id="`, c.id, `-desc">`, escape(f.Desc), "</desc>\n")
	}
	return o.b.String() + c.b.String() + "</svg>\n"
}
