package decouple

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// maxTextBytes bounds the text that Parse takes; the largest that Format writes
// is smaller.
const maxTextBytes = 1 << 20

// Parse reads the text form that the package comment describes. Lines that
// follow from others must agree with them, error_bound_a to 2 %,
// since its last digits depend on the machine. The error names
// the line. What Format writes of the result parses to the same constants.
func Parse(text string) (*Constants, error) {
	lines, err := split(text)
	if err != nil {
		return nil, err
	}
	p := &parser{lines: lines}
	c := p.constants()
	if p.err == nil {
		p.err = c.check()
	}
	if p.err == nil {
		p.derived(c)
	}
	if p.err == nil {
		for _, l := range p.lines {
			if !l.used {
				p.fail(l, "is not known here, or comes twice")
			}
		}
	}
	if p.err != nil {
		return nil, p.err
	}
	return c, nil
}

// textLine is a line that says something.
type textLine struct {
	number int
	words  []string
	used   bool
}

// split returns the lines of the text as words.
func split(text string) ([]textLine, error) {
	if len(text) > maxTextBytes {
		return nil, errors.New("the text is too long for constants")
	}
	var out []textLine
	number := 0
	for line := range strings.Lines(text) {
		number++
		line = strings.TrimRight(line, "\r\n")
		if number == 1 {
			if line != header {
				return nil, fmt.Errorf("line 1: write %q", header)
			}
			continue
		}
		if strings.HasPrefix(line, "#") {
			continue
		}
		words, err := splitWords(line)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", number, err)
		}
		if len(words) > 0 {
			out = append(out, textLine{number: number, words: words})
		}
	}
	if number == 0 {
		return nil, fmt.Errorf("line 1: write %q", header)
	}
	return out, nil
}

// splitWords parts a line at spaces, and takes quotes away.
func splitWords(line string) ([]string, error) {
	var words []string
	for {
		line = strings.TrimLeft(line, " ")
		if line == "" {
			return words, nil
		}
		word := line
		if line[0] == '"' {
			prefix, err := strconv.QuotedPrefix(line)
			if err != nil {
				return nil, errors.New("a quote is not closed")
			}
			rest := line[len(prefix):]
			if rest != "" && rest[0] != ' ' {
				return nil, errors.New("a space is wanted after a quoted name")
			}
			if word, err = strconv.Unquote(prefix); err != nil {
				return nil, errors.New("a quote is not closed")
			}
			line = rest
		} else {
			if end := strings.IndexByte(line, ' '); end >= 0 {
				word = line[:end]
			}
			line = line[len(word):]
		}
		words = append(words, word)
	}
}

// parser takes lines by their key and keeps the first error.
type parser struct {
	lines []textLine
	err   error
}

func (p *parser) fail(l textLine, format string, a ...any) {
	if p.err == nil {
		p.err = fmt.Errorf("line %d: %s %s", l.number, l.words[0], fmt.Sprintf(format, a...))
	}
}

// take returns the words after the first words of a line, which is used up. Where
// there is no such line, or not n words (n < 0 for any number from one on), it
// keeps an error and returns nil.
func (p *parser) take(n int, first ...string) (textLine, []string) {
	if p.err != nil {
		return textLine{}, nil
	}
	for i := range p.lines {
		l := &p.lines[i]
		if l.used || len(l.words) < len(first) || !slices.Equal(l.words[:len(first)], first) {
			continue
		}
		l.used = true
		rest := l.words[len(first):]
		if n >= 0 && len(rest) != n {
			p.fail(*l, "has %d values, %d are wanted", len(rest), n)
			return *l, nil
		}
		if len(rest) == 0 {
			p.fail(*l, "has no value")
		}
		return *l, rest
	}
	p.err = fmt.Errorf("the line %q is missing", strings.Join(first, " "))
	return textLine{}, nil
}

