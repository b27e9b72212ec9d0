package quantity_test

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/probe"
)

// twoBars are long bars, each with a sensor above it.
const twoBars = `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper, temperature: 20 °C, length: 20 m}
  B: {section: {diameter: 8 mm}, at: [40 mm, 0 mm], metal: copper, temperature: 20 °C}
sensors:
  SA: {reads: A, at: [0 mm, 6 mm], axis: 180 deg, part: plover, placement: {x: 0.2 mm, y: 0 mm, tilt: 0 deg}}
  SB: {reads: B, at: [40 mm, 9 mm], axis: 180 deg, part: plover}
  below: {reads: A, at: [0 mm, -6 mm], axis: 0 deg}
parts:
  plover: {linear-range: 20 mT, sensitivity: 100 mV/mT, output: {zero: 2.5 V, low: 0.5 V, high: 4.5 V}}
duties:
  run: {kind: continuous, frequency: 50 Hz, currents: {A: {rms: 100 A, phase: 0 deg}, B: {rms: 60 A, phase: 180 deg}}, ripple: {frequency: 8 kHz, peak: 5 A, bars: [A]}}
  lift: {kind: peak, currents: {A: {dc: 300 A}, B: {dc: -300 A}}}
surroundings: {return: far}
`

// ownTPerA is the closed form over the section, without the loader or the model:
// a rectangle 20 mm by 4 mm, 6 mm over its middle (see closedform.RectangleB for
// its source).
func ownTPerA() float64 {
	return closedform.RectangleB(geom.Point{Y: 6e-3}, 20e-3, 4e-3, 1).Norm()
}

