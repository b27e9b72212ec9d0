package finding

import "strings"

// MaxFirst is what the first sentence of a message stays below, in code points, where
// names are of the usual length: hosts and terminals show as much of a line.
const MaxFirst = 100

// Sentences parts a message into its first sentence, which says object, value, limit and
// duty, and those that explain it, all without their full stops.
func Sentences(message string) (first string, more []string) {
	all := strings.Split(message, ". ")
	return all[0], all[1:]
}
