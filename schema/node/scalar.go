package node

import (
	"math"
	"math/big"
	"regexp"
	"strconv"
	"strings"
)

// strictForm is the only form of a number that is accepted: that of JSON
// (RFC 8259, section 6).
var strictForm = regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][-+]?[0-9]+)?$`)

// looseForm covers what some YAML reader or other takes for a number: YAML 1.1
// int and float types without the base-60 ones, and the YAML 1.2.2 core schema.
var looseForm = regexp.MustCompile(`^[-+]?(0[xX][0-9a-fA-F_]+|0[oO][0-7_]+|0[bB][01_]+` +
	`|[0-9][0-9_]*(\.[0-9_]*)?([eE][-+]?[0-9_]+)?|\.[0-9][0-9_]*([eE][-+]?[0-9_]+)?` +
	`|\.(inf|Inf|INF|nan|NaN|NAN))$`)

// strictValue returns the number that text writes in the strict form, and
// false for any other text and for one beyond the range of a double. A number
// other than zero that would be rounded to zero is out of range too.
func strictValue(text string) (float64, bool) {
	if !strictForm.MatchString(text) {
		return math.NaN(), false
	}
	f, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(f, 0) {
		return math.NaN(), false
	}
	if f == 0 {
		mantissa, _, _ := strings.Cut(strings.ToLower(text), "e")
		if strings.Trim(mantissa, "-0.") != "" {
			return math.NaN(), false
		}
	}
	return f, true
}

// objection is what is wrong with a value, and what to write instead.
type objection struct {
	message, remedy string
	atTag           bool // the tag is to blame, not the value
}

// classify returns the kind of a plain scalar. Only true, false, null and ~ are
// special words; yes, no, on, off, True, NULL and dates are text. What looks
// like a number but is not in the strict form is text with an objection.
func classify(text string) (Kind, *objection) {
	switch text {
	case "", "~", "null":
		return Null, nil
	case "true", "false":
		return Bool, nil
	}
	// Few scalars start like a number; the others need no pattern.
	if c := text[0]; !(c >= '0' && c <= '9') && c != '-' && c != '+' && c != '.' {
		return Text, nil
	}
	if strictForm.MatchString(text) {
		if _, ok := strictValue(text); ok {
			return Number, nil
		}
		return Text, &objection{
			message: "number " + quote(text) + " is beyond the range of a double",
			remedy:  "write a number between 5e-324 and 1.7e308 in size",
		}
	}
	if looseForm.MatchString(text) {
		return Text, loose(text)
	}
	return Text, nil
}

// loose says what to write instead of a number in a form that is not accepted.
func loose(text string) *objection {
	o := &objection{message: quote(text) + " is not a plain decimal number"}
	sign, rest := "", text
	switch text[0] {
	case '-':
		sign, rest = "-", text[1:]
	case '+':
		rest = text[1:]
	}
	rest = strings.ReplaceAll(rest, "_", "")
	if word := strings.ToLower(rest); word == ".inf" || word == ".nan" {
		o.message = quote(text) + " is not a finite number"
		o.remedy = "write a finite number"
		return o
	}
	var readings []string
	prefix := strings.ToLower(rest[:min(2, len(rest))])
	digits := strings.TrimLeft(rest, "0")
	switch {
	case prefix == "0x":
		readings = append(readings, integer(rest[2:], 16))
	case prefix == "0o":
		readings = append(readings, integer(rest[2:], 8))
	case prefix == "0b":
		readings = append(readings, integer(rest[2:], 2))
	case len(rest) > 1 && rest[0] == '0' && strings.Trim(rest, "01234567") == "":
		// YAML 1.1 takes a leading zero for octal, YAML 1.2 does not.
		readings = append(readings, integer(rest, 8))
		if ten := integer(rest, 10); ten != readings[0] {
			readings = append(readings, ten)
			o.message += ": some readers take it as octal"
		}
	default:
		if digits == "" || digits[0] < '0' || digits[0] > '9' {
			digits = "0" + digits
		}
		digits = strings.Replace(digits, ".e", "e", 1)
		digits = strings.Replace(digits, ".E", "E", 1)
		readings = append(readings, strings.TrimSuffix(digits, "."))
	}
	var choices []string
	for _, r := range readings {
		if _, ok := strictValue(sign + r); ok && len(r) < maxShown {
			choices = append(choices, sign+r)
		}
	}
	o.remedy = "write "
	if len(choices) > 0 {
		o.remedy += strings.Join(choices, ", ") + " or "
	}
	o.remedy += quote(text)
	return o
}

// integer returns the decimal form of digits in the given base, empty when
// there are none.
func integer(digits string, base int) string {
	if len(digits) > 200 {
		return ""
	}
	n, ok := new(big.Int).SetString(digits, base)
	if !ok {
		return ""
	}
	return n.String()
}
