package finding

import "strconv"

// Quote returns text of a file in quotes, on one line, without control characters
// and clipped.
func Quote(text string, most int) string { return strconv.QuoteToGraphic(Clip(text, most)) }

// Clip returns text, or its beginning and an ellipsis where it has more than most
// characters.
func Clip(text string, most int) string {
	n, end := 0, 0
	for i := range text {
		switch n {
		case most - 1:
			end = i
		case most:
			return text[:end] + "…"
		}
		n++
	}
	return text
}
