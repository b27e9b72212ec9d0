package enforce

import (
	"strings"

	"busgauss/model/policy"
	"busgauss/model/word"
)

// piece is a stretch of a message: text, or the value of a quantity.
type piece struct {
	text     string
	quantity *Quantity
}

// template reads a message with {quantity} placeholders; {{ and }} are braces.
func (l *language) template(t policy.Text, p *problems) []piece {
	var out []piece
	var text strings.Builder
	letters := []rune(t.Value)
	for i := 0; i < len(letters); i++ {
		c := letters[i]
		twice := i+1 < len(letters) && letters[i+1] == c
		switch {
		case c != '{' && c != '}':
			text.WriteRune(c)
			continue
		case twice:
			text.WriteRune(c)
			i++
			continue
		case c == '}':
			p.add(t.At(i, i+1), ruleExpression, "write }} for a brace", "a brace closes and none is open")
			continue
		}
		end := i + 1
		for end < len(letters) && letters[end] != '}' && letters[end] != '{' {
			end++
		}
		name := string(letters[i+1 : end])
		if end == len(letters) || letters[end] == '{' {
			p.add(t.At(i, i+1), ruleExpression, "write {{ for a brace", "the brace is not closed")
			i = end - 1
			continue
		}
		q := l.quantity(name)
		if q == nil {
			p.add(t.At(i+1, end), ruleExpression, "", "a %s has no quantity %s%s", l.kind, quote(name), word.DidYouMean(name, l.names()))
		} else {
			out = append(out, piece{text: text.String(), quantity: q})
			text.Reset()
		}
		i = end
	}
	return append(out, piece{text: text.String()})
}

// fill writes a message on one line. value is asked for each placeholder.
func fill(pieces []piece, value func(string) Value) string {
	var out strings.Builder
	for _, p := range pieces {
		out.WriteString(p.text)
		if p.quantity != nil {
			out.WriteString(p.quantity.show(value(p.quantity.Name)))
		}
	}
	return strings.Join(strings.Fields(out.String()), " ")
}
