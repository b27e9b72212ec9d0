package decouple

import (
	"errors"
	"fmt"
	"math"
	"math/big"
)

// Input is the unit of the readings.
type Input string

const (
	Count Input = "count" // of the converter, whole numbers
	Volt  Input = "V"
	Tesla Input = "T"
)

// Limits of what the text form holds.
const (
	maxNames      = 64      // of sensors and of bars
	maxShift      = 62      //
	maxCount      = 1 << 24 // whole numbers to here are exact in single precision
	minWidthBits  = 8
	maxWidthBits  = 32
	leastConstant = 1e-30 // magnitude of a constant other than zero, A per unit of input;
	mostConstant  = 1e30  // within these no product of single precision over- or underflows
	mostReading   = 1e7   // in V or T
)

// Sensor is one reading, in the unit of input of the whole.
type Sensor struct {
	Name string
	// Zero is the reading without current. Min and Max are the range of the
	// readings, and Worked is the reading in the worked example; all but Zero
	// are whole numbers where the input is counts.
	Zero, Min, Max, Worked float64
}

// Order is what constants are made from.
type Order struct {
	// LayoutHash ties the constants to their layout; the caller computes it.
	LayoutHash string
	// FreqHz is the frequency of the matrix that was inverted.
	FreqHz  float64
	Input   Input
	Sensors []Sensor
	Bars    []string // or circuits
	// APerInput is the inverse in A per unit of input, a row for each bar and a
	// column for each sensor, as many of either as there are; its imaginary parts are
	// zero.
	APerInput [][]complex128
}

// Constants is the firmware form of an inverse. All numbers of the sensors are
// rounded to single precision, so that the text holds them exactly.
type Constants struct {
	LayoutHash string
	FreqHz     float64
	Input      Input
	Sensors    []Sensor
	Bars       []string
	// Single holds the constants of the float form, A per unit of input, a row
	// for each bar; nil in the fixed form.
	Single [][]float32
	// WidthBits, Shift and Integer are the fixed form: a constant is
	// Integer·2^-Shift A per count. Integer is nil in the float form.
	WidthBits int
	Shift     int
	Integer   [][]int64
}

// Float returns the constants of o in single precision. It is an error where o
// is incomplete, not real or outside the limits of the text form.
func Float(o Order) (*Constants, error) {
	c, largest, err := o.common()
	if err != nil {
		return nil, err
	}
	if !(largest <= mostConstant) {
		return nil, fmt.Errorf("a constant of %g A per %s is too large", largest, o.Input)
	}
	for _, row := range o.APerInput {
		single := make([]float32, len(row))
		for i, v := range row {
			single[i] = float32(real(v)) + 0 // no minus zero
		}
		c.Single = append(c.Single, single)
	}
	return c, c.check()
}

// Fixed returns the constants of o as signed whole numbers of widthBits, 8 to 32,
// all with one power of two for a scale: the finest at which the largest fits.
// The input is counts. Each constant is then within half of 2^-Shift A per
// count; ErrorBoundA says what that is in amperes.
func Fixed(o Order, widthBits int) (*Constants, error) {
	c, largest, err := o.common()
	switch {
	case err != nil:
		return nil, err
	case widthBits < minWidthBits || widthBits > maxWidthBits:
		return nil, fmt.Errorf("a width of %d bits is outside %d to %d", widthBits, minWidthBits, maxWidthBits)
	}
	most := math.Ldexp(1, widthBits-1) - 1
	c.WidthBits, c.Shift = widthBits, maxShift
	for c.Shift >= 0 && !(math.Round(math.Ldexp(largest, c.Shift)) <= most) {
		c.Shift--
	}
	if c.Shift < 0 {
		return nil, fmt.Errorf("a constant of %g A per count does not fit %d bits", largest, widthBits)
	}
	for _, row := range o.APerInput {
		integer := make([]int64, len(row))
		for i, v := range row {
			integer[i] = int64(math.Round(math.Ldexp(real(v), c.Shift)))
		}
		c.Integer = append(c.Integer, integer)
	}
	return c, c.check()
}

// common returns what both forms have, and the largest constant.
func (o Order) common() (*Constants, float64, error) {
	c := &Constants{LayoutHash: o.LayoutHash, FreqHz: single(o.FreqHz), Input: o.Input, Bars: append([]string(nil), o.Bars...)}
	for _, s := range o.Sensors {
		c.Sensors = append(c.Sensors, Sensor{s.Name, single(s.Zero), single(s.Min), single(s.Max), single(s.Worked)})
	}
	if len(o.APerInput) != len(o.Bars) {
		return nil, 0, fmt.Errorf("%d rows of constants for %d bars", len(o.APerInput), len(o.Bars))
	}
	largest := 0.0
	for j, row := range o.APerInput {
		if len(row) != len(o.Sensors) {
			return nil, 0, fmt.Errorf("bar %q has %d constants for %d sensors", o.Bars[j], len(row), len(o.Sensors))
		}
		rowLargest := 0.0
		for _, v := range row {
			rowLargest = max(rowLargest, math.Abs(real(v)))
		}
		for i, v := range row {
			switch {
			case math.IsNaN(rowLargest) || math.IsInf(rowLargest, 0):
				return nil, 0, fmt.Errorf("a constant of bar %q is not a finite number", o.Bars[j])
			case !(math.Abs(imag(v)) <= 1e-9*rowLargest):
				return nil, 0, fmt.Errorf("the constant of bar %q and sensor %q is complex: firmware takes a real inverse, such as that at direct current", o.Bars[j], o.Sensors[i].Name)
			}
		}
		largest = max(largest, rowLargest)
	}
	if largest == 0 {
		return nil, 0, errors.New("all constants are zero")
	}
	return c, largest, nil
}