// constants reads the lines that do not follow from others.
func (p *parser) constants() *Constants {
	c := &Constants{}
	c.LayoutHash = p.word(keyLayout)
	c.FreqHz = p.numbers(1, keyFreq)[0]
	form := p.word(keyForm)
	if p.err == nil && form != formFixed && form != formFloat {
		p.err = fmt.Errorf("the form %q is neither %s nor %s", form, formFixed, formFloat)
	}
	c.Input = Input(p.word(keyInput))
	if form == formFixed {
		c.WidthBits = int(p.whole(1, keyWidth)[0])
		c.Shift = int(p.whole(1, keyShift)[0])
	}
	_, sensors := p.take(-1, keySensors)
	_, c.Bars = p.take(-1, keyBars)
	if p.err == nil && (len(sensors) > maxNames || len(c.Bars) > maxNames) {
		p.err = fmt.Errorf("%d sensors and %d bars: %d of each are held", len(sensors), len(c.Bars), maxNames)
	}
	if p.err != nil {
		return c
	}
	n := len(sensors)
	zero, least, most, worked := p.numbers(n, keyZero), p.numbers(n, keyMin), p.numbers(n, keyMax), p.numbers(n, keyReading)
	for i, name := range sensors {
		c.Sensors = append(c.Sensors, Sensor{name, zero[i], least[i], most[i], worked[i]})
	}
	for _, bar := range c.Bars {
		if form == formFixed {
			c.Integer = append(c.Integer, p.whole(n, keyConstant, bar))
			continue
		}
		row := make([]float32, n)
		for i, v := range p.numbers(n, keyConstant, bar) {
			row[i] = float32(v)
		}
		c.Single = append(c.Single, row)
	}
	return c
}

// derived compares the lines that follow from others.
func (p *parser) derived(c *Constants) {
	for j, bar := range c.Bars {
		if c.Integer != nil {
			p.same(strconv.FormatInt(c.Offset(j), 10), keyOffset, bar)
			p.same(strconv.Itoa(c.AccumulatorBits(j)), keyAccumulator, bar)
		}
		l, _ := p.peek(keyBound, bar)
		bound := p.numbers(1, keyBound, bar)[0]
		if want := c.ErrorBoundA(j); p.err == nil && !(math.Abs(bound-want) <= 0.02*want) {
			p.fail(l, "does not follow from the constants, which give %s", upward(want))
		}
		p.same(strings.Join(c.worked(j), " "), keyWorked, bar)
	}
}

// same takes the line of these first words and compares the rest.
func (p *parser) same(want string, first ...string) {
	l, words := p.take(-1, first...)
	if p.err == nil && strings.Join(words, " ") != want {
		p.fail(l, "does not follow from the constants, which give %q", want)
	}
}

// peek returns the line of these first words without using it up.
func (p *parser) peek(first ...string) (textLine, bool) {
	for _, l := range p.lines {
		if !l.used && len(l.words) >= len(first) && slices.Equal(l.words[:len(first)], first) {
			return l, true
		}
	}
	return textLine{}, false
}

func (p *parser) word(key string) string {
	_, words := p.take(1, key)
	if words == nil {
		return ""
	}
	return words[0]
}

// numbers returns n numbers of single precision; NaN after an error.
func (p *parser) numbers(n int, first ...string) []float64 {
	out := slices.Repeat([]float64{math.NaN()}, n)
	l, words := p.take(n, first...)
	for i, word := range words {
		v, err := strconv.ParseFloat(word, 32)
		if err != nil || strings.Trim(word, "0123456789+-.eE") != "" {
			p.fail(l, "has %q where a number is wanted", word)
			return out
		}
		out[i] = v + 0 // no minus zero
	}
	return out
}

// whole returns n whole numbers of 32 bits; zeros after an error.
func (p *parser) whole(n int, first ...string) []int64 {
	out := make([]int64, n)
	l, words := p.take(n, first...)
	for i, word := range words {
		v, err := strconv.ParseInt(word, 10, 33)
		if err != nil {
			p.fail(l, "has %q where a whole number is wanted", word)
			return out
		}
		out[i] = v
	}
	return out
}
