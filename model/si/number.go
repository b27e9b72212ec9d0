package si

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"
)

// maxTextBytes bounds the text of a quantity; none that means anything is
// longer, and the cost of a hostile one stays small.
const maxTextBytes = 100

// ParsePure returns the pure number that text stands for, correctly rounded.
//
// The form is strict: an optional hyphen, digits, optionally a point and
// digits, optionally e with a signed or unsigned exponent. Leading zeros, a
// leading plus, underscores, hexadecimal, infinities and numbers outside the
// range of float64 are refused, and the error says what to write. Minus zero
// becomes zero.
func ParsePure(text string) (float64, error) {
	if len(text) > maxTextBytes {
		return 0, fmt.Errorf("%s is too long for a number", quote(text))
	}
	if text == "" {
		return 0, errors.New("the number is missing: write digits, such as 12.5")
	}
	if number, unitText, _ := split(text); hasForm(number) && unitText != "" {
		if u, ok := resolve(unitText); ok {
			return 0, pureWanted(text, number, u)
		}
	}
	if complaint := numberComplaint(text); complaint != "" {
		if hasLeadingZero(text) {
			complaint += fmt.Sprintf(", or %s where text is meant", quote(text))
		}
		return 0, errors.New(complaint)
	}
	v, err := scaled(text, unit{num: 1, den: 1})
	if err != nil {
		return 0, fmt.Errorf("%s %w", text, err)
	}
	return v, nil
}

// pureWanted explains a quantity where a pure number belongs. A share has one
// reading as a pure number, so that is offered.
func pureWanted(text, number string, u unit) error {
	if u.dim == Ratio {
		if v, err := scaled(number, u); err == nil {
			return fmt.Errorf("%s has a unit, a pure number is wanted: write %s", quote(text), strconv.FormatFloat(v, 'g', -1, 64))
		}
	}
	return fmt.Errorf("%s has a unit, %s, where a pure number is wanted", quote(text), u.dim.withArticle())
}

// numberLen returns how many bytes of text, from its start, have the form of a
// number; 0 when none.
func numberLen(text string) int {
	i := 0
	if strings.HasPrefix(text, "-") {
		i = 1
	}
	n := digitsLen(text[i:])
	if n == 0 {
		return 0
	}
	i += n
	if i < len(text) && text[i] == '.' {
		if n := digitsLen(text[i+1:]); n > 0 {
			i += 1 + n
		}
	}
	if i < len(text) && (text[i] == 'e' || text[i] == 'E') {
		j := i + 1
		if j < len(text) && (text[j] == '+' || text[j] == '-') {
			j++
		}
		if n := digitsLen(text[j:]); n > 0 {
			i = j + n
		}
	}
	return i
}