func TestByHand(t *testing.T) {
	f := facts(loaded(t, twoBars))
	own, root2 := ownTPerA(), math.Sqrt2
	filament := func(r float64) float64 { return 2e-7 / r } // μ0 I/(2π r), exact outside a round bar
	// The field of A at SB, 40 mm aside and 9 mm up, and its part on the axis; that
	// of B at SA, of a filament at 40 mm and 6 mm, likewise.
	aAtB := math.Abs(closedform.RectangleB(geom.Point{X: 40e-3, Y: 9e-3}, 20e-3, 4e-3, 1).X)
	bAtA := filament(math.Hypot(40e-3, 6e-3)) * 6e-3 / math.Hypot(40e-3, 6e-3)
	skin := math.Sqrt(1 / (math.Pi * 50 * 4e-7 * math.Pi * 57.42e6)) // √(1/(π f μ σ)); bus bar copper, 1.7241 µΩcm over 0.99 (IEC 60028)
	for what, want := range map[string]float64{
		"channel SA distance":                4e-3,
		"channel SA neighbour_distance":      math.Hypot(40e-3, 6e-3) - 4e-3,
		"channel SA channel_distance":        12e-3, // to the one below
		"channel SA current_continuous":      100*root2 + 5,
		"channel SA current_peak":            300,
		"channel SA current_fault":           0,
		"channel SA full_scale":              300,
		"channel SA coupling":                own,
		"channel SB coupling":                filament(9e-3),
		"channel SA own_field_continuous":    own * (100*root2 + 5),
		"channel SA own_field_peak":          own * 300,
		"channel SA field_peak":              (own - bAtA) * 300,
		"channel SB field_peak":              (filament(9e-3) - aAtB) * 300,
		"channel SB linear_range_share_peak": ((filament(9e-3)-aAtB)*300 + probe.EarthT) / 20e-3,
		"channel SA range_use":               own * (100*root2 + 5) / 20e-3,
		"channel SA axis_share":              1,
		"channel SA axis_angle":              0,
		"channel SA tenth_mm_change":         1 - closedform.RectangleB(geom.Point{Y: 6.1e-3}, 20e-3, 4e-3, 1).Norm()/own,
		"channel SB tenth_mm_change":         1 - 9/9.1,
		"channel SA crosstalk":               bAtA / own,
		"channel SB crosstalk":               aAtB / filament(9e-3),
		"channel SA crosstalk_given":         aAtB / filament(9e-3),
		"channel SA stray_ratio_peak":        bAtA / own,
		"channel SA stray_current_peak":      300 * bAtA / own,
		"channel SA earth_share":             65e-6 / own / 300,
		"channel SA ambient_share":           65e-6 / own / 300,
		"channel SA ambient_current":         65e-6 / own,
		"channel SA frequency":               50,
		"channel SA linearity":               0,
		"channel SA output_per_ampere":       100 * own, // 100 mV/mT is 100 V/T
		"channel SA output_swing":            100 * own * (100*root2 + 5 + 300),
		"channel SA twin_difference":         0,
		"channel SA twin_common_current":     2 * 65e-6 / own, // a uniform field along x adds to one and takes from the other
		"bar A area":                         80e-6,
		"bar B area":                         math.Pi * 16e-6,
		"bar A least_size":                   4e-3,
		"bar B least_size":                   8e-3,
		"bar A temperature":                  20,
		"bar A length":                       20,
		"bar A cuts":                         0,
		"bar A channels":                     2,
		"bar A bar_distance":                 26e-3,
		"bar A current_continuous":           100*root2 + 5,
		"bar A current_fault":                0,
		"bar A rms_current_continuous":       math.Sqrt(100*100 + 12.5), // the ripple's rms is 5/√2
		"bar A rms_current_peak":             300,
		"bar A current_density_peak":         300 / 80e-6,
		"bar A current_density_continuous":   math.Sqrt(100*100+12.5) / 80e-6,
		"bar A frequency":                    50,
		"bar A skin_ratio":                   4e-3 / skin,
		"bar B skin_ratio":                   8e-3 / skin,
		"duty run frequency":                 50,
		"duty run bars":                      2,
		"duty run harmonics":                 0,
		"duty run ripple_frequency":          8000,
		"duty run ripple_current":            5,
		"duty lift ripple_current":           0,
		"duty run current":                   100*root2 + 5,
		"duty lift residue":                  0,
		"duty run residue":                   1, // the ripple of A does not come back
		"duty lift stray_ratio":              aAtB / filament(9e-3),
	} {
		// The closed forms hold to rounding; a bar of 20 m reads less than a long one
		// by about (40 mm/10 m)²/2, 1e-5.
		near(t, f, what, want, 3e-5)
	}
	for what, want := range map[string]string{
		"channel SA reads": "A", "channel SA part": "plover", "channel below part": "", "channel SA calibration": "none",
		"channel SA crosstalk_bar": "B", "channel SA twin": "below", "channel SB twin": "", "channel SB nearest_channel": "SA",
		"bar A metal": "copper", "bar A section": "rectangle", "bar B section": "round", "bar A nearest_bar": "B",
		"duty run kind": "continuous", "duty lift stray_channel": "SB",
	} {
		if v := value(f, what); !v.Known || v.Text != want {
			t.Errorf("%s: %+v, want %q", what, v, want)
		}
	}
	for what, want := range map[string]bool{
		"channel SA is_pair": false, "channel SA has_placement": true, "channel SB has_placement": false,
		"channel SA has_readout": false, "channel SA has_iron": false, "duty run is_three_phase": false,
	} {
		if v := value(f, what); !v.Known || v.Flag != want {
			t.Errorf("%s: %+v, want %v", what, v, want)
		}
	}
	// Whatever is not known says why, and is no number.
	for what, want := range map[string]string{
		"channel SA stray_ratio_fault":          "no fault duty gives it a current",
		"channel SA own_field_fault":            "the layout has no fault duty",
		"channel below linear_range_share":      "it has no linear range",
		"channel SB placement_change":           "it declares no placement tolerances",
		"channel SA lag":                        "add a readout",
		"channel SA accuracy":                   "add readout",
		"channel SA trip_time":                  "no trip is asked of it",
		"channel SB twin_difference":            "no other channel reads its current",
		"bar B length":                          "neither length nor run",
		"bar B loss":                            "neither length nor run",
		"duty lift ripple_frequency":            "no ripple",
		"duty run false_sum":                    "no balanced set",
		"duty run linear_range_share":           `sensor "below": it has no linear range`,
		"channel below output_per_ampere":       "part",
		"channel below linear_range_share_peak": "it has no linear range",
	} {
		if v := value(f, what); v.Known || !strings.Contains(v.Why, want) || !math.IsNaN(v.Value) {
			t.Errorf("%s: %+v, want %q", what, v, want)
		}
	}
	// From nothing to the element's own distance, where no body is declared.
	if v := value(f, "channel SA air_gap"); !v.Known || v.Low != 0 || math.Abs(v.High-4e-3) > 1e-9 {
		t.Errorf("air gap without a body: %+v", v)
	}
	body := facts(loaded(t, strings.Replace(twoBars, "  plover: {", "  plover: {body: {width: 5 mm, height: 3 mm, element-height: 1 mm}, ", 1)))
	near(t, body, "channel SA air_gap", 3e-3, 1e-9)
}

