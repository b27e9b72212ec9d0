package si

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Parse returns the quantity text as a number in the SI unit of d, which
// d.Symbol names: "20 mm" as Length gives 0.02, exactly the float64 nearest to
// two hundredths. A Temperature is given in degrees Celsius.
//
// The text is a number in the form of ParsePure, one space (a no-break space
// will do) and a unit of the dimension d; between a number and the sign ° for
// degrees of angle the space may be missing. °C and degC are points on the
// scale, K is a difference, and neither is taken for the other; a change per
// degree is written per K.
//
// The error is one line that quotes text safely and says what to write. A d
// that is no dimension panics.
//
// Source of the form: BIPM, The International System of Units, 9th ed.,
// section 5.4.3 (space between number and unit, none before °).
func Parse(text string, d Dimension) (float64, error) {
	if d == 0 || d >= endOfDimensions {
		panic("si: unknown dimension")
	}
	if strings.TrimSpace(text) == "" {
		return 0, fmt.Errorf("the %s is empty. Write a number and a unit, such as %s", d, d.example())
	}
	if len(text) > maxTextBytes {
		return 0, fmt.Errorf("%s is too long for a quantity", quote(text))
	}
	if strings.TrimSpace(text) != text {
		return 0, fmt.Errorf("%s has a space at an end. Write it without", quote(text))
	}
	number, unitText, isSpaced := split(text)
	if number == "" {
		return 0, fmt.Errorf("%s does not start with a number. Write a %s such as %s", quote(text), d, d.example())
	}
	if complaint := numberComplaint(number); complaint != "" {
		return 0, errors.New(complaint)
	}
	if unitText == "" {
		return 0, fmt.Errorf("%s has no unit. %s", number, d.wouldDo())
	}
	if isDigit(unitText[0]) && !strings.HasPrefix(unitText, "1/") {
		return 0, fmt.Errorf("%s has a space between digits. Write them together", quote(text))
	}
	u, err := unitFor(unitText, d)
	if err != nil {
		return 0, err
	}
	if !isSpaced && unitText != "°" {
		return 0, fmt.Errorf("%s has no space before the unit. Write %s %s", quote(text), number, unitText)
	}
	v, err := scaled(number, u)
	if err != nil {
		return 0, fmt.Errorf("%s %s %w", number, unitText, err)
	}
	if d == Temperature && v < absoluteZeroC {
		return 0, fmt.Errorf("%s %s is below absolute zero. Write -273.15 °C or more", number, unitText)
	}
	return v, nil
}

// absoluteZeroC is 0 K on the Celsius scale, exact (BIPM, The International
// System of Units, 9th ed., section 2.3.1).
const absoluteZeroC = -273.15

// example returns a quantity of d for a message.
func (d Dimension) example() string { return "3 " + d.Units()[0] }

// split cuts text into number and unit and reports whether one space stood
// between them. Without a space the number is the longest start that could be
// meant as one.
func split(text string) (number, unitText string, isSpaced bool) {
	for i, r := range text {
		if r == ' ' || r == '\u00a0' || r == '\u202f' {
			return text[:i], text[i+utf8.RuneLen(r):], true
		}
	}
	if hasForm(text) {
		return text, "", false
	}
	if n := numberLen(text); n > 0 && !strings.ContainsRune(".,_'", rune(text[n])) {
		return text[:n], strings.TrimSpace(text[n:]), false
	}
	if strings.ContainsAny(text, "0123456789") {
		return text, "", false
	}
	return "", text, false
}

// unitFor resolves the unit text under the dimension d, or says what would do.
func unitFor(text string, d Dimension) (unit, error) {
	u, ok := resolve(text)
	switch {
	case !ok:
		return unit{}, unknownUnit(text, d)
	case u.dim == d:
		return u, nil
	case d == Temperature && u.dim == TemperatureDifference:
		return unit{}, fmt.Errorf("%s is a difference of temperatures, a point is wanted. Write °C or degC: 0 °C is 273.15 K", text)
	case d == TemperatureDifference && u.dim == Temperature:
		return unit{}, fmt.Errorf("%s is a point of temperature, a difference is wanted. Write K", text)
	}
	return unit{}, fmt.Errorf("%s is %s, %s wanted. %s", text, u.dim.withArticle(), d, d.wouldDo())
}

// unknownUnit explains a text that is no unit at all, with a guess at the
// slip where one can be made.
func unknownUnit(text string, d Dimension) error {
	hint := ""
	over, under, isQuotient := strings.Cut(text, "/")
	point, ok := simpleUnit(under)
	switch {
	case strings.TrimSpace(text) != text:
		hint = " (one space only before the unit)"
	case isQuotient && ok && point.dim == Temperature:
		if _, ok := resolve(over + "/K"); ok {
			hint = " (a change per degree is written " + over + "/K)"
		}
	case saysPeakOrRMS(text):
		hint = " (peak, rms or dc is said by the key, not by the unit)"
	default:
		for _, known := range d.Units() {
			if strings.EqualFold(known, text) {
				hint = " (capitals matter: " + known + ")"
				break
			}
		}
	}
	return fmt.Errorf("%s is not a unit of %s. %s%s", quote(text), d, d.wouldDo(), hint)
}

// saysPeakOrRMS reports a unit with an ending such as Arms, Vpp or A peak.
func saysPeakOrRMS(text string) bool {
	for _, ending := range []string{"rms", "pp", "pk", "peak", "p-p", "dc", "ac", "eff"} {
		cut := len(text) - len(ending)
		if cut > 0 && strings.EqualFold(text[cut:], ending) {
			_, isUnit := resolve(strings.TrimRight(text[:cut], " _-"))
			return isUnit
		}
	}
	return false
}

// maxQuotedRunes bounds what a message repeats of the user's text.
const maxQuotedRunes = 40

// quote returns text between quotes with control characters, direction marks
// and every letter outside ASCII escaped, except the few signs that units use:
// a Cyrillic letter that looks Latin must not look right in the message.
func quote(text string) string {
	var out strings.Builder
	out.WriteByte('"')
	n := 0
	for i, r := range text {
		if n == maxQuotedRunes {
			out.WriteString("...")
			break
		}
		n++
		switch {
		case strings.ContainsRune("°µμΩ√²·±", r):
			out.WriteRune(r)
		case r == utf8.RuneError:
			_, size := utf8.DecodeRuneInString(text[i:])
			q := strconv.QuoteToASCII(text[i : i+size])
			out.WriteString(q[1 : len(q)-1])
		default:
			q := strconv.QuoteToASCII(string(r))
			out.WriteString(q[1 : len(q)-1])
		}
	}
	out.WriteByte('"')
	return out.String()
}
