package load

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/si"
)

// bounds is the range of a number; the zero value takes every number that can
// be computed with.
type bounds struct {
	kind   boundKind
	lo, hi float64
	unit   string // of lo and hi, for messages
	why    string // reason for the limit; may be empty
}

type boundKind uint8

const (
	anyNumber boundKind = iota
	moreThanLo
	fromLo
	fromLoToHi
	moreThanLoToHi
	fromLoBelowHi
	moreThanLoBelowHi
	notZero
)

// positive takes numbers above 0.
func positive() bounds { return bounds{kind: moreThanLo} }

// notNegative takes 0 and above.
func notNegative() bounds { return bounds{kind: fromLo} }

// atLeast takes lo and above.
func atLeast(lo float64) bounds { return bounds{kind: fromLo, lo: lo} }

// between takes lo to hi, both included.
func between(lo, hi float64) bounds { return bounds{kind: fromLoToHi, lo: lo, hi: hi} }

// nonZero takes every number but 0.
func nonZero() bounds { return bounds{kind: notZero} }

// tolerance takes shares from 0 to below the whole.
func tolerance() bounds {
	return bounds{kind: fromLoBelowHi, hi: 1, why: "1 is the whole; one per cent is 1 % or 0.01"}
}

// size takes lengths of things: what is below a nanometre or above 10 km is a
// slip of the prefix, and its square would lose all meaning.
func size() bounds {
	return bounds{kind: moreThanLoToHi, hi: 1e4, unit: "m"}
}

// coordinate takes coordinates within 10 km of the origin.
func coordinate() bounds {
	return bounds{kind: fromLoToHi, lo: -1e4, hi: 1e4, unit: "m"}
}

// deviation takes lengths from 0 to 10 km.
func deviation() bounds { return bounds{kind: fromLoToHi, hi: 1e4, unit: "m"} }

// highestFrequencyHz is where the plane field stops being quasi-static for
// layouts of this size and where the methods of this program end.
const highestFrequencyHz = 1e6

func alternating() bounds {
	return bounds{kind: fromLoToHi, hi: highestFrequencyHz, unit: "Hz",
		why: "fields are computed up to 1 MHz"}
}

func ripple() bounds {
	return bounds{kind: moreThanLoToHi, hi: highestFrequencyHz, unit: "Hz",
		why: "fields are computed up to 1 MHz"}
}

// mostMetalC is where copper melts.
// Source: Mangum and Furukawa, NIST Technical Note 1265, The International
// Temperature Scale of 1990: freezing point of copper 1084.62 °C, rounded up.
const mostMetalC = 1085

// metalTemperature runs from absolute zero to where copper melts.
func metalTemperature() bounds {
	return bounds{kind: moreThanLoToHi, lo: absoluteZeroC, hi: mostMetalC, unit: "°C",
		why: "absolute zero to the melting point of copper"}
}

// absoluteZeroC is 0 K on the Celsius scale; exact, BIPM, The International
// System of Units, 9th ed., section 2.3.1.
const absoluteZeroC = -273.15

// miss returns what v ought to be, or nothing when it lies in b. Numbers that
// are not finite never lie in anything.
func (b bounds) miss(v float64) string {
	if !(math.Abs(v) <= beyond) {
		return "at most 1e15 in SI units"
	}
	ok, want := true, ""
	switch b.kind {
	case moreThanLo:
		ok, want = v > b.lo, "more than "+b.show(b.lo)
	case fromLo:
		ok, want = v >= b.lo, b.show(b.lo)+" or more"
	case fromLoToHi:
		ok, want = v >= b.lo && v <= b.hi, fmt.Sprintf("from %s to %s", b.show(b.lo), b.show(b.hi))
	case moreThanLoToHi:
		switch {
		case !(v > b.lo):
			ok, want = false, "more than "+b.show(b.lo)
		case !(v <= b.hi):
			ok, want = false, "at most "+b.show(b.hi)
		case b.unit == "m" && v < 1e-9:
			ok, want = false, "1 nm or more"
		}
	case fromLoBelowHi:
		ok, want = v >= b.lo && v < b.hi, fmt.Sprintf("from %s to below %s", b.show(b.lo), b.show(b.hi))
	case moreThanLoBelowHi:
		ok, want = v > b.lo && v < b.hi, fmt.Sprintf("more than %s and less than %s", b.show(b.lo), b.show(b.hi))
	case notZero:
		ok, want = v != 0, "other than 0"
	}
	if ok {
		return ""
	}
	if b.why != "" {
		want += ". " + strings.ToUpper(b.why[:1]) + b.why[1:]
	}
	return want
}

func (b bounds) show(v float64) string {
	if v == 0 {
		return "0"
	}
	if b.unit == "" {
		return fmt.Sprintf("%g", v)
	}
	if b.unit == "°C" {
		return fmt.Sprintf("%g °C", v)
	}
	return si.Format(v, b.unit)
}
