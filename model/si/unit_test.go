package si

import (
	"slices"
	"strings"
	"testing"
)

// Every unit named for one dimension must be refused by each other one, and
// the message must name units that would do.
func TestNoUnitServesTwoDimensions(t *testing.T) {
	pairs := 0
	for have := Length; have < endOfDimensions; have++ {
		for _, u := range have.Units() {
			for want := Length; want < endOfDimensions; want++ {
				v, err := Parse("3 "+u, want)
				switch {
				case have == want && err != nil:
					t.Errorf("%s: its own unit is refused: %v", have, err)
				case have != want && err == nil:
					t.Errorf("3 %s, a %s, is taken as %s %v", u, have, want, v)
				case have != want && !strings.Contains(err.Error(), want.Units()[0]):
					t.Errorf("3 %s as %s: %q does not name %s", u, want, err, want.Units()[0])
				}
				pairs++
			}
		}
	}
	if pairs < 2000 {
		t.Errorf("only %d pairs were tried", pairs)
	}
}

// The look-alikes of a current-sensing layout, written out by hand.
func TestLookAlikesStayApart(t *testing.T) {
	of := map[string]Dimension{
		"mA": Current, "mV": Voltage, "mT": FluxDensity, "mG": FluxDensity, "mm": Length, "m": Length, "min": Time, "ms": Time,
		"mH": Inductance, "mW": Power, "MHz": Frequency, "mohm": Resistance, "A/m": FieldStrength, "A/m2": CurrentDensity,
		"mC": Charge, "mAh": Charge, "h": Time, "H": Inductance, "K": TemperatureDifference, "C": Charge, "°C": Temperature, "°": Angle,
		"F": Capacitance, "mV/mT": Sensitivity, "mV/mA": VoltagePerCurrent, "mT/mA": FluxDensityPerCurrent, "mV/K": VoltagePerKelvin,
		"T/m": FluxDensityPerLength, "mV/ms": VoltagePerTime, "%": Ratio, "%/K": PerKelvin, "in": Length, "mil": Length, "S/m": Conductivity,
		"ohm m": Resistivity, "ohm/m": ResistancePerLength, "Oe": FieldStrength, "G": FluxDensity,
	}
	for text, d := range of {
		for want := Length; want < endOfDimensions; want++ {
			if _, err := Parse("3 "+text, want); (err == nil) != (d == want) {
				t.Errorf("3 %s as %s: %v", text, want, err)
			}
		}
	}
}

// A prefix and a symbol together must never spell another unit.
func TestPrefixedUnitsAreUnambiguous(t *testing.T) {
	seen := map[string]string{}
	for _, b := range bases {
		for _, prefix := range append([]string{""}, strings.Split(b.prefixes, "")...) {
			if prefix == "" && b.prefixes == "" && seen[b.symbol] == b.symbol {
				continue
			}
			name := prefix + b.symbol
			if other, ok := seen[name]; ok && other != b.symbol {
				t.Errorf("%s is read from both %s and %s", name, other, b.symbol)
			}
			seen[name] = b.symbol
			if prefix != "" && prefixExp10(prefix[0]) == 0 {
				t.Errorf("%s takes the unknown prefix %s", b.symbol, prefix)
			}
		}
	}
	if len(seen) < 100 {
		t.Errorf("only %d units were tried", len(seen))
	}
}

func TestDimensionWords(t *testing.T) {
	names := map[string]bool{}
	for d := Length; d < endOfKinds; d++ {
		if d == endOfDimensions {
			continue
		}
		if names[d.String()] || d.String() == "" || d.Symbol() == "" {
			t.Errorf("dimension %d: name %q (used before: %v), symbol %q", d, d, names[d.String()], d.Symbol())
		}
		names[d.String()] = true
	}
	for d := Length; d < endOfDimensions; d++ {
		if len(d.Units()) < 2 {
			t.Errorf("%s names only the units %q", d, d.Units())
		}
		if d == Ratio {
			continue // its SI unit is the number one, which has no spelling in a layout
		}
		if v, err := Parse("3 "+d.Symbol(), d); err != nil || v != 3 {
			t.Errorf("3 %s as %s = %v, %v: the symbol must be the unit of the numbers", d.Symbol(), d, v, err)
		}
	}
	for _, d := range []Dimension{0, endOfKinds, 255} {
		if d.String() != "no dimension" || d.Symbol() != "" || d.Units() != nil {
			t.Errorf("dimension %d pretends to be %q", d, d)
		}
	}
	if got, want := Length.Units(), []string{"mm", "cm", "m", "µm", "in", "mil"}; !slices.Equal(got, want) {
		t.Errorf("units of length %q, want %q", got, want)
	}
	if got, want := Resistivity.Units(), []string{"Ω m", "µΩ cm", "Ω mm²/m"}; !slices.Equal(got, want) {
		t.Errorf("units of resistivity %q, want %q", got, want)
	}
	units := Length.Units()
	units[0] = "changed"
	if Length.Units()[0] != "mm" {
		t.Error("a caller's slice reaches the next caller")
	}
}