// An axis that leans by 10 degrees reads the cosine; the bounds of the angle are
// those of the share, turned round.
func TestAxisAngle(t *testing.T) {
	f := facts(loaded(t, strings.Replace(twoBars, "at: [0 mm, 6 mm], axis: 180 deg", "at: [0 mm, 6 mm], axis: 170 deg", 1)))
	near(t, f, "channel SA axis_share", math.Cos(math.Pi/18), 1e-6)
	near(t, f, "channel SA axis_angle", math.Pi/18, 1e-6)
	share, angle := value(f, "channel SA axis_share"), value(f, "channel SA axis_angle")
	if math.Abs(math.Cos(angle.Low)-share.High) > 1e-12 || math.Abs(math.Cos(angle.High)-share.Low) > 1e-12 {
		t.Errorf("%+v of %+v", angle, share)
	}
}

// The chain of the ferry's battery drive, from the data in its file: 120 V/T, a
// divider of 0.6, 14 bits of 3 V, filters of 120 kHz and 20 kHz less 5 %, samples at
// 64 kHz that are held, a window of 0.5 us.
func TestChainByHand(t *testing.T) {
	f := facts(fixture(t, "clean/ferry-channel.yaml"))
	perA := value(f, "channel SU coupling").Value
	step := 3.0 / (1 << 14) / (120 * 0.6 * perA)
	near(t, f, "channel SU output_per_ampere", 120*perA, 1e-9)
	near(t, f, "channel SU output_swing", 120*perA*2*650, 1e-9) // the claimed range both ways
	near(t, f, "channel SU step", step, 1e-9)
	near(t, f, "channel SU firmware_error", math.Abs(0.1412/step-1), 1e-6)
	// White noise of 3 uV/rtHz behind two low-passes of order one, (π/2) f1 f2/(f1+f2)
	// wide, the steps of converter and number over √12; the filter at its upper end.
	part := 3e-6 * math.Sqrt(math.Pi/2*120e3*21e3/141e3) / (120 * perA)
	near(t, f, "channel SU noise", math.Hypot(part, math.Hypot(step, 50e-3)/math.Sqrt(12)), 1e-4)
	near(t, f, "channel SU resolution", 6*part+step, 1e-4)
	sinc := func(x float64) float64 { return math.Sin(math.Pi*x) / (math.Pi * x) }
	amplitude := func(hz float64) float64 {
		return sinc(hz/64e3) * sinc(hz*0.5e-6) / math.Hypot(1, hz/120e3) / math.Hypot(1, hz/19e3)
	}
	if got := amplitude(value(f, "channel SU bandwidth").Value); math.Abs(got-math.Sqrt(0.5)) > 1e-6 {
		t.Errorf("at its bandwidth the channel passes %g", got)
	}
	field := value(f, "channel SU field_change").Value // what eddy currents of the bar take, see package strips
	near(t, f, "channel SU amplitude_change", 1-amplitude(25)*(1-field), 1e-4)
	near(t, f, "channel SU trip_current", 620, 0)
	// 1/(2π 120 kHz), 2 us of the part and 2 us of switching; 700 V on 100 uH.
	trip := 1/(2*math.Pi*120e3) + 4e-6
	near(t, f, "channel SU trip_time", trip, 1e-9)
	near(t, f, "channel SU trip_overshoot", 7e6*trip, 1e-9)
	// Life 0.5 %, 60 K of 60 ppm/K and the reference's 0.1 %, all rectangular, k = 2;
	// the calibration adds a little, and so does the doubt of the gain at 25 Hz.
	least := 2 / math.Sqrt(3) * math.Sqrt(0.005*0.005+0.0036*0.0036+0.001*0.001)
	if v := value(f, "channel SU gain_error"); !(v.Low >= least && v.High <= 1.15*least) {
		t.Errorf("gain error %+v, want a little over %g", v, least)
	}
	// I²ρl/A at 80 °C: 1.7241 µΩcm over 0.99, 0.389 %/K.
	thruster := facts(fixture(t, "clean/ferry-thruster.yaml"))
	near(t, thruster, "bar U loss", 220*220*1.7241e-8/0.99*(1+60*0.00389)*0.4/75e-6, 2e-3)
}
