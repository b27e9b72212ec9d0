package sarif

import (
	"fmt"
	"unicode/utf16"
)

// hashedUnits is how many characters of a file go into the hash of a line.
const hashedUnits = 100

// lineHashes returns, for each line of data, the value that code hosts expect
// under primaryLocationLineHash: the hash of the next hundred characters from
// the line's start, as hexadecimal digits, and after a colon how often the same
// hash came up so far. With c the characters and arithmetic modulo 2⁶⁴,
//
//	hash = Σ c[i] · 37^(99-i),  i = 0 … 99
//
// Characters are UTF-16 units; blanks and tabs are skipped; each of CR LF, CR
// and LF counts as one LF. The end of the file counts as one character U+FFFF,
// and zeros follow it. Data always has a last line, empty after a final line end.
//
// Source: the published description and test values of that algorithm in
// github.com/github/codeql-action, src/fingerprints.ts and its test.
func lineHashes(data []byte) []string {
	units, starts := hashedText(data)
	out := make([]string, 0, len(starts))
	seen := make(map[uint64]int, len(starts))
	for _, start := range starts {
		var hash uint64
		for i := range hashedUnits {
			hash *= 37
			if start+i < len(units) {
				hash += uint64(units[start+i])
			}
		}
		seen[hash]++
		out = append(out, fmt.Sprintf("%x:%d", hash, seen[hash]))
	}
	return out
}

// hashedText returns the characters of data that are hashed and the index of
// the first one of each line.
func hashedText(data []byte) (units []uint16, starts []int) {
	const endOfFile = 0xFFFF
	lineBegins, afterCR := true, false
	add := func(unit uint16) {
		if lineBegins {
			starts = append(starts, len(units))
		}
		lineBegins = unit == '\n'
		units = append(units, unit)
	}
	for _, unit := range utf16.Encode([]rune(string(data))) {
		switch {
		case unit == ' ' || unit == '\t' || unit == '\n' && afterCR:
			afterCR = false
		case unit == '\r':
			add('\n')
			afterCR = true
		default:
			add(unit)
			afterCR = false
		}
	}
	add(endOfFile)
	return units, starts
}
