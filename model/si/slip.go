package si

import "strings"

// Slip returns the quantity of dimension d that was meant by a text which is none for a slip of
// writing alone: a decimal comma, a missing blank before the unit, another minus sign, a
// leading plus, a blank too many. It is false where nothing or more than one thing may be
// meant: 1,500 A is both 1.5 and 1500.
func Slip(text string, d Dimension) (string, bool) {
	if len(text) > maxTextBytes {
		return "", false
	}
	if _, err := Parse(text, d); err == nil {
		return "", false
	}
	better := strings.Join(strings.Fields(text), " ")
	better = strings.NewReplacer("\u2212", "-", "\u2010", "-", "\u2011", "-", "\u2013", "-").Replace(better)
	better = strings.TrimPrefix(better, "+")
	if whole, rest, ok := strings.Cut(better, ","); ok {
		digits := digitsLen(rest)
		if digits == 0 || digits == 3 || strings.Contains(rest, ",") || strings.Contains(whole, ".") {
			return "", false
		}
		better = whole + "." + rest
	}
	if n := numberLen(better); n > 0 && n < len(better) && better[n] != ' ' && !isDigit(better[n]) {
		better = better[:n] + " " + better[n:]
	}
	if _, err := Parse(better, d); err != nil {
		return "", false
	}
	return better, true
}
