// Package glob matches names of files against patterns in time that grows with the length of the pattern times that of the
// name, whatever the pattern holds: patterns come from strangers.
package glob

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"
)

// The largest pattern that is read.
const (
	MostBytes  = 4096
	MostBraces = 64 // groups of alternatives
)

// ErrForm says that a pattern is not complete: a bracket, a brace or an escape that does not end.
var ErrForm = errors.New("the pattern is not complete")

// Pattern is a pattern that was read. It may be used by many goroutines.
//
//   - any characters but /
//     **       as a whole part of a path: any number of folders, none too; at the end all that is below, and the folder itself
//     ?        one character but /
//     [a-c]    one of these characters; [^a-c] and [!a-c] one of the others, never /
//     {a,b}    one of these patterns
//     \c       the character c
type Pattern struct{ steps []step }

// step is one state of the machine that a pattern becomes. What it takes leads to the state behind it.
type step struct {
	kind kind
	char rune
	set  *class
	to   []int // of a fork
}

type kind uint8

const (
	one   kind = iota // the character char
	any               // one character but /
	some              // one character of set
	all               // one character, / among them
	fork              // none: on to all of to
	match             // none: the end
)

// class is what stands in brackets.
type class struct {
	not    bool
	ranges []rune // two a range
}

func (c *class) has(r rune) bool {
	for i := 0; i < len(c.ranges); i += 2 {
		if c.ranges[i] <= r && r <= c.ranges[i+1] {
			return !c.not
		}
	}
	return c.not
}

// Compile reads a pattern. The error is ErrForm, or says which of the limits above it passes.
func Compile(pattern string) (*Pattern, error) {
	if len(pattern) > MostBytes {
		return nil, fmt.Errorf("the pattern has more than %d bytes", MostBytes)
	}
	c := compiler{text: pattern}
	if err := c.closings(); err != nil {
		return nil, err
	}
	if err := c.alternative(true, end, true); err != nil {
		return nil, err
	}
	c.add(step{kind: match})
	return &Pattern{c.steps}, nil
}

type compiler struct {
	text  string
	at    int
	close map[int]int // the brace that closes a group, by the one that opens it
	steps []step
	skips []int // forks that also lead behind the slash that comes next
}

// end is what follows at the end of the text.
const end = 0

// closings finds the ends of groups, and holds brackets and escapes to having one.
func (c *compiler) closings() error {
	c.close = map[int]int{}
	var open []int
	for c.at = 0; c.at < len(c.text); {
		switch c.text[c.at] {
		case '\\':
			if c.at++; c.at == len(c.text) {
				return ErrForm
			}
		case '[':
			if _, err := c.class(); err != nil {
				return err
			}
			continue
		case '{':
			open = append(open, c.at)
			if len(c.close)+len(open) > MostBraces {
				return fmt.Errorf("the pattern has more than %d braces", MostBraces)
			}
		case '}':
			if len(open) == 0 {
				return ErrForm
			}
			c.close[open[len(open)-1]] = c.at
			open = open[:len(open)-1]
		}
		c.at++
	}
	if c.at = 0; len(open) > 0 {
		return ErrForm
	}
	return nil
}

func (c *compiler) add(s step) int {
	c.steps = append(c.steps, s)
	return len(c.steps) - 1
}

// after returns what stands at a place of the text: the byte, or where an alternative ends what follows its group.
func (c *compiler) after(at int, follow byte, outer bool) byte {
	if at == len(c.text) {
		return end
	}
	if b := c.text[at]; !outer && (b == ',' || b == '}') {
		return follow
	}
	return c.text[at]
}

// alternative reads up to a comma or a closing brace of the group that it stands in, or to the end; starts says that a
// part of a path begins where it does, follow what comes behind the group, outer that it is in none.
func (c *compiler) alternative(starts bool, follow byte, outer bool) error {
	for c.at < len(c.text) {
		began := starts
		starts = false
		switch b := c.text[c.at]; {
		case b == '}' || b == ',' && !outer:
			return nil
		case b == '*':
			starts = c.stars(began, follow, outer)
		case b == '?':
			c.at++
			c.add(step{kind: any})
		case b == '[':
			set, err := c.class()
			if err != nil {
				return err
			}
			c.add(step{kind: some, set: set})
		case b == '{':
			if err := c.group(began, c.after(c.close[c.at]+1, follow, outer)); err != nil {
				return err
			}
			starts = false
		case b == '\\':
			c.at++
			c.char()
		case b == '/' && strings.HasPrefix(c.text[c.at:], "/**") && c.ends(c.at+3, follow, outer):
			// "a/**" fits "a"
			c.at += 3
			skip := c.add(step{kind: fork})
			c.add(step{kind: one, char: '/'})
			c.run(all)
			c.steps[skip].to = []int{skip + 1, len(c.steps)}
		default:
			c.char()
			starts = b == '/'
		}
	}
	return nil
}