func digitsLen(text string) int {
	n := 0
	for n < len(text) && isDigit(text[n]) {
		n++
	}
	return n
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

func hasForm(text string) bool { return text != "" && numberLen(text) == len(text) }

// hasLeadingZero reports a number that other readers of YAML take for octal.
func hasLeadingZero(text string) bool {
	text = strings.TrimPrefix(text, "-")
	return hasForm(text) && len(text) > 1 && text[0] == '0' && isDigit(text[1])
}

// numberComplaint returns what is wrong with text as a number and what to
// write instead; "" when nothing is.
func numberComplaint(text string) string {
	switch {
	case hasLeadingZero(text):
		sign := text[:len(text)-len(strings.TrimPrefix(text, "-"))]
		rest := strings.TrimLeft(text[len(sign):], "0")
		if rest == "" || !isDigit(rest[0]) {
			rest = "0" + rest
		}
		return fmt.Sprintf("%s starts with a zero: write %s%s", text, sign, rest)
	case hasForm(text):
		return ""
	case strings.TrimSpace(text) != text:
		return fmt.Sprintf("%s has a space at an end: write it without", quote(text))
	}
	if better := strings.NewReplacer("\u2212", "-", "\u2010", "-", "\u2011", "-", "\u2013", "-").Replace(text); better != text {
		return advise(text, "has a minus sign that is not the hyphen of the keyboard", better)
	}
	if strings.HasPrefix(text, "+") {
		return advise(text, "has a leading plus", text[1:])
	}
	if strings.HasPrefix(text, "±") {
		return advise(text, "has a sign of both", strings.TrimPrefix(text, "±"))
	}
	unsigned := strings.TrimPrefix(text, "-")
	if lower := strings.ToLower(unsigned); strings.HasPrefix(lower, "0x") || strings.HasPrefix(lower, "0o") || strings.HasPrefix(lower, "0b") {
		better := ""
		if n, err := strconv.ParseInt(text, 0, 64); err == nil {
			better = strconv.FormatInt(n, 10)
		}
		return advise(text, "is not a decimal number", better)
	}
	switch strings.ToLower(strings.TrimPrefix(unsigned, ".")) {
	case "inf", "infinity", "nan":
		return fmt.Sprintf("%s is not a finite number: write digits, such as 12.5", quote(text))
	}
	switch {
	case strings.Contains(text, "_"):
		return advise(text, "has an underscore", strings.ReplaceAll(text, "_", ""))
	case strings.Contains(text, ","):
		return fmt.Sprintf("%s has a comma: write a decimal point, and no sign between thousands", quote(text))
	case strings.HasPrefix(unsigned, "."):
		return advise(text, "has no digit before the point", text[:len(text)-len(unsigned)]+"0"+unsigned)
	case strings.HasSuffix(text, "."):
		return advise(text, "has no digit after the point", text[:len(text)-1])
	}
	return advise(text, "is not a number", "")
}

// advise names the fault of text and offers better where that is a number
// that will be accepted.
func advise(text, fault, better string) string {
	if !hasForm(better) || hasLeadingZero(better) {
		better = "digits, such as 12.5"
	}
	return fmt.Sprintf("%s %s: write %s", quote(text), fault, better)
}

// scaled returns number times u, in the SI unit of u. The number must have the
// strict form. Powers of ten and whole factors are applied to the decimal
// text, so that the result is the float64 nearest to the exact value; a
// divisor or a factor π adds one rounding each.
func scaled(number string, u unit) (float64, error) {
	mantissa, exponent := number, 0
	if i := strings.IndexAny(number, "eE"); i >= 0 {
		mantissa = number[:i]
		n, err := strconv.Atoi(number[i+1:])
		const far = 1 << 20 // beyond this the shift of a short text cannot bring it back
		if err != nil || n > far || n < -far {
			if strings.Trim(mantissa, "-0.") == "" {
				return 0, nil
			}
			return 0, rangeError(!strings.HasPrefix(number[i+1:], "-"))
		}
		exponent = n
	}
	if u.num != 1 {
		whole, fraction, _ := strings.Cut(mantissa, ".")
		n, ok := new(big.Int).SetString(whole+fraction, 10)
		if !ok {
			panic("si: number without digits")
		}
		mantissa = n.Mul(n, big.NewInt(u.num)).String()
		exponent -= len(fraction)
	}
	v, err := strconv.ParseFloat(mantissa+"e"+strconv.Itoa(exponent+u.exp10), 64)
	if err != nil {
		return 0, rangeError(true)
	}
	v /= float64(u.den) // before π, so that no step leaves the range that the result keeps
	for range max(u.pi, 0) {
		v = float64(v * math.Pi)
	}
	for range max(-u.pi, 0) {
		v /= math.Pi
	}
	if v == 0 && strings.Trim(mantissa, "-0.") != "" {
		return 0, rangeError(false)
	}
	return v + 0, nil // minus zero becomes zero
}

func rangeError(tooLarge bool) error {
	if tooLarge {
		return errors.New("is out of range: write a number below 1e308")
	}
	return errors.New("is out of range: write 0 or a number above 1e-308")
}
