package word

import "strings"

// Or joins words as "a, b or c".
func Or(words []string) string { return list(words, " or ") }

// And joins words as "a, b and c".
func And(words []string) string { return list(words, " and ") }

func list(words []string, last string) string {
	n := len(words) - 1
	if n < 1 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:n], ", ") + last + words[n]
}