// ends reports whether an alternative ends at a place, with nothing of the same part of the path behind it.
func (c *compiler) ends(at int, follow byte, outer bool) bool {
	if at < len(c.text) && (outer || c.text[at] != ',' && c.text[at] != '}') {
		return false
	}
	b := c.after(at, follow, outer)
	return b == end || b == '/'
}

func (c *compiler) char() {
	r, n := first(c.text[c.at:])
	c.at += n
	c.add(step{kind: one, char: r})
	for _, i := range c.skips {
		c.steps[i].to = append(c.steps[i].to, len(c.steps))
	}
	c.skips = nil
}

// run adds any number of characters of a kind.
func (c *compiler) run(k kind) {
	loop := c.add(step{kind: fork})
	c.add(step{kind: k})
	again := c.add(step{kind: fork, to: []int{loop}})
	c.steps[loop].to = []int{loop + 1, again + 1}
}

// stars reads a run of stars; true where it took folders with the slash behind them.
func (c *compiler) stars(starts bool, follow byte, outer bool) bool {
	n := len(c.text[c.at:]) - len(strings.TrimLeft(c.text[c.at:], "*"))
	c.at += n
	switch {
	case n != 2 || !starts:
		c.run(any)
	case strings.HasPrefix(c.text[c.at:], "/"):
		c.at++
		skip := c.add(step{kind: fork})
		c.run(all)
		c.add(step{kind: one, char: '/'})
		c.steps[skip].to = []int{skip + 1, len(c.steps)}
		return true
	case !c.ends(c.at, follow, outer):
		c.run(any)
	default:
		skip := c.add(step{kind: fork})
		c.run(all)
		c.steps[skip].to = []int{skip + 1}
		if c.after(c.at, follow, outer) == '/' {
			c.skips = append(c.skips, skip)
		}
	}
	return false
}

// group reads alternatives in braces.
func (c *compiler) group(starts bool, follow byte) error {
	into := c.add(step{kind: fork})
	var begin, ends, skips []int
	for {
		c.at++ // the brace, or a comma
		begin = append(begin, len(c.steps))
		c.skips = nil
		if err := c.alternative(starts, follow, false); err != nil {
			return err
		}
		skips = append(skips, c.skips...)
		ends = append(ends, c.add(step{kind: fork}))
		if c.text[c.at] == '}' {
			break
		}
	}
	c.at++
	c.skips = skips
	c.steps[into].to = begin
	for _, e := range ends {
		c.steps[e].to = []int{len(c.steps)}
	}
	return nil
}

// class reads brackets.
func (c *compiler) class() (*class, error) {
	out := &class{}
	c.at++
	if rest := c.text[c.at:]; strings.HasPrefix(rest, "^") || strings.HasPrefix(rest, "!") {
		out.not = true
		c.at++
	}
	for {
		if c.at == len(c.text) {
			return nil, ErrForm
		}
		if c.text[c.at] == ']' {
			c.at++
			if len(out.ranges) == 0 {
				return nil, ErrForm
			}
			return out, nil
		}
		lo, err := c.member()
		if err != nil {
			return nil, err
		}
		hi := lo
		if rest := c.text[c.at:]; len(rest) > 1 && rest[0] == '-' && rest[1] != ']' {
			c.at++
			if hi, err = c.member(); err != nil {
				return nil, err
			}
		}
		out.ranges = append(out.ranges, lo, hi)
	}
}

func (c *compiler) member() (rune, error) {
	if c.text[c.at] == '\\' {
		c.at++
	}
	if c.at == len(c.text) {
		return 0, ErrForm
	}
	r, n := first(c.text[c.at:])
	c.at += n
	return r, nil
}

// first returns the first character of a text and its length in bytes. A byte that is no part of a character is one of
// its own, which is like no other.
func first(text string) (rune, int) {
	r, n := utf8.DecodeRuneInString(text)
	if r == utf8.RuneError && n == 1 {
		return utf8.MaxRune + 1 + rune(text[0]), 1
	}
	return r, n
}
