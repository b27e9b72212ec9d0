package channel

import (
	"fmt"
	"slices"
	"strings"
)

// ToAdd names data to be added, each once: one or two with what they mean, more by
// their keys alone, which say it shortly enough.
func ToAdd(missing []Missing) string {
	if len(missing) == 0 {
		return "some of its data are out of range"
	}
	var words, keys []string
	for _, m := range missing {
		if slices.Contains(keys, m.Key) {
			continue
		}
		keys = append(keys, m.Key)
		words = append(words, fmt.Sprintf("%s (add %s)", m.Text, m.Key))
	}
	if len(keys) <= 2 {
		return strings.Join(words, "; ")
	}
	return fmt.Sprintf("%d data are not known: add %s", len(keys), strings.Join(keys, ", "))
}
