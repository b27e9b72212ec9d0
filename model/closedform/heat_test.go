package closedform

import (
	"math"
	"testing"
)

// The factor k, A√s/mm², of bare conductors from 30 °C: IEC 60364-5-54, annex A, table A.54.6
// (from memory), with its own constants: copper β = 234.5 °C, 3.45e-3 J/(K mm³), 17.241e-6 Ωmm;
// aluminium 228 °C, 2.5e-3 J/(K mm³), 28.264e-6 Ωmm.
func TestAdiabaticFactor(t *testing.T) {
	for _, c := range []struct {
		name                    string
		beta, heat, rho, toC, k float64
	}{
		{"copper, 150", 234.5, 3.45e6, 17.241e-9, 150, 138},
		{"copper, 200", 234.5, 3.45e6, 17.241e-9, 200, 159},
		{"copper, 500", 234.5, 3.45e6, 17.241e-9, 500, 228},
		{"aluminium, 150", 228, 2.5e6, 28.264e-9, 150, 91},
		{"aluminium, 200", 228, 2.5e6, 28.264e-9, 200, 105},
		{"aluminium, 300", 228, 2.5e6, 28.264e-9, 300, 125},
	} {
		k := 1e-6 * math.Sqrt(AdiabaticTimeS(1, 1/c.rho, 1/(c.beta+20), c.heat, 30, c.toC))
		if !(math.Abs(k-c.k) <= 0.6) {
			t.Errorf("%s: k = %.2f, want %g", c.name, k, c.k)
		}
	}
	limit := AdiabaticTimeS(1e8, 5.8e7, 0, 3.45e6, 90, 200)
	if near := AdiabaticTimeS(1e8, 5.8e7, 1e-9, 3.45e6, 90, 200); !(math.Abs(near/limit-1) < 1e-6) {
		t.Errorf("without a coefficient %g, with none to speak of %g", limit, near)
	}
	if AdiabaticTimeS(1e8, 5.8e7, 0.004, 3.45e6, 200, 200) != 0 ||
		!math.IsInf(AdiabaticTimeS(0, 5.8e7, 0.004, 3.45e6, 90, 200), 1) {
		t.Error("no time where it is hot already, all time without a current")
	}
}

// Simplified equations of McAdams for air near 20 to 100 °C: 1.42 (ΔT/L)^¼ upright, 1.32
// (ΔT/d)^¼ round, in W/(m²K) (Incropera and DeWitt print them; from memory): within some per cent of the
// full ones where they hold, 1e4 < Ra < 1e9; round bars as Churchill and Chu have them lose up to a fifth less.
func TestConvectionAgainstSimplified(t *testing.T) {
	for _, size := range []float64{0.02, 0.04, 0.1, 0.2} {
		for _, rise := range []float64{30, 50, 65} {
			simple := math.Pow(rise/size, 0.25)
			if r := UprightWPerM2K(size, rise, 40) / (1.42 * simple); !(r > 0.88 && r < 1.06) {
				t.Errorf("upright %g m, %g K: %.3f of the simplified", size, rise, r)
			}
			if r := RoundWPerM2K(size, rise, 40) / (1.32 * simple); !(r > 0.78 && r < 1.15) {
				t.Errorf("round %g m, %g K: %.3f of the simplified", size, rise, r)
			}
		}
	}
	// Worked example: an upright plate 0.305 m high at 90 °C in air at 20 °C, laminar: Nu from the formula by
	// hand. Film 328 K: k 28.4e-3, ν 18.7e-6, a 26.6e-6: Ra = 9.80665 x 70 x 0.305³ / (328.15 x 18.7e-6 x 26.6e-6) =
	// 1.19e8, Nu = 0.68 + 0.515 x 104.5 = 54.4, h = 5.07.
	if h := UprightWPerM2K(0.305, 70, 20); !(math.Abs(h-5.07) < 0.05) {
		t.Errorf("by hand 5.07, got %g", h)
	}
}

// A wide channel cools as an upright plate does, a narrow one as Ra'/24; the view of
// strips ends at 1 and 0.
func TestConvectionLimits(t *testing.T) {
	if r := ChannelWPerM2K(0.02, 0.1, 50, 40) / UprightWPerM2K(0.1, 50, 40); !(r > 0.85 && r < 1.25) {
		t.Errorf("wide channel: %.3f of the plate", r)
	}
	// Narrow: 16 times less per halving of the gap, over the gap itself 8 times.
	if r := ChannelWPerM2K(0.0005, 0.1, 50, 40) / ChannelWPerM2K(0.00025, 0.1, 50, 40); !(math.Abs(r-8) < 0.01) {
		t.Errorf("narrow channel: ratio %g", r)
	}
	if StripView(0, 1) != 1 || StripView(math.Inf(1), 1) != 0 || !(math.Abs(StripView(1, 1)-(math.Sqrt2-1)) < 1e-15) {
		t.Error("view of strips")
	}
	// A black surface at 100 °C among surroundings at 0 K would give 1.10 kW/m² (5.67e-8 x 373.15⁴ = 1099.4).
	if q := RadiantWPerM2(1, 373.15, -273.15); !(math.Abs(q-1099.4) < 0.1) {
		t.Errorf("black body: %g", q)
	}
}
