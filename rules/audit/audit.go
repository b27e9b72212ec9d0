// Package audit gathers what an audit page shows of one layout: verdicts, drawings,
// curves and worked calculations, as plain data without a format. What it computes
// comes from the model that the check used, so that most of it is there already.
//
// Text from the layout stands in it as it is; writers make it safe.
package audit

import (
	"busgauss/model/finding"
	"busgauss/model/geom"
	"busgauss/rules/report/figure"
)

// Page is all that is known of one layout.
type Page struct {
	Cover    Cover
	Glance   Glance
	Verdicts []Verdict // failing first, then undecided, noted, permitted, passed, not applicable
	Assumed  []Assumed
	NotSeen  []NotSeen
	Section  Section
	Views    []View // plan and side, where the layout has space data
	Channels []Channel
	Shields  []Shield
	Sources  []Source
}

// Cover is what identifies the page. All but Path, Digest and Tool may be empty.
type Cover struct {
	Title    string
	Customer string
	Drawing  string // number of the drawing
	Author   string
	Reviewer string
	History  []Issue // of the document, in the order given
	Path     string  // of the layout
	Digest   string  // SHA-256 of the file, hexadecimal
	Revision string  // of the repository; empty where none is known
	Standard string  // name and edition of the house standard; empty: defaults
	Tool     string  // name and version
	Date     string  // only when it was given
}

// Issue is one line of the history of a document; all are as they were given, and may be empty.
type Issue struct{ Mark, Date, What, By string }

// Verdict is one rule on one object.
type Verdict struct {
	Rule, Title string
	Object      string // the channel, bar or shield
	Channel     string // the sensor that it is about, by its object or the others; empty where there is none
	Cause       string // as of its finding
	About       string // with the other objects and the cause
	Verdict     finding.Verdict
	Level       finding.Level // that it would have without a permission
	Was         finding.Verdict
	Number      bool // the numbers below are there
	Value       string
	Limit       string // with "at most" or "at least"
	Margin      string
	Certainty   string
	// MarginAmount is the margin in amperes of the channel, or in the unit of the rule.
	MarginAmount string
	Amperes      string // what the value means in amperes of the channel; empty where it means none
	Percent      string // what it means in per cent, with of what
	MarginShare  float64
	Origin       string // of the limit
	Message      string
	Remedy       string
	Permission   string // who permits it, until when and why
	Path         string
	Line         int
	Column       int
	Details      []string
}

// Assumed is a default that the layout left open.
type Assumed struct {
	Object, Text string
	Line         int
}

// NotSeen is what one rule does not see.
type NotSeen struct{ Rule, Text string }

// Section is the section in every duty and frequency, and the places at which the
// field was computed.
type Section struct {
	Frames []Frame
	Left   []string // frames that are not drawn, in words
	Points []geom.Point3
	// Circuits name what currents flow through: bars by themselves, and circuits.
	Circuits []string
	// Slides are the places of sensors that were computed, one for each sensor.
	Slides []Slide
}

// Frame is the section in one component of a duty.
type Frame struct {
	Duty, Kind, Role string
	FreqHz           float64
	Method           string
	Undecided        string  // why there is no field; the rest is then empty
	Certainty        float64 // relative bound at the sensor with the largest field
	Drawing          figure.Drawing
	Currents         string // of circuits and their bars, in words; empty where there are only bars
	// At holds the field at Section.Points, CircuitT that of each circuit alone there; CircuitT
	// is nil where saturating iron does not let them be parted.
	At       []FieldT
	CircuitT [][]float64 // [circuit][point], magnitude
	// Rows are the sensors: what they read.
	Rows []SensorRow
	// Slid holds, for each slide, its places row by row.
	Slid [][]SlidPlace
}

// FieldT is the size of each component of the flux density at a point, peak, tesla.
type FieldT struct{ X, Y, Z float64 }

// SensorRow is one sensor in one frame.
type SensorRow struct {
	Sensor, Reads   string  // the bar or circuit that it reads
	AxisT           float64 // on the axis, all circuits
	FieldT          float64 // magnitude of the whole field, peak, T
	PhaseRad        float64
	PerAmpereT      float64 // own, T/A
	OwnA, StrayA    float64 // peak
	StrayShare      float64 // of the own current; NaN where it carries none
	Certainty       float64 // relative: of the whole field, of an array of its reading
	Largest         string  // of the other bars and circuits
	LargestT        float64
	PerAmpereUnsaid string // why it is not known
}

// Slide is the grid of places of a sensor: moves along x and along y.
type Slide struct {
	Sensor string
	DX, DY []float64 // metres, 0 among them
	AtM    geom.Point
}

// SlidPlace is a sensor at one place of its slide. NaN: in metal, or not known.
type SlidPlace struct {
	PerAmpereT float64 // magnitude, T/A, at the frequency of the frame
	PhaseRad   float64
	StrayA     float64 // peak
	StrayShare float64
}

// View is another view of the arrangement.
type View struct {
	Name    string
	Text    string
	Drawing figure.Drawing
}

// Channel is everything about one sensor.
type Channel struct {
	Sensor, Reads, Part string
	Facts               []Fact
	Frame               int            // in Section.Frames, of the drawing; -1: there is none
	Drawing             figure.Drawing // of the sensor at its bar
	Curves              []Curve
	Lead                int     // in Curves: the one to show first; -1: there is none
	Ranked              *Ranked // nil where no budget could be made
	NoBudget            string
	Worked              []Step
	Hand                []Estimate
	Budget              []string // lines of the budget table
}

// Fact is a name and a value.
type Fact struct{ Name, Value string }

// Curve is a chart with what there is to know about it.
type Curve struct {
	Name  string
	Text  string
	Chart figure.Chart
	// Table repeats the data behind the chart where it is short.
	Head []string
	Rows [][]string
}

// Ranked are the contributors to the uncertainty of a channel.
type Ranked struct {
	Text    string
	Ranking figure.Ranking
}

// Step is one line of a worked calculation.
type Step struct {
	What    string // "own field per ampere"
	Formula string
	Numbers string // the formula with its numbers
	Result  string
	Source  string
}

// Estimate is a hand estimate beside the computed value.
type Estimate struct {
	Name, Formula, Numbers string
	Result                 string
	Against                string // relative to the computed value
	Reason                 string
	Source                 string
}

// Shield is one shield.
type Shield struct {
	Name, Material string
	Facts          []Fact
	Curve          *Curve
	Text           string // why there is no curve
}

// Source is one source, with what rests on it.
type Source struct{ For, Text string }

// Caution is the safety text of every page.
const Caution = "Bus bars carry voltages and currents that kill, and heat and fault currents that burn and throw metal. " +
	"Findings on insulation, heating and faults are reminders and no certificate. The edition of the standard that applies, " +
	"local codes and a licensed practitioner decide. Nothing on this page replaces a measurement on the built equipment."
