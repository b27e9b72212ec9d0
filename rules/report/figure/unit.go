package figure

import (
	"math"
	"strings"
)

// A scale turns SI values into the numbers of an axis or a legend.
type scale struct {
	perSI float64 // number shown = SI value · perSI
	unit  string  // "mT"; empty for a pure number
}

// prefixes of a thousand, from the largest.
var prefixes = [...]struct {
	text string
	size float64
}{{"G", 1e9}, {"M", 1e6}, {"k", 1e3}, {"", 1}, {"m", 1e-3}, {"µ", 1e-6}, {"n", 1e-9}, {"p", 1e-12}, {"f", 1e-15}}

// scaleFor returns the scale in which the largest magnitude is from 1 up to
// below 1000, as far as prefixes go. Pure numbers, degrees, decibels and units
// that take no prefix stay as they are; metres go no further than metres.
func scaleFor(unit string, largest float64) scale {
	switch unit {
	case "", "1":
		return scale{1, ""}
	case "%":
		return scale{100, "%"}
	case "rad":
		return scale{180 / math.Pi, "°"}
	case "K", "°C", "dB":
		return scale{1, unit}
	}
	if !finite(largest) || largest <= 0 || !plainUnit(unit) {
		return scale{1, unit}
	}
	for _, p := range prefixes {
		if p.size > 1 && unit == "m" {
			continue
		}
		if largest >= p.size*(1-1e-9) {
			return scale{1 / p.size, p.text + unit}
		}
	}
	last := prefixes[len(prefixes)-1]
	return scale{1 / last.size, last.text + unit}
}

// plainUnit reports whether a prefix before unit is what practice writes: the
// first sign of the unit carries it, and no power stands there.
func plainUnit(unit string) bool {
	head, _, _ := strings.Cut(unit, "/")
	return head != "" && head != "1" && !strings.ContainsAny(head, "0123456789²³^ ")
}

// titled returns "title / unit", after the form quantity divided by unit of
// ISO 80000-1:2022, section 7.1.
func (s scale) titled(title string) string {
	if s.unit == "" {
		return title
	}
	if strings.Contains(s.unit, "/") {
		return title + " / (" + s.unit + ")"
	}
	return title + " / " + s.unit
}
