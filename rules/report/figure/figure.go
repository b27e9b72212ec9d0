// Package figure draws the figures of the audit page as SVG text: section,
// plan and side view to scale, charts and ranked bars.
//
// Every function is pure: plain data in SI units goes in, the text of one svg
// element comes out, and the same data gives the same bytes. Nothing is
// fetched and no script is needed. Style returns the one style sheet that all
// figures of a page share; it stands in the page once.
//
// Drawing units: a figure is 680 units wide, so that at 170 mm of paper a unit
// is a quarter of a millimetre and the text, 13 units high, is 9.2 points.
//
// Text from files is cleaned and escaped here; callers pass it as it is. A
// number that is NaN or infinite is left out of the drawing, and a part whose
// place is unknown is named below the drawing, never put somewhere.
package figure

import "busgauss/model/geom"

// WidthUnits is the width of every figure in its own units; the height varies.
const WidthUnits = 680

// Frame is what every figure has.
type Frame struct {
	// ID stands before every id inside the figure and must be unique on the
	// page. Characters other than letters, digits, - and _ become -.
	ID string
	// Title and Desc are read out in place of the drawing: what it shows, and
	// what a person would see in it. Neither is drawn.
	Title, Desc string
}

// Drawing is a view to scale: the section (x, y), the plan (x, z) or the side
// (z, y). Lengths are metres; the first coordinate goes right, the second up.
type Drawing struct {
	Frame
	Across, Up string   // names of the axes: "x", "y"
	ViewM      geom.Box // what is shown; empty or without area: all parts with a margin
	Shade      *Shade   // nil: none
	Flux       *Flux    // nil: none
	Bars       []Part
	Shields    []Part
	Sensors    []Sensor
	Cuts       []Cut
	Dimensions []Dimension
	// MaxHeight limits the height of the view, not of legend and labels below
	// it, in drawing units; 0 means 560.
	MaxHeight float64
}

// Part is a bar or a shield: one or more regions under one name (the legs of a
// bar in plan). A round part may be given as centre and radius instead.
type Part struct {
	Name    string
	Regions []geom.Region
	CentreM geom.Point
	RadiusM float64 // > 0: a circle about CentreM, drawn as well as Regions
	Hidden  bool    // behind something in this view: dashed outline, no filling
	NoLabel bool
}

// Sensor is a sensing element in the view.
type Sensor struct {
	Name string
	AtM  geom.Point
	// Axis is the projection on the view of the sensitive direction, a unit vector
	// in space; only its direction counts. Shorter than 1e-6 means that it points
	// out of the drawing, drawn as a circle with a dot.
	Axis geom.Point
	// ToleranceM holds the corners of the box in which the element may sit; nil:
	// none.
	ToleranceM geom.Polygon
	Note       string // second line of the label, such as "3.2 % over limit"
}

// Cut is a line across the drawing where another view is taken or where a bar
// is cut.
type Cut struct {
	FromM, ToM geom.Point
	Label      string
}

// Side says where a dimension line stands.
type Side uint8

const (
	// Auto puts a level dimension below the view, an upright one to its right,
	// and any other between its points.
	Auto Side = iota
	Above
	Below
	Left
	Right
	// Between draws the line from point to point inside the view.
	Between
)

// Dimension is a dimension line between two points. Text is what is written,
// such as "12 mm"; empty means the distance itself in millimetres, three
// significant digits. Above and Below measure across, Left and Right measure up.
type Dimension struct {
	FromM, ToM geom.Point
	Text       string
	Side       Side
}

// Grid holds samples on a regular grid. Its outermost samples lie on the edges
// of BoxM. Value has NX·NY entries, row by row from the bottom, across first:
// Value[j*NX+i] stands at column i, row j. NaN means not known; the cells
// around it stay blank. A length that does not fit panics.
type Grid struct {
	BoxM   geom.Box
	NX, NY int
	Value  []float64
}

// Shade fills the bands between levels of a non-negative quantity.
type Shade struct {
	Grid  Grid
	Title string // of the legend, such as "flux density, 100 Hz, rms"
	Unit  string // as model/si prints it: "T"
	Log   bool   // bands of equal ratio (1-2-5) instead of equal width
	// Levels are the bounds of the bands, increasing, at least two and at most
	// thirteen; what lies below the first or above the last joins the band
	// there, and the legend says so. Nil: at most twelve round bands over the
	// range of the samples.
	Levels []float64
}

// Flux draws isolines of the flux function (A_z in Wb/m for a plane section),
// each pair of neighbours having the same flux between them. The caller chose
// the instant.
type Flux struct {
	Grid   Grid
	Title  string    // legend: "flux lines at 0° of phase"
	Levels []float64 // nil: Count lines at equal steps
	Count  int       // 0 means 20
}

// Chart is one panel or several above each other that share the axis across.
type Chart struct {
	Frame
	X      Axis
	Panels []Panel
	Height float64 // of one panel in drawing units; 0 means 260, or 180 if several
}

// Axis is a quantity with its unit. With Min == Max the range fits the data,
// the marks and the bands. On a logarithmic axis values that are not positive
// are left out.
type Axis struct {
	Title    string // "current", "flux density per ampere"
	Unit     string // SI, as model/si prints it: "A", "T/A", "Hz", "1" for a pure number, "%" for a share given as 0.01 = 1 %, "rad" is shown in degrees
	Log      bool
	Min, Max float64
}

// Panel is one pair of axes.
type Panel struct {
	Y      Axis
	Series []Series
	Marks  []Mark
	Bands  []Band
}

// Series is one line. X and Y are of equal length (else panic); a NaN in
// either breaks the line. The name stands at the line. At most six series in a
// panel differ by dash, marker and colour; more repeat them.
type Series struct {
	Name   string
	X, Y   []float64
	Points bool // markers alone, no line
}

// Mark is a line across the panel: a range, a clip, a trip, a knee.
type Mark struct {
	Upright bool // at a value of the axis across; else of the axis up
	At      float64
	Label   string
}

// Band is a strip across the panel, such as the tolerance of a place.
type Band struct {
	Upright  bool
	From, To float64
	Label    string
}

// Ranking is a list of bars by size, in the order given.
type Ranking struct {
	Frame
	Title string // over the values: "standard uncertainty, share of reading"
	Items []Item
}

// Item is one bar. Text is the value as written; Value only gives the length,
// in any one unit for all. NaN draws no bar.
type Item struct {
	Name  string
	Value float64
	Text  string
	Total bool // a sum of the others: hatched
}

// Map ties drawing units to metres: u = X0 + PerM·x, v = Y0 - PerM·y.
type Map struct{ X0, Y0, PerM float64 }

// Unit returns the place of p in drawing units.
func (m Map) Unit(p geom.Point) (u, v float64) {
	return m.X0 + float64(m.PerM*p.X), m.Y0 - float64(m.PerM*p.Y)
}

// Metres returns the point at u, v of the drawing.
func (m Map) Metres(u, v float64) geom.Point {
	return geom.Point{X: (u - m.X0) / m.PerM, Y: (m.Y0 - v) / m.PerM}
}