// single rounds to single precision, and minus zero to zero.
func single(v float64) float64 { return float64(float32(v)) + 0 }

// check returns the first thing that the text form cannot hold.
func (c *Constants) check() error {
	switch {
	case c.LayoutHash == "":
		return errors.New("the hash of the layout is missing")
	case !(c.FreqHz >= 0) || math.IsInf(c.FreqHz, 0):
		return errors.New("the frequency is not a number from zero on")
	case c.Input != Count && c.Input != Volt && c.Input != Tesla:
		return fmt.Errorf("the input %q is none of %s, %s, %s", c.Input, Count, Volt, Tesla)
	}
	var names []string
	for _, s := range c.Sensors {
		names = append(names, s.Name)
	}
	if err := checkNames("sensor", names); err != nil {
		return err
	}
	if err := checkNames("bar", c.Bars); err != nil {
		return err
	}
	for _, s := range c.Sensors {
		if err := s.check(c.Input); err != nil {
			return err
		}
	}
	for _, row := range c.Single {
		for _, v := range row {
			if m := math.Abs(float64(v)); v != 0 && !(m >= leastConstant && m <= mostConstant) {
				return fmt.Errorf("a constant of %g A per %s is outside %g to %g", v, c.Input, leastConstant, mostConstant)
			}
		}
	}
	if c.Integer == nil {
		return nil
	}
	switch {
	case c.Input != Count:
		return fmt.Errorf("fixed-point constants take counts, not %s", c.Input)
	case c.WidthBits < minWidthBits || c.WidthBits > maxWidthBits:
		return fmt.Errorf("a width of %d bits is outside %d to %d", c.WidthBits, minWidthBits, maxWidthBits)
	case c.Shift < 0 || c.Shift > maxShift:
		return fmt.Errorf("a shift of %d is outside 0 to %d", c.Shift, maxShift)
	}
	for _, row := range c.Integer {
		for _, v := range row {
			if most := int64(1)<<(c.WidthBits-1) - 1; v > most || v < -most {
				return fmt.Errorf("the constant %d does not fit %d bits", v, c.WidthBits)
			}
		}
	}
	return nil
}

func checkNames(what string, names []string) error {
	if len(names) == 0 || len(names) > maxNames {
		return fmt.Errorf("%d %ss: 1 to %d are held", len(names), what, maxNames)
	}
	seen := map[string]bool{}
	for _, name := range names {
		if name == "" {
			return fmt.Errorf("a %s has no name", what)
		}
		if seen[name] {
			return fmt.Errorf("two %ss are named %q", what, name)
		}
		seen[name] = true
	}
	return nil
}

func (s Sensor) check(input Input) error {
	most := float64(mostReading)
	if input == Count {
		most = maxCount
	}
	for _, v := range []float64{s.Zero, s.Min, s.Max, s.Worked} {
		if !(math.Abs(v) <= most) {
			return fmt.Errorf("sensor %q: %g %s is beyond ±%g", s.Name, v, input, most)
		}
	}
	if input == Count && (s.Min != math.Trunc(s.Min) || s.Max != math.Trunc(s.Max) || s.Worked != math.Trunc(s.Worked)) {
		return fmt.Errorf("sensor %q: counts are whole numbers", s.Name)
	}
	if !(s.Min < s.Max) || s.Zero < s.Min || s.Zero > s.Max || s.Worked < s.Min || s.Worked > s.Max {
		return fmt.Errorf("sensor %q: zero and the worked reading lie within the range of the readings", s.Name)
	}
	return nil
}

// Offset returns the whole number that the fixed form subtracts for bar j: the
// constants times the zeros, rounded once. The float form has none and gives 0.
func (c *Constants) Offset(j int) int64 {
	if c.Integer == nil {
		return 0
	}
	sum := new(big.Rat)
	for i, k := range c.Integer[j] {
		zero := new(big.Rat).SetFloat64(c.Sensors[i].Zero)
		sum.Add(sum, zero.Mul(zero, new(big.Rat).SetInt64(k)))
	}
	// Half a unit up and then down to a whole number. 64 products of 31 and 24
	// bits stay below 62 bits.
	sum.Add(sum, big.NewRat(1, 2))
	whole := new(big.Int).Div(sum.Num(), sum.Denom()) // Euclidean, so down
	return whole.Int64()
}
