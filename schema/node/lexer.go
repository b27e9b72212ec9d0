package node

// opener is a bracket that is open at some place.
type opener struct {
	off int
	c   byte
}

// shape is what is open at the end of a piece of text.
type shape struct {
	open     []opener
	quote    int    // offset of a quote that is not closed, -1 without one
	mismatch int    // offset of a closing bracket of the wrong kind, -1 without one
	against  opener // the bracket that it met
}

// closers returns what would close every open bracket.
func (s shape) closers() []byte {
	out := []byte{'\n'}
	for i := len(s.open) - 1; i >= 0; i-- {
		out = append(out, closerOf(s.open[i].c))
	}
	return out
}

func closerOf(c byte) byte {
	if c == '{' {
		return '}'
	}
	return ']'
}

// scanShape reads text just closely enough to know which brackets and quotes
// are open at its end. It serves the search for the place of a syntax error;
// where it errs the place is less exact, nothing else.
func scanShape(text []byte) shape {
	s := shape{quote: -1, mismatch: -1}
	fresh := true     // a value may start here
	jsonLike := false // a quoted text or a bracket has just ended
	lineStart := 0
	indent, column := -1, 0 // of the block collection at hand, of the last value
	for p := 0; p < len(text); p++ {
		c := text[p]
		flow := len(s.open) > 0
		blankNext := p+1 >= len(text) || isSpace(text[p+1])
		switch {
		case c == '\n' || c == '\r':
			lineStart = p + 1
			fresh = fresh || !flow
			continue
		case c == ' ' || c == '\t':
			continue
		case c == '#' && (p == 0 || isSpace(text[p-1])):
			for p+1 < len(text) && text[p+1] != '\n' && text[p+1] != '\r' {
				p++
			}
			continue
		case (c == '"' || c == '\'') && fresh:
			e, closed := quotedEnd(text, p)
			if !closed {
				s.quote = p
				return s
			}
			column, p = p-lineStart, e-1
			fresh, jsonLike = false, true
			continue
		case (c == '[' || c == '{') && (flow || fresh):
			s.open = append(s.open, opener{p, c})
			fresh = true
		case (c == ']' || c == '}') && flow:
			last := s.open[len(s.open)-1]
			if closerOf(last.c) != c {
				s.mismatch, s.against = p, last
				return s
			}
			s.open = s.open[:len(s.open)-1]
			fresh, jsonLike = false, true
			continue
		case c == ',' && flow:
			fresh = true
		case c == ':' && (blankNext || flow && (jsonLike || isFlowMark(text[p+1]))):
			fresh = true
			indent = column
		case (c == '-' || c == '?') && fresh && !flow && blankNext:
			indent = p - lineStart
		case (c == '|' || c == '>') && fresh && !flow:
			p = blockEnd(text, p, indent) - 1
		case (c == '&' || c == '!' || c == '*') && fresh:
			p = propertyEnd(text, p) - 1
			fresh = c != '*'
		default:
			if fresh {
				column = p - lineStart
			}
			fresh = false
		}
		jsonLike = false
	}
	return s
}

func isFlowMark(c byte) bool {
	return c == ',' || c == '[' || c == ']' || c == '{' || c == '}'
}
