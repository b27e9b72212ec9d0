package si

import (
	"math"
	"math/big"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

// The wanted values are Go constants, which the compiler rounds once from the
// exact decimal; equality is exact where tolerance is 0, else in units of 2⁻⁵².
func TestParse(t *testing.T) {
	for _, tt := range []struct {
		text string
		d    Dimension
		want float64
		ulps float64 // 0 for decimal factors; π and divisors add a rounding each
	}{
		// Decimal prefixes: BIPM SI brochure, 9th ed., table 7.
		{"20 mm", Length, 0.02, 0},
		{"0.1 mm", Length, 1e-4, 0},
		{"-34 mm", Length, -0.034, 0},
		{"3000 um", Length, 0.003, 0},
		{"3000 \u00b5m", Length, 0.003, 0},
		{"3000 \u03bcm", Length, 0.003, 0},
		{"2 cm", Length, 0.02, 0},
		{"2e3 m", Length, 2000, 0},
		{"1.5E-2 km", Length, 15, 0},
		{"350 nm", Length, 350e-9, 0},
		{"0 mm", Length, 0, 0},
		{"20\u00a0mm", Length, 0.02, 0}, // no-break space
		{"20\u202fmm", Length, 0.02, 0}, // narrow no-break space
		{"60 mm2", Area, 60e-6, 0},
		{"60 mm²", Area, 60e-6, 0},
		{"0.6 cm2", Area, 60e-6, 0},
		{"1.2 kA", Current, 1200, 0},
		{"60 mV", Voltage, 0.06, 0},
		{"450 kV", Voltage, 450e3, 0},
		{"0.05 mT", FluxDensity, 5e-5, 0},
		{"7 uT", FluxDensity, 7e-6, 0},
		{"40 A/m", FieldStrength, 40, 0},
		{"1.5 kA/m", FieldStrength, 1500, 0},
		{"2 A/mm", FieldStrength, 2000, 0},
		{"8 kHz", Frequency, 8000, 0},
		{"1 GHz", Frequency, 1e9, 0},
		{"2 us", Time, 2e-6, 0},
		{"2 MS/m", Conductivity, 2e6, 0},
		{"58 S/mm", Conductivity, 58e3, 0},
		{"22 kohm", Resistance, 22e3, 0},
		{"22 kΩ", Resistance, 22e3, 0},
		{"22 k\u2126", Resistance, 22e3, 0}, // ohm sign
		{"100 uohm/m", ResistancePerLength, 1e-4, 0},
		{"50 uH", Inductance, 50e-6, 0},
		{"100 nF", Capacitance, 100e-9, 0},
		{"60 mV/mT", Sensitivity, 60, 0},
		{"2.5 V/T", Sensitivity, 2.5, 0},
		{"66 mV/A", VoltagePerCurrent, 0.066, 0},
		{"27 mT/kA", FluxDensityPerCurrent, 27e-6, 0},
		{"3 mT/mm", FluxDensityPerLength, 3, 0},
		{"150 ppm/K", PerKelvin, 150e-6, 0},
		{"0.393 %/K", PerKelvin, 0.00393, 0},
		{"0.00393 1/K", PerKelvin, 0.00393, 0},
		{"0.05 mV/K", VoltagePerKelvin, 5e-5, 0},
		{"3 uT/K", FluxDensityPerKelvin, 3e-6, 0},
		{"40 nV/rtHz", VoltageNoiseDensity, 40e-9, 0},
		{"40 nV/√Hz", VoltageNoiseDensity, 40e-9, 0},
		{"120 nT/√Hz", FluxDensityNoiseDensity, 120e-9, 0},
		{"3 kW", Power, 3000, 0},
		{"5 A/mm2", CurrentDensity, 5e6, 0},
		{"5 A/mm²", CurrentDensity, 5e6, 0},
		{"10 V/us", VoltagePerTime, 1e7, 0},
		{"9 A/us", CurrentPerTime, 9e6, 0},
		{"1.72e-8 ohm m", Resistivity, 1.72e-8, 0},
		{"1.72 uΩ·cm", Resistivity, 1.72e-8, 0},
		{"0.0172 ohm*mm2/m", Resistivity, 1.72e-8, 0},
		// Shares: % is 0.01 and ppm 10⁻⁶: BIPM SI brochure, 9th ed., section 5.4.7.
		{"1 %", Ratio, 0.01, 0},
		{"3.35 %", Ratio, 0.0335, 0},
		{"150 ppm", Ratio, 150e-6, 0},
		// Points in degrees Celsius, differences in kelvin.
		{"90 °C", Temperature, 90, 0},
		{"90 degC", Temperature, 90, 0},
		{"-273.15 °C", Temperature, -273.15, 0},
		{"70 K", TemperatureDifference, 70, 0},
		{"70 \u212a", TemperatureDifference, 70, 0}, // kelvin sign
		{"20 mK", TemperatureDifference, 0.02, 0},
		// 1 T = 10 000 G: NIST SP 811 (2008), appendix B.8 (gauss, 1.0 E-04).
		{"10000 G", FluxDensity, 1, 0},
		{"50 G", FluxDensity, 5e-3, 0},
		{"500 mG", FluxDensity, 5e-5, 0},
		{"1.2 kG", FluxDensity, 0.12, 0},
		// 20 mV/G = 200 mV/mT, from 1 mT = 10 G (same row).
		{"20 mV/G", Sensitivity, 200, 0},
		// 1 in = 25.4 mm, 1 mil = 25.4 um: NIST SP 811, appendix B.8 (inch, mil; exact).
		{"1 in", Length, 0.0254, 0},
		{"0.1 in", Length, 0.00254, 0},
		{"1 mil", Length, 25.4e-6, 0},
		{"125 mil", Length, 3.175e-3, 0},
		// 1 Oe = 1000/(4π) A/m: NIST SP 811, appendix B.8 (oersted, 7.957 747 E+01).
		{"1 Oe", FieldStrength, 1000 / (4 * math.Pi), 1},
		{"2 kOe", FieldStrength, 2e6 / (4 * math.Pi), 1},
		// Angles: BIPM SI brochure, table 8, 1° = (π/180) rad.
		{"180 deg", Angle, math.Pi, 0},
		{"90 deg", Angle, math.Pi / 2, 0},
		{"-90 °", Angle, -math.Pi / 2, 0},
		{"45°", Angle, math.Pi / 4, 0},
		{"360 deg", Angle, 2 * math.Pi, 0},
		{"2 deg", Angle, math.Pi / 90, 1},
		{"20 mrad", Angle, 0.02, 0},
		// min = 60 s, h = 3600 s: BIPM SI brochure, table 8; hence 1 Ah = 3600 C.
		{"10 min", Time, 600, 0},
		{"10 h", Time, 36000, 0},
		{"100 Ah", Charge, 360e3, 0},
		{"0.5 mAh", Charge, 1.8, 0},
		{"2 A·h", Charge, 7200, 0},
		{"3 C", Charge, 3, 0},
		{"3 A s", Charge, 3, 0},
	} {
		got, err := Parse(tt.text, tt.d)
		if err != nil {
			t.Errorf("Parse(%q, %s): %v", tt.text, tt.d, err)
			continue
		}
		if diff := math.Abs(got - tt.want); diff > tt.ulps*math.Abs(tt.want)*0x1p-52 {
			t.Errorf("Parse(%q, %s) = %v, want %v", tt.text, tt.d, got, tt.want)
		}
	}
}

// The oersted in the six digits that NIST SP 811 (2008), appendix B.8 prints,
// so that a factor wrong in both code and table above is seen.
func TestOerstedAsPublished(t *testing.T) {
	got, err := Parse("1 Oe", FieldStrength)
	if err != nil || math.Abs(got-7.957747e1) > 0.0000005e1 {
		t.Errorf("1 Oe = %v A/m (%v), want 79.57747", got, err)
	}
}

func TestParseMinusZeroIsZero(t *testing.T) {
	got, err := Parse("-0 mm", Length)
	if err != nil || got != 0 || math.Signbit(got) {
		t.Errorf("-0 mm = %v, %v, want plain 0", got, err)
	}
}

// Decimal units must give the float64 nearest to the exact rational value.
func TestParseRoundsOnce(t *testing.T) {
	const seed = 20
	random := rand.New(rand.NewPCG(seed, seed))
	for range 2000 {
		number := strconv.Itoa(random.IntN(1e9)) + "." + strconv.Itoa(random.IntN(1e9))
		for _, u := range []struct {
			name  string
			d     Dimension
			scale string // exact rational
		}{
			{"mm", Length, "1/1000"}, {"um", Length, "1/1000000"}, {"in", Length, "254/10000"}, {"mil", Length, "254/10000000"},
			{"G", FluxDensity, "1/10000"}, {"mV/G", Sensitivity, "10"}, {"MS/m", Conductivity, "1000000"}, {"Ah", Charge, "3600"},
		} {
			exact, _ := new(big.Rat).SetString(number)
			scale, _ := new(big.Rat).SetString(u.scale)
			want, _ := exact.Mul(exact, scale).Float64()
			got, err := Parse(number+" "+u.name, u.d)
			if err != nil || got != want {
				t.Fatalf("seed %d: Parse(%q) = %v, %v, want %v", seed, number+" "+u.name, got, err, want)
			}
		}
	}
}

func TestParseRefuses(t *testing.T) {
	const lengths = "Write mm, cm, m, µm, in or mil"
	for _, tt := range []struct {
		text string
		d    Dimension
		want string
	}{
		{"3mm", Length, `"3mm" has no space before the unit. Write 3 mm`},
		{"-3.5e2mm", Length, `"-3.5e2mm" has no space before the unit. Write -3.5e2 mm`},
		{"3\u2009mm", Length, `"3\u2009mm" has no space before the unit. Write 3 mm`},
		{"45°C", Temperature, `"45°C" has no space before the unit. Write 45 °C`},
		{"20", Length, "20 has no unit. " + lengths},
		{"0", Length, "0 has no unit. " + lengths},
		{"20", Ratio, "20 has no unit. Write % or ppm"},
		{"20", Temperature, "20 has no unit. Write °C or degC"},
		{"20 mV", FluxDensity, "mV is a voltage, flux density wanted. Write mT, µT, T, G or mG"},
		{"20mV", FluxDensity, "mV is a voltage, flux density wanted. Write mT, µT, T, G or mG"},
		{"20 deg", Length, "deg is an angle, length wanted. " + lengths},
		{"20 mohm", VoltagePerCurrent, "mohm is a resistance, voltage per current wanted. Write mV/A, V/A or µV/A"},
		{"5 S", Conductivity, "S is a conductance, conductivity wanted. Write MS/m or S/m"},
		{"20 K", Temperature, "K is a difference of temperatures, a point is wanted. Write °C or degC: 0 °C is 273.15 K"},
		{"20 °C", TemperatureDifference, "°C is a point of temperature, a difference is wanted. Write K"},
		{"20 degC", TemperatureDifference, "degC is a point of temperature, a difference is wanted. Write K"},
		{"20 ppm/°C", PerKelvin, `"ppm/°C" is not a unit of share per kelvin. Write ppm/K, %/K or 1/K (a change per degree is written ppm/K)`},
		{"-273.16 °C", Temperature, "-273.16 °C is below absolute zero. Write -273.15 °C or more"},
		{"20 kg", Length, `"kg" is not a unit of length. ` + lengths},
		{"20 Mm", Length, `"Mm" is not a unit of length. ` + lengths + " (capitals matter: mm)"},
		{"20 ma", Current, `"ma" is not a unit of current. Write A, kA or mA (capitals matter: mA)`},
		{"20 Arms", Current, `"Arms" is not a unit of current. Write A, kA or mA (peak, rms or dc is said by the key, not by the unit)`},
		{"20 A rms", Current, `"A rms" is not a unit of current. Write A, kA or mA (peak, rms or dc is said by the key, not by the unit)`},
		{"9 mVpp", Voltage, `"mVpp" is not a unit of voltage. Write V, mV, kV or µV (peak, rms or dc is said by the key, not by the unit)`},
		{"20  mm", Length, `" mm" is not a unit of length. ` + lengths + " (one space only before the unit)"},
		{"20 mm ", Length, `"20 mm " has a space at an end. Write it without`},
		{" 20 mm", Length, `" 20 mm" has a space at an end. Write it without`},
		{"", Voltage, "the voltage is empty. Write a number and a unit, such as 3 V"},
		{" \t", Voltage, "the voltage is empty. Write a number and a unit, such as 3 V"},
		{"mm", Length, `"mm" does not start with a number. Write a length such as 3 mm`},
		{"mm 20", Length, `"mm" is not a number: write digits, such as 12.5`},
		{"1 000 mm", Length, `"1 000 mm" has a space between digits. Write them together`},
		{"5 1", Ratio, `"5 1" has a space between digits. Write them together`},
		{"010 mm", Length, "010 starts with a zero: write 10"},
		{"+3 mm", Length, `"+3" has a leading plus: write 3`},
		{"±3 mm", Length, `"±3" has a sign of both: write 3`},
		{"\u22125 mm", Length, `"\u22125" has a minus sign that is not the hyphen of the keyboard: write -5`},
		{"1,5 mm", Length, `"1,5" has a comma: write a decimal point, and no sign between thousands`},
		{"1,5mm", Length, `"1,5mm" has a comma: write a decimal point, and no sign between thousands`},
		{".5 mm", Length, `".5" has no digit before the point: write 0.5`},
		{"0x1F mm", Length, `"0x1F" is not a decimal number: write 31`},
		{".inf mm", Length, `".inf" is not a finite number: write digits, such as 12.5`},
		{"1e400 mm", Length, "1e400 mm is out of range: write a number below 1e308"},
		{"1e306 km", Length, "1e306 km is out of range: write a number below 1e308"}, // 1e309 m
		{"1.7e308 h", Time, "1.7e308 h is out of range: write a number below 1e308"},
		{"1e-400 mm", Length, "1e-400 mm is out of range: write 0 or a number above 1e-308"},
		// Hostile text: escaped, cut, one line.
		{"20 \u043c\u043c", Length, `"\u043c\u043c" is not a unit of length. ` + lengths},
		{"20 mm\n::error::x", Length, `"mm\n::error::x" is not a unit of length. ` + lengths},
		{"20 m\x1b[31m", Length, `"m\x1b[31m" is not a unit of length. ` + lengths},
		{"20 mm\u202e", Length, `"mm\u202e" is not a unit of length. ` + lengths},
		{"20 mm\u2028", Length, `"20 mm\u2028" has a space at an end. Write it without`},
		{"20 \xff\xfe", Length, `"\xff\xfe" is not a unit of length. ` + lengths},
		{"20 \"mm\"", Length, `"\"mm\"" is not a unit of length. ` + lengths},
		{strings.Repeat("9", 101) + " mm", Length, `"` + strings.Repeat("9", 40) + `..." is too long for a quantity`},
		{"3 " + strings.Repeat("x", 90), Length, `"` + strings.Repeat("x", 40) + `..." is not a unit of length. ` + lengths},
		{"3 mm/mm/mm", Length, `"mm/mm/mm" is not a unit of length. ` + lengths},
		{"3 /", Length, `"/" is not a unit of length. ` + lengths},
	} {
		v, err := Parse(tt.text, tt.d)
		if err == nil {
			t.Errorf("Parse(%q, %s) = %v, want %q", tt.text, tt.d, v, tt.want)
		} else if err.Error() != tt.want {
			t.Errorf("Parse(%q, %s):\n got %s\nwant %s", tt.text, tt.d, err, tt.want)
		}
	}
}

// The ends of float64 are read, not refused with their neighbours.
func TestParseAtTheEndsOfTheRange(t *testing.T) {
	for text, want := range map[string]float64{"1e308 m": 1e308, "1e305 km": 1e308, "1e311 mm": 1e308, "-1e-300 mm": -1e-303, "0e999999999999 mm": 0} {
		if got, err := Parse(text, Length); err != nil || got != want {
			t.Errorf("Parse(%q) = %v, %v, want %v", text, got, err, want)
		}
	}
	if got, err := Parse("1e308 deg", Angle); err != nil || math.Abs(got/(math.Pi/180*1e308)-1) > 1e-15 {
		t.Errorf("1e308 deg = %v, %v: an angle in range is refused on the way", got, err)
	}
}

func TestParsePanicsOnNoDimension(t *testing.T) {
	for _, d := range []Dimension{0, endOfDimensions, force, 255} {
		func() {
			defer func() {
				if recover() != "si: unknown dimension" {
					t.Errorf("Parse under dimension %d did not panic with its constant", d)
				}
			}()
			_, _ = Parse("3 mm", d)
		}()
	}
}

func BenchmarkParse(b *testing.B) {
	for _, q := range []struct {
		text string
		d    Dimension
	}{{"20 mm", Length}, {"60 mV/mT", Sensitivity}, {"125 mil", Length}, {"120 nT/√Hz", FluxDensityNoiseDensity}} {
		b.Run(strings.NewReplacer(" ", "_", "/", "|").Replace(q.text), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Parse(q.text, q.d); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
