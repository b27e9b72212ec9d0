package enforce

import (
	"strings"

	"busgauss/model/glob"
)

// reading is a pattern without alternatives, piece by piece: "*" (no slash), "**"
// (anything), "?", a class in brackets, or one character after a backslash.
type reading []string

// The most that is looked into: a longer pattern, or one with more readings, is
// taken to fit any name. Common practice: far more than people write.
const (
	maxGlob     = 1000
	maxReadings = 64
)

// globs returns the readings of patterns that are valid. Together they fit every
// name that the patterns fit, and beside "**" a few more.
func globs(patterns []string) []reading {
	var out []reading
	for _, p := range patterns {
		list, ok := readings(p)
		if !ok {
			list = []string{"**"}
		}
		for _, text := range list {
			out = append(out, pieces(text))
		}
	}
	return out
}

// readings writes the alternatives of a pattern out; ok is false where they are
// too many, or have brackets in them.
func readings(pattern string) (out []string, ok bool) {
	todo := []string{pattern}
	for len(todo) > 0 {
		if len(pattern) > maxGlob || len(todo)+len(out) > maxReadings {
			return nil, false
		}
		now := todo[0]
		todo = todo[1:]
		from := 0
		for from < len(now) && now[from] != '{' {
			from += len(pieceAt(now[from:]))
		}
		if from == len(now) {
			out = append(out, now)
			continue
		}
		list, after := alternatives(now[from+1:])
		for _, a := range list {
			if strings.Contains(a, "[") {
				return nil, false
			}
			todo = append(todo, now[:from]+a+after)
		}
	}
	return out, true
}

// alternatives splits what follows an opening brace at its commas, up to the
// brace that closes it.
func alternatives(text string) (list []string, after string) {
	depth, start := 0, 0
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == '\\':
			i++
		case c == '{':
			depth++
		case c == '}' && depth > 0:
			depth--
		case c == '}':
			return append(list, text[start:i]), text[i+1:]
		case c == ',' && depth == 0:
			list, start = append(list, text[start:i]), i+1
		}
	}
	return append(list, text[start:]), "" // not reached by a valid pattern
}

// pieceAt returns the first piece of a text as it is written.
func pieceAt(text string) string {
	switch {
	case strings.HasPrefix(text, "**"):
		return text[:len(text)-len(strings.TrimLeft(text, "*"))]
	case text[0] == '[':
		for i := 1; i < len(text); i++ {
			if text[i] == ']' {
				return text[:i+1]
			}
			if text[i] == '\\' {
				i++
			}
		}
		return text
	case text[0] == '\\' && len(text) > 1:
		return text[:1+len(firstRune(text[1:]))]
	}
	return firstRune(text)
}

func firstRune(text string) string {
	for i := range text {
		if i > 0 {
			return text[:i]
		}
	}
	return text
}

func pieces(text string) reading {
	var out reading
	for text != "" {
		p := pieceAt(text)
		text = text[len(p):]
		switch {
		case strings.HasPrefix(p, "**"):
			p, text = "**", strings.TrimPrefix(text, "/") // "**/a" fits "a"
			if n := len(out); text == "" && n > 0 && out[n-1] == `\/` {
				out = out[:n-1] // "a/**" fits "a"
			}
		case p != "*" && p != "?" && p[0] != '[' && p[0] != '\\':
			p = `\` + p
		}
		out = append(out, p)
	}
	return out
}

// meet reports whether one name fits both globs; where two classes leave that
// open it says so too.
func meet(a, b reading) bool {
	next := make([]bool, len(b)+1) // by place in b: the rest of a from the place after meets the rest of b
	for i := len(a); i >= 0; i-- {
		now := make([]bool, len(b)+1)
		for j := len(b); j >= 0; j-- {
			switch {
			case i == len(a) && j == len(b):
				now[j] = true
			case i < len(a) && a[i][0] == '*' && (next[j] || j < len(b) && takes(a[i], b[j]) && now[j+1]):
				now[j] = true
			case j < len(b) && b[j][0] == '*':
				now[j] = now[j+1] || i < len(a) && takes(b[j], a[i]) && next[j]
			case i < len(a) && j < len(b) && a[i][0] != '*':
				now[j] = next[j+1] && share(a[i], b[j])
			}
		}
		next = now
	}
	return next[0]
}

// takes reports whether a run of any characters may hold a piece.
func takes(run, piece string) bool { return run == "**" || piece != `\/` }

// share reports whether one character fits both pieces, neither of them a run.
func share(a, b string) bool {
	fits := func(piece, char string) bool {
		switch {
		case piece == "?":
			return char != "/"
		case piece[0] == '\\':
			return piece[1:] == char
		}
		p, err := glob.Compile(piece)
		return err == nil && p.Match(char)
	}
	switch {
	case a[0] == '\\':
		return fits(b, a[1:])
	case b[0] == '\\':
		return fits(a, b[1:])
	case a == "?" || b == "?" || strings.ContainsAny(a[1:2]+b[1:2], "!^"):
		return true
	}
	for _, char := range a + b { // two lists of ranges that share a character share an end of a range
		if fits(a, string(char)) && fits(b, string(char)) {
			return true
		}
	}
	return false
}
