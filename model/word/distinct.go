package word

// Distinct returns words without repeats, in their order.
func Distinct(words []string) []string {
	seen := make(map[string]bool, len(words))
	var out []string
	for _, w := range words {
		if !seen[w] {
			seen[w] = true
			out = append(out, w)
		}
	}
	return out
}
