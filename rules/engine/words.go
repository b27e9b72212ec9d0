package engine

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"busgauss/model/finding"
	"busgauss/model/si"
)

// first returns the first sentence of a case with its verdict.
func (c *Case) first(v finding.Verdict) string {
	word := "limit"
	if c.Limit.AtLeast {
		word = "least"
	}
	text := c.Says + " " + c.valueText(v)
	if c.Rest != "" {
		text += " " + c.Rest
	}
	text += ", " + word + " " + ShowLimit(c.Limit.Value, c.Limit.Unit)
	if c.In != "" {
		text += fmt.Sprintf(", in %q", c.In)
	}
	if v == finding.Undecided {
		text += c.openText()
	}
	return Named(c.Object, text)
}

// valueText is the value that was judged, with as many digits as tell it from a limit that it does not keep.
func (c *Case) valueText(v finding.Verdict) string {
	if !finite(c.Found.Value) {
		return "an unknown amount"
	}
	text := Show(c.Found.Value, c.Limit.Unit)
	if v == finding.Fail && text == Show(c.Limit.Value, c.Limit.Unit) {
		text, _ = showApart(c.Found.Value, c.Limit.Value, c.Limit.Unit)
	}
	return text
}

// openText says between what an undecided value lies.
func (c *Case) openText() string {
	switch {
	case !finite(c.Found.Value):
		return ""
	case !finite(c.Found.Low) || !finite(c.Found.High):
		return ": its bounds are not known"
	}
	low, high := showApart(c.Found.Low, c.Found.High, c.Limit.Unit)
	return ": between " + low + " and " + high
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// notFinite is how numbers that are not finite print.
var notFinite = regexp.MustCompile(`(?:^|[^\pL\pN_"])(?:NaN|[+-]Inf|not a number|(?:minus )?infinite)(?:[^\pL\pN_"]|$)`)

// Named puts the object in front of what is said of it.
func Named(object, text string) string {
	if object == "" {
		return text
	}
	return object + ": " + text
}

// sentences joins a first sentence and others, which come without their full stops. One with a number that is not finite explains
// nothing and is left out.
func sentences(first string, more ...string) string {
	for _, s := range more {
		if s != "" && !notFinite.MatchString(s) {
			first += ". " + s
		}
	}
	return first
}

// Sentence returns text that began in the middle of a sentence as one by itself.
func Sentence(text string) string {
	if text == "" {
		return ""
	}
	r, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(r)) + text[size:]
}

// wideBound is the half width, relative to the limit, from which on a bound is worth its causes.
const wideBound = 0.01

// widened says why the bound of an undecided case is wide, and what to add.
func (r *Run) widened(c Case) []string {
	if !r.rule.OfFields || !((c.Found.High-c.Found.Low)/2 > wideBound*math.Abs(c.Limit.Value)) {
		return nil
	}
	var out []string
	for _, why := range r.Model.Widened() {
		out = append(out, Sentence(why))
	}
	return out
}

// Show prints a value in the unit of a limit: shares as per cent.
func Show(v float64, unit string) string {
	if unit == "1" {
		return si.Percent(v)
	}
	return si.Format(v, unit)
}

// ShowLimit is Show without the zeros that a number somebody set does not need: 5 %, not 5.00 %.
func ShowLimit(v float64, unit string) string {
	number, rest, _ := strings.Cut(Show(v, unit), " ")
	if strings.Contains(number, ".") && !strings.Contains(number, "e") {
		number = strings.TrimRight(strings.TrimRight(number, "0"), ".")
	}
	return strings.TrimSpace(number + " " + rest)
}

// showApart prints two values with as many digits, from three to nine, as it
// takes to tell them apart.
func showApart(low, high float64, unit string) (string, string) {
	scale, shown := 1.0, unit
	if unit == "1" {
		scale, shown = 100, "%"
	}
	a, b := "", ""
	for digits := 3; a == b && digits <= 9; digits++ {
		a, b = si.FormatDigits(low*scale, shown, digits), si.FormatDigits(high*scale, shown, digits)
	}
	return a, b
}
