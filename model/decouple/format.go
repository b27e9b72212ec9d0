package decouple

import (
	"fmt"
	"io"
	"strconv"
	"strings"
)

// header is the first line of the text form.
const header = "# busgauss decoupling constants, version 1"

// Keys of the lines, in the order in which they are written.
const (
	keyLayout      = "layout"
	keyFreq        = "frequency_hz"
	keyForm        = "form"
	keyInput       = "input"
	keyWidth       = "width_bits"
	keyShift       = "shift"
	keySensors     = "sensors"
	keyBars        = "bars"
	keyZero        = "zero"
	keyMin         = "reading_min"
	keyMax         = "reading_max"
	keyConstant    = "constant"
	keyOffset      = "offset"
	keyAccumulator = "accumulator_bits"
	keyBound       = "error_bound_a"
	keyReading     = "worked_reading"
	keyWorked      = "worked"
)

const (
	formFixed = "fixed"
	formFloat = "float"
)

// Format writes the text form that the package comment describes. The same
// constants give the same bytes. It returns the first error of w.
func (c *Constants) Format(w io.Writer) error {
	_, err := strings.NewReader(c.String()).WriteTo(w)
	return err
}

// String returns the text form.
func (c *Constants) String() string {
	var b strings.Builder
	line := func(words ...string) { b.WriteString(strings.Join(words, " ") + "\n") }
	bySensor := func(key string, value func(s Sensor) string) {
		words := []string{key}
		for _, s := range c.Sensors {
			words = append(words, value(s))
		}
		line(words...)
	}
	line(header)
	if c.Integer != nil {
		line("# i = (sum of constant * reading - offset) / 2^shift, in amperes, by bar")
	} else {
		line("# i = sum of constant * (reading - zero), in amperes, single precision, by bar")
	}
	line(keyLayout, quoted(c.LayoutHash))
	line(keyFreq, number(c.FreqHz))
	line(keyForm, c.form())
	line(keyInput, string(c.Input))
	if c.Integer != nil {
		line(keyWidth, strconv.Itoa(c.WidthBits))
		line(keyShift, strconv.Itoa(c.Shift))
	}
	bySensor(keySensors, func(s Sensor) string { return quoted(s.Name) })
	words := []string{keyBars}
	for _, bar := range c.Bars {
		words = append(words, quoted(bar))
	}
	line(words...)
	bySensor(keyZero, func(s Sensor) string { return number(s.Zero) })
	bySensor(keyMin, func(s Sensor) string { return number(s.Min) })
	bySensor(keyMax, func(s Sensor) string { return number(s.Max) })
	for j, bar := range c.Bars {
		line(append([]string{keyConstant, quoted(bar)}, c.row(j)...)...)
	}
	if c.Integer != nil {
		for j, bar := range c.Bars {
			line(keyOffset, quoted(bar), strconv.FormatInt(c.Offset(j), 10))
		}
		for j, bar := range c.Bars {
			line(keyAccumulator, quoted(bar), strconv.Itoa(c.AccumulatorBits(j)))
		}
	}
	for j, bar := range c.Bars {
		line(keyBound, quoted(bar), upward(c.ErrorBoundA(j)))
	}
	bySensor(keyReading, func(s Sensor) string { return number(s.Worked) })
	for j, bar := range c.Bars {
		line(append([]string{keyWorked, quoted(bar)}, c.worked(j)...)...)
	}
	return b.String()
}

func (c *Constants) form() string {
	if c.Integer != nil {
		return formFixed
	}
	return formFloat
}

// row returns the constants of bar j as text.
func (c *Constants) row(j int) []string {
	var words []string
	for i := range c.Sensors {
		if c.Integer != nil {
			words = append(words, strconv.FormatInt(c.Integer[j][i], 10))
		} else {
			words = append(words, number(float64(c.Single[j][i])))
		}
	}
	return words
}

// worked returns the words of the worked line of bar j, from numbers to amperes
// with six digits.
func (c *Constants) worked(j int) []string {
	var words []string
	readings := make([]float64, len(c.Sensors))
	row := c.row(j)
	for i, v := range row[1:] {
		row[i+1] = signed(v)
	}
	for i, s := range c.Sensors {
		readings[i] = s.Worked
		if c.Integer != nil {
			words = append(words, row[i]+"*"+number(s.Worked))
			continue
		}
		minus := number(s.Zero)
		if s.Zero < 0 {
			minus = "(" + minus + ")"
		}
		words = append(words, row[i]+"*("+number(s.Worked)+"-"+minus+")")
	}
	if c.Integer != nil {
		words = append([]string{"("}, words...)
		words = append(words, signed(strconv.FormatInt(-c.Offset(j), 10)), ")", "/", fmt.Sprintf("2^%d", c.Shift))
	}
	return append(words, "=", strconv.FormatFloat(c.CurrentsA(readings)[j], 'g', 6, 64), "A")
}

// signed puts a plus before what has no minus.
func signed(number string) string {
	if strings.HasPrefix(number, "-") {
		return number
	}
	return "+" + number
}

// number writes a number of single precision in the fewest digits that give it
// back.
func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 32) }

// upward writes v with three digits, not below it: half a unit of the third
// digit is at most 0.5 %.
func upward(v float64) string { return strconv.FormatFloat(1.005*v, 'g', 3, 64) }

// quoted returns the name as one word.
func quoted(name string) string {
	plain := func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '.' || r == ':' || r == '-' || r == '_'
	}
	if strings.TrimFunc(name, plain) == "" && name != "" {
		return name
	}
	return strconv.Quote(name)
}
