// Package word finds the word that was meant, and lists words once.
package word

import (
	"strings"
	"unicode/utf8"

	"busgauss/model/finding"
)

// Many is the number of words above which no nearest one is looked for: a long
// list of wrong references to a long list of names must not cost its square.
const Many = 300

// Nearest returns the word of words that differs least from word, by the number
// of letters changed, put in, left out or swapped with their neighbour. ok is
// false when even the best is too far to be meant: more than a third of its
// letters, or more than three. Words that differ in case only are the nearest.
func Nearest(word string, words []string) (best string, ok bool) {
	if len(words) > Many || utf8.RuneCountInString(word) > 60 {
		return "", false
	}
	letters := []rune(word)
	var rows rows
	least := 0
	for _, w := range words {
		if w == word {
			continue
		}
		other := utf8.RuneCountInString(w)
		most := min(3, max(len(letters), other)/3)
		if off := len(letters) - other; (off > most || -off > most) && !strings.EqualFold(word, w) {
			continue // each letter too many or too few is a slip
		}
		d := 0
		if !strings.EqualFold(word, w) {
			d = rows.distance(letters, []rune(w))
		}
		if d <= most && (!ok || d < least) {
			best, least, ok = w, d, true
		}
	}
	return best, ok
}

// Then adds a sentence to a message, which has no full stop at its end but may end with a question mark.
func Then(message, sentence string) string {
	if strings.HasSuffix(message, "?") {
		return message + " " + sentence
	}
	return message + ". " + sentence
}

// DidYouMean returns ". Did you mean …?" for messages, or nothing.
func DidYouMean(word string, words []string) string {
	if near, ok := Nearest(word, words); ok {
		return ". Did you mean " + finding.Quote(near, 60) + "?"
	}
	return ""
}

// rows is the memory of distance, kept from word to word.
type rows struct{ before, last, row []int }

// distance returns the optimal string alignment distance of s and t.
//
// Source: F. J. Damerau, A technique for computer detection and correction of
// spelling errors, Communications of the ACM 7 (1964) 171, DOI
// 10.1145/363958.363994 (the four kinds of slip); three rows of the usual table.
func (m *rows) distance(s, t []rune) int {
	if len(m.row) <= len(t) {
		n := 2*len(t) + 16
		m.before, m.last, m.row = make([]int, n), make([]int, n), make([]int, n)
	}
	before, last, row := m.before, m.last, m.row
	for j := range len(t) + 1 {
		last[j] = j
	}
	for i := 1; i <= len(s); i++ {
		row[0] = i
		for j := 1; j <= len(t); j++ {
			cost := 1
			if s[i-1] == t[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && s[i-1] == t[j-2] && s[i-2] == t[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(t)]
}
