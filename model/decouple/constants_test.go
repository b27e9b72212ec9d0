package decouple

import (
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"os"
	"reflect"
	"strings"
	"testing"

	"busgauss/fixtures"
)

// ferry is the two thruster bars of a cable ferry, 0.8 mV/A each, read by 12 bits
// over 3.3 V, with the inverse worked by hand:
//
//	V/A = 1e-3 (0.8 0.006; 0.005 0.8), determinant 0.63997e-6
//	A/V = (0.8 −0.006; −0.005 0.8) / 0.63997e-3
//	A per count: times 3.3/4096
func ferry() Order {
	const perCount = 3.3 / 4096 / 0.63997e-3
	return Order{
		LayoutHash: "sha256:6f1c0a",
		Input:      Count,
		Sensors:    []Sensor{{"s1", 2048, 0, 4095, 3450}, {"s2", 2048.5, 0, 4095, 2100}},
		Bars:       []string{"u", "v"},
		APerInput:  [][]complex128{{0.8 * perCount, -0.006 * perCount}, {-0.005 * perCount, 0.8 * perCount}},
	}
}

func mustFixed(t *testing.T, o Order, width int) *Constants {
	t.Helper()
	c, err := Fixed(o, width)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func mustFloat(t *testing.T, o Order) *Constants {
	t.Helper()
	c, err := Float(o)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// The largest constant, 1.00713 A per count, times 2^14 is 16501, and times 2^15
// 33002, beyond 32767. By hand:
//
//	16501·2048 − 124·2048.5 = 33540034, −103·2048 + 16501·2048.5 = 33591354.5
//	16501·3450 − 124·2100 − 33540034 = 23128016, over 2^14 = 1411.62 A
//	16501·4095 + 124·4095 + 33540034 = 101619... < 2^27, so 28 bits with the sign
//	2^-15 (2048 + 2048.5 + 1) = 0.12505 A, and 2^-24 (1.0071·2048 + 0.0076·2048.5)
func TestFixedByHand(t *testing.T) {
	c := mustFixed(t, ferry(), 16)
	if c.Shift != 14 || !reflect.DeepEqual(c.Integer, [][]int64{{16501, -124}, {-103, 16501}}) || c.Single != nil {
		t.Errorf("shift %d, constants %v", c.Shift, c.Integer)
	}
	if c.Offset(0) != 33540034 || c.Offset(1) != 33591355 {
		t.Errorf("offsets %d and %d", c.Offset(0), c.Offset(1))
	}
	if c.AccumulatorBits(0) != 28 {
		t.Errorf("accumulator of %d bits", c.AccumulatorBits(0))
	}
	within(t, "bound", c.ErrorBoundA(0), 0.12505+1.2e-4, 1.5e-4)
	currents := c.CurrentsA([]float64{3450, 2100})
	within(t, "u", currents[0], 23128016.0/16384, 1e-9)
	within(t, "v", currents[1], (-103*3450+16501*2100-33591355)/16384.0, 1e-9)
	if got := c.CurrentsA([]float64{3450.5, 2100})[0]; !math.IsNaN(got) {
		t.Errorf("half a count gives %g", got)
	}
	if got := c.CurrentsA([]float64{math.Inf(1), 2100})[0]; !math.IsNaN(got) {
		t.Errorf("an infinite count gives %g", got)
	}
	if !panics(func() { c.CurrentsA([]float64{1}) }) {
		t.Error("a missing reading does not panic")
	}

	// One width more gives one bit of shift more, and half of the bound.
	finer := mustFixed(t, ferry(), 17)
	within(t, "shift", float64(finer.Shift), 15, 0)
	within(t, "bound of the finer", finer.ErrorBoundA(0), c.ErrorBoundA(0)/2, 1e-3*c.ErrorBoundA(0))

	// Minus half a unit rounds up, as plus half does.
	o := ferry()
	o.Sensors = []Sensor{{"s", 0.5, 0, 4, 4}}
	o.Bars, o.APerInput = []string{"u", "v"}, [][]complex128{{127}, {-127}}
	c = mustFixed(t, o, 8)
	if c.Shift != 0 || c.Offset(0) != 64 || c.Offset(1) != -63 {
		t.Errorf("shift %d, offsets %d and %d, want 0, 64 and -63", c.Shift, c.Offset(0), c.Offset(1))
	}
	// 127·4 + 64 = 572: ten bits and the sign.
	within(t, "bits", float64(c.AccumulatorBits(0)), 11, 0)
	// Half of 3.5 counts, and half of the offset's unit.
	within(t, "bound", c.ErrorBoundA(0), 0.5*(3.5+1), 0.003)
}

func TestFloatByHand(t *testing.T) {
	c := mustFloat(t, ferry())
	if c.Integer != nil || c.Single[0][0] != float32(0.8*3.3/4096/0.63997e-3) || c.Offset(0) != 0 || c.AccumulatorBits(0) != 0 {
		t.Errorf("%+v", c)
	}
	// 1.0071273·1402 − 0.0075534545·51.5 = 1411.6034
	within(t, "u", c.CurrentsA([]float64{3450, 2100})[0], 1411.6034, 2e-4)
	// 5·2^-24 (1.00713·2048 + 0.00755·2048.5) + 2^-24 (1.00713·2048 + 0.00755·2048.5)
	// = 6·2^-24·2078.1
	within(t, "bound", c.ErrorBoundA(0), 7.432e-4, 0.02e-4)
	o := ferry()
	o.Input = Volt
	// The same numbers as volts round once more: 2^-24 (1.00713 + 0.00755)·4095 on top.
	within(t, "bound for volts", mustFloat(t, o).ErrorBoundA(0), 7.432e-4+2.477e-4, 0.02e-4)
}

// The stated bound holds for random constants, zeros and readings, against exact
// rational arithmetic on the constants as ordered, and is not idle: somewhere a
// tenth of it is reached.
func TestErrorBoundHolds(t *testing.T) {
	const seed = 3
	rng := rand.New(rand.NewPCG(seed, seed))
	for _, form := range []string{"fixed", "float, counts", "float, volts"} {
		reached := 0.0
		for range 120 {
			n := 1 + rng.IntN(4)
			o := Order{LayoutHash: "x", Input: Count, APerInput: make([][]complex128, n)}
			if form == "float, volts" {
				o.Input = Volt
			}
			unit := func() float64 { // a reading within the range
				if o.Input == Volt {
					return 3.3 * rng.Float64()
				}
				return float64(rng.IntN(4096))
			}
			for i := range n {
				s := Sensor{Name: fmt.Sprint("s", i), Max: 3.3, Worked: 1}
				s.Zero = 3.3 * rng.Float64()
				if o.Input == Count {
					s.Max = 4095
					s.Zero = 4095 * rng.Float64()
				}
				o.Sensors = append(o.Sensors, s)
				o.Bars = append(o.Bars, fmt.Sprint("b", i))
				for range n {
					o.APerInput[i] = append(o.APerInput[i], complex(rng.NormFloat64()*0.3, 0))
				}
			}
			var c *Constants
			if form == "fixed" {
				c = mustFixed(t, o, 8+rng.IntN(25))
			} else {
				c = mustFloat(t, o)
			}
			for range 20 {
				readings := make([]float64, n)
				for i := range readings {
					readings[i] = unit()
					if rng.IntN(3) == 0 {
						readings[i] = o.Sensors[i].Max * float64(rng.IntN(2))
					}
				}
				for j, got := range c.CurrentsA(readings) {
					exact := new(big.Rat)
					for i, x := range readings {
						d := new(big.Rat).SetFloat64(x)
						d.Sub(d, new(big.Rat).SetFloat64(o.Sensors[i].Zero))
						exact.Add(exact, d.Mul(d, new(big.Rat).SetFloat64(real(o.APerInput[j][i]))))
					}
					diff, _ := exact.Sub(exact, new(big.Rat).SetFloat64(got)).Float64()
					bound := c.ErrorBoundA(j)
					if !(math.Abs(diff) <= bound) {
						t.Errorf("%s: error %g A above the bound %g A", form, diff, bound)
					}
					reached = max(reached, math.Abs(diff)/bound)
				}
			}
		}
		t.Logf("%s: %.0f %% of the bound reached", form, 100*reached)
		if reached < 0.1 {
			t.Errorf("%s: the bound is idle, at most %g of it is reached", form, reached)
		}
	}
}

// No partial sum of the fixed form, in any order, passes the stated width; one bit
// less would not hold the largest of them here.
func TestAccumulatorBits(t *testing.T) {
	c := mustFixed(t, ferry(), 16)
	largest := int64(0)
	for _, x := range []int64{0, 4095} {
		for _, y := range []int64{0, 4095} {
			terms := []int64{16501 * x, -124 * y, -c.Offset(0)}
			for _, p := range [][]int{{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}} {
				sum := int64(0)
				for _, k := range p {
					sum += terms[k]
					largest = max(largest, sum, -sum)
				}
			}
		}
	}
	if limit := int64(1) << (c.AccumulatorBits(0) - 1); largest >= limit || largest < limit/2 {
		t.Errorf("largest partial sum %d, limit %d", largest, limit)
	}
}

func TestOrderRefused(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name  string
		spoil func(o *Order)
		want  string
	}{
		{"hash", func(o *Order) { o.LayoutHash = "" }, "the hash of the layout is missing"},
		{"frequency", func(o *Order) { o.FreqHz = nan }, "the frequency is not a number"},
		{"negative frequency", func(o *Order) { o.FreqHz = -1 }, "the frequency is not a number"},
		{"input", func(o *Order) { o.Input = "mV" }, `the input "mV" is none of`},
		{"rows", func(o *Order) { o.Bars = o.Bars[:1] }, "2 rows of constants for 1 bars"},
		{"columns", func(o *Order) { o.APerInput[1] = o.APerInput[1][:1] }, `bar "v" has 1 constants for 2 sensors`},
		{"nothing", func(o *Order) { o.Bars, o.APerInput = nil, nil }, "all constants are zero"},
		{"zeros", func(o *Order) { o.APerInput = [][]complex128{{0, 0}, {0, 0}} }, "all constants are zero"},
		{"NaN", func(o *Order) { o.APerInput[0][1] = complex(nan, 0) }, `a constant of bar "u" is not a finite number`},
		{"infinite", func(o *Order) { o.APerInput[0][1] = complex(math.Inf(-1), 0) }, `a constant of bar "u" is not a finite number`},
		{"complex", func(o *Order) { o.APerInput[1][0] += 0.01i }, `the constant of bar "v" and sensor "s1" is complex`},
		{"name twice", func(o *Order) { o.Sensors[1].Name = "s1" }, `two sensors are named "s1"`},
		{"bar without name", func(o *Order) { o.Bars[0] = "" }, "a bar has no name"},
		{"range", func(o *Order) { o.Sensors[0].Max = 0 }, `sensor "s1": zero and the worked reading lie within the range`},
		{"zero outside", func(o *Order) { o.Sensors[0].Zero = 5000 }, `sensor "s1": zero and the worked reading lie within the range`},
		{"worked outside", func(o *Order) { o.Sensors[0].Worked = -1 }, `sensor "s1": zero and the worked reading lie within the range`},
		{"NaN zero", func(o *Order) { o.Sensors[0].Zero = nan }, `sensor "s1": NaN count is beyond`},
		{"half a count", func(o *Order) { o.Sensors[1].Max = 4095.5 }, `sensor "s2": counts are whole numbers`},
		{"too many counts", func(o *Order) { o.Sensors[1].Max = 2e7 }, `sensor "s2": 2e+07 count is beyond`},
	} {
		for _, form := range []string{"fixed", "float"} {
			o := ferry()
			c.spoil(&o)
			_, err := Float(o)
			if form == "fixed" {
				_, err = Fixed(o, 16)
			}
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%s, %s: %v, want %q", c.name, form, err, c.want)
			}
		}
	}
	o := ferry()
	for _, c := range []struct {
		name  string
		width int
		spoil func(o *Order)
		want  string
	}{
		{"narrow", 7, func(o *Order) {}, "a width of 7 bits is outside 8 to 32"},
		{"wide", 33, func(o *Order) {}, "a width of 33 bits is outside 8 to 32"},
		{"volts", 16, func(o *Order) { o.Input = Volt }, "fixed-point constants take counts, not V"},
		{"large", 8, func(o *Order) { o.APerInput[0][0] = 127.6 }, "a constant of 127.6 A per count does not fit 8 bits"},
	} {
		o = ferry()
		c.spoil(&o)
		if _, err := Fixed(o, c.width); err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	for _, v := range []complex128{1e-31, 1e31} {
		o = ferry()
		o.APerInput[0][0] = v
		if _, err := Float(o); err == nil {
			t.Errorf("a constant of %v passes", v)
		}
	}
	o = ferry()
	for len(o.Sensors) <= maxNames {
		o.Sensors = append(o.Sensors, Sensor{fmt.Sprint("t", len(o.Sensors)), 1, 0, 2, 1})
		for j := range o.APerInput {
			o.APerInput[j] = append(o.APerInput[j], 1)
		}
	}
	if _, err := Float(o); err == nil || err.Error() != "65 sensors: 1 to 64 are held" {
		t.Error(err)
	}
	// The order stays as it is, and lends nothing.
	o = ferry()
	c := mustFixed(t, o, 16)
	c.Bars[0], c.Sensors[0].Name = "changed", "changed"
	if !reflect.DeepEqual(o, ferry()) {
		t.Error("the order was changed")
	}
}

// The example of the package comment is what is written.
func TestExampleOfTheComment(t *testing.T) {
	source, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	_, example, found := strings.Cut(string(source), "//\t"+header+"\n")
	if !found {
		t.Fatal("no example")
	}
	example, _, _ = strings.Cut(example, "//\n")
	example = header + "\n" + strings.ReplaceAll(example, "//\t", "")
	c := mustFixed(t, ferry(), 16)
	if got := c.String(); got != example {
		t.Errorf("written:\n%s\ncomment:\n%s", got, example)
	}
}

// Bounds by hand, as in TestFloatByHand: 2^-24 (5·1.6875 + 5.0107) = 8.02e-7 and
// 2^-24 (5·3.4346 + 3.4554) = 1.230e-6, written up to 0.6 % higher.
func TestFloatText(t *testing.T) {
	o := ferry()
	o.LayoutHash = `a "b" c`
	o.FreqHz = 50
	o.Input = Volt
	o.Sensors = []Sensor{{"links 1", 1.65, 0, 3.3, 2.5}, {"rechts_2", -0.1, -1, 3.3, 0.5}}
	o.Bars = []string{"layout", "Schiene ü"}
	const want = `# busgauss decoupling constants, version 1
# i = sum of constant * (reading - zero), in amperes, single precision, by bar
layout "a \"b\" c"
frequency_hz 50
form float
input V
sensors "links 1" rechts_2
bars layout "Schiene ü"
zero 1.65 -0.1
reading_min 0 -1
reading_max 3.3 3.3
constant layout 1.0071273 -0.0075534545
constant "Schiene ü" -0.0062945457 1.0071273
error_bound_a layout 8.06e-07
error_bound_a "Schiene ü" 1.24e-06
worked_reading 2.5 0.5
worked layout 1.0071273*(2.5-1.65) -0.0075534545*(0.5-(-0.1)) = 0.851526 A
worked "Schiene ü" -0.0062945457*(2.5-1.65) +1.0071273*(0.5-(-0.1)) = 0.598926 A
`
	c := mustFloat(t, o)
	if got := c.String(); got != want {
		t.Errorf("written:\n%s\nwant:\n%s", got, want)
	}
	// By hand: 1.0071273·0.85 − 0.0075534545·0.6 = 0.8515261.
	within(t, "worked", c.CurrentsA([]float64{2.5, 0.5})[0], 1.0071273*0.85-0.0075534545*0.6, 2e-7)
}

func TestFormatReportsTheWriter(t *testing.T) { fixtures.Fails(t, mustFixed(t, ferry(), 16).Format) }
