// Package insulation looks up clearances and creepage distances after
// IEC 60664-1, for insulation in low-voltage equipment (up to 1000 V rms or
// 1500 V direct voltage from line to neutral).
//
// What it returns is a reminder at design stage, not a certificate. The text of
// the standard in its applicable edition prevails, product standards may ask
// for more, and local codes and licensed practice decide. Some rows of the
// tables could not be confirmed in a public text: every result carries the
// worst mark of the rows and rules that it used, and a result marked C or D
// must be shown as not confirmed.
//
// Values outside a table are errors that name its range: nothing is
// extrapolated. An error of this package always means undecided, never a pass.
//
// Not seen: solid insulation, homogeneous fields (case B, only with an
// impulse test), frequencies above 30 kHz (IEC 60664-4), coating and potting
// (IEC 60664-3), grooves and ribs, pollution degree 4.
package insulation

import "fmt"

// Kind is what a distance is there for.
type Kind uint8

// The kinds of insulation of IEC 60664-1. The zero value is none of them and is
// refused, so that a kind nobody set never takes the mildest distance.
const (
	Functional    Kind = iota + 1 // needed only for the equipment to work
	Basic                         // basic protection against electric shock
	Supplementary                 // independent, in addition to basic
	Reinforced                    // one insulation worth basic and supplementary
)

var kindNames = [...]string{Functional: "functional", Basic: "basic", Supplementary: "supplementary", Reinforced: "reinforced"}

func (k Kind) valid() bool { return k >= Functional && k <= Reinforced }

// KindByName returns the kind that a layout file calls name.
func KindByName(name string) (Kind, bool) {
	for k := Functional; k <= Reinforced; k++ {
		if kindNames[k] == name {
			return k, true
		}
	}
	return 0, false
}

// Confidence says how sure a number of a table is:
//
//	'A'  two independent public sources, or one and an independent recomputation
//	'B'  one public source
//	'C'  from memory, agrees with partial public evidence
//	'D'  from memory only
type Confidence byte

// Confirmed reports whether a public source was read for the number. Any other
// value than A or B, the zero value too, is not confirmed.
func (c Confidence) Confirmed() bool { return c == 'A' || c == 'B' }

// String returns the letter of c, or "?" where c is none of the four.
func (c Confidence) String() string {
	if c < 'A' || c > 'D' {
		return "?"
	}
	return string(rune(c))
}

// Worst returns the less sure of a and b; a value that is none of the four
// letters counts as D.
func Worst(a, b Confidence) Confidence {
	return max(a.known(), b.known())
}

func (c Confidence) known() Confidence {
	if c < 'A' || c > 'D' {
		return 'D'
	}
	return c
}

// Need is a distance that insulation must have, and how it was got.
type Need struct {
	DistanceM  float64    // least distance in metres; not rounded
	Confidence Confidence // worst mark of all rows and rules used
	Table      string     // "IEC 60664-1 Table F.2, case A, pollution degree 2"
	Row        string     // "4 kV", or "4 kV to 5 kV" where interpolated
	Steps      []string   // short lines in order, each with its number and unit
}

// checkDegree refuses pollution degrees that have no column.
func checkDegree(degree int) error {
	if degree < 1 || degree > 3 {
		return fmt.Errorf("pollution degree %d is outside the tables (1 to 3)", degree)
	}
	return nil
}
