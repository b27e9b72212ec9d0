package insulation

import (
	"math"
	"strings"
	"testing"
)

// Table A.2 gives the factor with the normal air pressure beside it:
// 80 kPa / p reproduces the printed digits.
func TestAltitudeFactorFromPressure(t *testing.T) {
	for _, c := range block(t, reference(t, "altitude.yaml"), "rows:") {
		altitudeM, pressureKPa := number(t, c[0], 0), number(t, c[1], 0)
		digits := 2
		if !strings.Contains(c[2], ".") || len(c[2])-strings.Index(c[2], ".") == 2 {
			digits = 1
		}
		got, _, err := AltitudeFactor(altitudeM)
		if err != nil {
			t.Fatal(err)
		}
		half := 0.5 * math.Pow(10, -float64(digits)) // half of the last printed digit
		// 80/5.5 is 14.545 and printed as 14.5; the others round as printed.
		if want := 80 / pressureKPa; !(math.Abs(got-want) <= half) {
			t.Errorf("%v m: factor %v, 80 kPa/p = %v", altitudeM, got, want)
		}
	}
}

// standardPressure is the pressure in Pa of the ISO 2533:1975 standard
// atmosphere up to 11 km: p = 101325 (1 - 0.0065 h/288.15)^5.25588 (exponent
// from g, R and the lapse rate of that standard).
func standardPressure(altitudeM float64) float64 {
	return 101325 * math.Pow(1-0.0065*altitudeM/288.15, 5.25588)
}

func TestAltitudeFactorBetweenRows(t *testing.T) {
	// Published pressures of ISO 2533:1975, from memory: check of the formula.
	for _, r := range [][2]float64{{2000, 79495}, {5000, 54020}, {10000, 26436}} {
		if got := standardPressure(r[0]); !(math.Abs(got/r[1]-1) < 3e-4) {
			t.Fatalf("standard atmosphere at %v m: %v Pa, want %v", r[0], got, r[1])
		}
	}
	last := 0.0
	for altitudeM := 0.0; altitudeM <= 20000; altitudeM += 50 {
		got, _, err := AltitudeFactor(altitudeM)
		if err != nil {
			t.Fatal(err)
		}
		if got < last {
			t.Errorf("%v m: factor falls from %v to %v", altitudeM, last, got)
		}
		last = got
		if altitudeM <= 2000 && got != 1 {
			t.Errorf("%v m: factor %v, want 1", altitudeM, got)
		}
		if altitudeM < 2000 || altitudeM > 10000 {
			continue
		}
		// Chord and rounding of the table lie above the law by 1.4 % at most,
		// never below it; 1e-9 is round-off at 2000 m, where both are 1.
		law := standardPressure(2000) / standardPressure(altitudeM)
		if !(got >= law*(1-1e-9) && got <= law*1.015) {
			t.Errorf("%v m: factor %v, standard atmosphere %v", altitudeM, got, law)
		}
	}
}

func TestAltitudeFactorPlaces(t *testing.T) {
	for _, tc := range []struct {
		altitudeM, want float64
		mark            Confidence
	}{
		{-400, 1, 'A'},
		{2000, 1, 'A'},
		{2500, 1.07, 'A'},        // mean of 1.00 and 1.14
		{5000, 1.48, 'A'},        // row
		{12500, 4.845, 'B'},      // mean of 3.02 (A) and 6.67 (B)
		{15001, 6.671566, 'C'},   // 6.67 + 7.83/5000
		{20000, 14.5, 'C'},       // last row
		{3000 + 1e-7, 1.14, 'A'}, // rounding of a unit is the row itself
	} {
		got, mark, err := AltitudeFactor(tc.altitudeM)
		if err != nil || !(math.Abs(got-tc.want) < 1e-9) || mark != tc.mark {
			t.Errorf("%v m: %v %v %v, want %v %v", tc.altitudeM, got, mark, err, tc.want, tc.mark)
		}
	}
	for _, bad := range []float64{20001, 1e9, math.Inf(1), math.Inf(-1), math.NaN()} {
		got, _, err := AltitudeFactor(bad)
		if err == nil || !strings.Contains(err.Error(), "up to 20000 m") {
			t.Errorf("%v m: %v, error %v does not name the range", bad, got, err)
		}
	}
}
