package load

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"busgauss/model/channel"
)

// channels is a small sound layout with three sensors.
const channels = `layout: 1
bars:
  U: {section: {diameter: 8 mm}, at: [0 mm, 0 mm], metal: copper}
  V: {section: {diameter: 8 mm}, at: [40 mm, 0 mm], metal: copper}
  W: {section: {diameter: 8 mm}, at: [80 mm, 0 mm], metal: copper}
sensors:
  SU: {reads: U, at: [0 mm, 9 mm], axis: 180 deg, part: flat}
  SV: {reads: V, at: [40 mm, 9 mm], axis: 180 deg, part: flat}
  SW: {reads: W, at: [80 mm, 9 mm], axis: 180 deg, part: flat}
parts:
  flat: {linear-range: 30 mT, sensitivity: 60 mV/mT, output: {zero: 2.5 V, low: 0.4 V, high: 4.6 V}, bandwidth: 100 kHz}
surroundings: {return: far}
`

// A channel's keys with one slip each: one finding, at its line and column. The text
// is put below the layout, whose last line is 12.
func TestBadChannel(t *testing.T) {
	for _, c := range []struct{ name, add, want string }{
		{"unknown tap", "needs: {SU: {trip: {current: 300 A, within: 9 us, by: converter}}}",
			`13:55 value-form: by of trip of need of "SU" must be number, output or filter, not the text "converter"`},
		{"tap without trip", "needs: {SU: {trip: {by: output, current: 300 A}}}",
			`13:14 key-missing: trip of need of "SU" needs "within"`},
		{"switching", "needs: {SU: {trip: {current: 300 A, within: 9 us, switching: -1 us}}}",
			`13:62 value-range: switching of trip of need of "SU" is -1 us: it must be 0 or more`},
		{"supply", "needs: {SU: {trip: {current: 300 A, within: 9 us, supply: 0 V}}}",
			`13:59 value-range: supply of trip of need of "SU" is 0 V: it must be more than 0`},
		{"inductance", "needs: {SU: {trip: {current: 300 A, within: 9 us, inductance: 50 uA}}}",
			`13:63 value-quantity: inductance of trip of need of "SU": uA is a current, inductance wanted. Write µH, nH or mH`},
		{"lag without frequency", "needs: {all: {lag: {angle: 2 deg}}}",
			`13:15 key-missing: lag of need of "all" needs "at"`},
		{"lag ahead", "needs: {all: {lag: {angle: -2 deg, at: 400 Hz}}}",
			`13:28 value-range: angle of lag of need of "all" is -2 deg: it must be more than 0`},
		{"lag at nothing", "needs: {all: {lag: {angle: 2 deg, at: 0 Hz}}}",
			`13:39 value-range: at of lag of need of "all" is 0 Hz: it must be more than 0. Fields are computed up to 1 MHz`},
		{"empty battery", "needs: {SU: {battery: {charge: 0 Ah}}}",
			`13:32 value-range: charge of battery of need of "SU" is 0 Ah: it must be more than 0`},
		{"charge in amperes", "needs: {SU: {battery: {charge: 100 A}}}",
			`13:32 value-quantity: charge of battery of need of "SU": A is a current, charge wanted. Write Ah, mAh or C`},
		{"drift without a charge", "needs: {SU: {battery: {per-day: 1 %}}}",
			`13:14 key-missing: battery of need of "SU" needs "charge"`},
		{"place without an amplifier", "readout: {divider: {top: 1 kohm, bottom: 1 kohm, place: before-amplifier}}",
			`13:50 value-form: place of divider of readout is a place beside an amplifier, and there is none. Leave it out, or add an amplifier`},
		{"place of a channel without an amplifier", "readout: {channels: {SU: {divider: {top: 1 kohm, bottom: 1 kohm, place: after-amplifier}}, SV: {amplifier: {gain: 2}}}}",
			`13:66 value-form: place of divider of readout of channel "SU" is a place beside an amplifier, and there is none. Leave it out, or add an amplifier`},
		{"unknown place", "readout: {amplifier: {gain: 2}, divider: {top: 1 kohm, bottom: 1 kohm, place: before}}",
			`13:79 value-form: place of divider of readout must be after-amplifier or before-amplifier, not the text "before"`},
		{"swing upside down", "readout: {amplifier: {gain: 2, low: 3 V, high: 1 V}}",
			`13:48 value-range: high of amplifier of readout is 1 V: it must be more than low, 3 V`},
		{"offset", "readout: {amplifier: {gain: 2, offset: -1 mV}}",
			`13:40 value-range: offset of amplifier of readout is -1 mV: it must be 0 or more`},
		{"noise in volts", "readout: {amplifier: {gain: 2, noise: 12 nV}}",
			`13:39 value-quantity: noise of amplifier of readout: nV is a voltage, voltage noise density wanted. Write nV/√Hz or µV/√Hz`},
		{"shape", "readout: {filter: {corner: 9 kHz, order: 2, shape: bessel}}",
			`13:52 value-form: shape of filter of readout must be butterworth or equal-poles, not the text "bessel"`},
		{"tolerance of the whole", "readout: {filter: {corner: 9 kHz, tolerance: 1}}",
			`13:46 value-range: tolerance of filter of readout is 1: it must be from 0 to below 1. 1 is the whole; one per cent is 1 % or 0.01`},
		{"two references", "readout: {converter: {high: 5 V, bits: 12, ratiometric: true, tolerance: 1 %}}",
			`13:63 value-form: tolerance of converter of readout is that of a reference of its own. Ratiometric says that there is none: give supply-tolerance of the part's output`},
		{"noise of a converter", "readout: {converter: {high: 5 V, bits: 12, noise: 1 mV}}",
			`13:51 value-form: noise of converter of readout must be a number without unit or quotes, not the text "1 mV"`},
		{"shift without carrier", "readout: {sampling: {rate: 9 kHz, shift: 1 us}}",
			`13:35 value-form: shift of sampling of readout is counted from a carrier, and there is none. Give a carrier`},
		{"number before its window ends", "readout: {sampling: {rate: 9 kHz, delay: 4 us, aperture: 10 us}}",
			`13:35 value-range: delay of sampling of readout runs from the middle of the window, which lasts 10.0 µs. It is no less than half of that, 5.00 µs`},
		{"hold", "readout: {sampling: {rate: 9 kHz, hold: 1}}",
			`13:41 value-form: hold of sampling of readout must be true or false, not the number 1`},
		{"zeroing without a window", "readout: {zeroing: {current: 1 A}}",
			`13:11 key-missing: zeroing of readout needs "window"`},
		{"readout of an unknown sensor", "readout: {channels: {S: {converter: {bits: 12}}}}",
			`13:22 id-unknown: a readout names no sensor: "S". There are "SU", "SV", "SW"`},
		{"readout of all", "readout: {channels: {all: {converter: {bits: 12}}}}",
			`13:22 id-unknown: a readout names no sensor: "all". There are "SU", "SV", "SW"`},
		{"channels in a channel", "readout: {channels: {SU: {channels: {}}}}",
			`13:27 key-unknown: unknown key "channels" in readout/channels/SU. Known keys: amplifier, converter, divider, filter, firmware, number, sampling, zeroing`},
		{"a slip in a channel", "readout: {channels: {SU: {divider: {top: 1 kohm, bottom: 1 kohm, tolerence: 1 %}}}}",
			`13:66 key-unknown: unknown key "tolerence" in readout/channels/SU/divider. Did you mean "tolerance"? Known keys: bottom, foot, place, tolerance, top`},
		{"channels that are a list", "readout: {channels: [SU]}",
			`13:21 value-form: channels of readout must be a mapping, not a list`},
		{"sum of two", "phase-sums: [{channels: [SU, SV]}]",
			`13:25 value-form: channels of phase-sum 1 must be three sensors [a, b, c], not a list of 2`},
		{"sum of two, one derived", "phase-sums: [{channels: [SU, SV], measured: two}]",
			`13:25 value-form: channels of phase-sum 1 must be three sensors [a, b, c], not a list of 2`},
		{"sum of four", "phase-sums: [{channels: [SU, SV, SW, SU]}]",
			`13:25 value-form: channels of phase-sum 1 must be three sensors [a, b, c], not a list of 4`},
		{"a channel twice", "phase-sums: [{channels: [SU, SV, SU]}]",
			`13:34 value-form: item 3 of channels of phase-sum 1 is sensor "SU" again. Each channel stands once`},
		{"a bar that is measured", "phase-sums: [{channels: [SU, SV, W]}]",
			`13:34 id-unknown: item 3 of channels of phase-sum 1 names no sensor: "W". There are "SU", "SV", "SW". "W" is a bar`},
		{"sum of nothing", "phase-sums: [{threshold: 3 A}]",
			`13:14 key-missing: phase-sum 1 needs "channels"`},
		{"measured", "phase-sums: [{channels: [SU, SV, SW], measured: 2}]",
			`13:49 value-form: measured of phase-sum 1 must be three or two, not the number 2`},
		{"sums that are a mapping", "phase-sums: {channels: [SU, SV, SW]}",
			`13:13 value-form: phase-sums must be a list, not a mapping`},
		{"calibration of an unknown channel", "calibration: {SX: {kind: zero}}",
			`13:15 id-unknown: a calibration names no sensor: "SX". There are "SU", "SV", "SW"`},
		{"kind of calibration", "calibration: {all: {kind: one point}}",
			`13:27 value-form: kind of calibration of "all" must be none, zero, one-point, two-point or matrix, not the text "one point". Did you mean "one-point"?`},
		{"current of a zero", "calibration: {all: {kind: zero, current: 9 A}}",
			`13:33 value-form: current of calibration of "all" belongs to a calibration with a current, and the kind is zero`},
		{"half a turn", "calibration: {all: {kind: one-point, turns: 0.5}}",
			`13:45 value-range: turns of calibration of "all" is 0.5: it must be from 1 to 1000`},
		{"a turn and a half", "calibration: {all: {kind: one-point, turns: 1.5}}",
			`13:45 value-range: turns of calibration of "all" is 1.5: it must be a whole number`},
		{"pitch of a bundle", "calibration: {all: {kind: one-point, conductor: bundle, turns: 9, pitch: 2 mm}}",
			`13:67 value-form: pitch of calibration of "all" is that of a ribbon, and the conductor is bundle`},
		{"pitch of nothing", "calibration: {all: {kind: one-point, turns: 9, pitch: 2 mm}}",
			`13:48 value-form: pitch of calibration of "all" is that of a ribbon. Give conductor: ribbon`},
		{"calibration in kelvin", "calibration: {all: {kind: zero, temperature: 300 K}}",
			`13:46 value-quantity: temperature of calibration of "all": K is a difference of temperatures, a point is wanted. Write °C or degC: 0 °C is 273.15 K`},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, problems := Load("bad.yaml", []byte(channels+c.add+"\n"))
			got := lines(problems)
			if l != nil || !slices.Equal(got, []string{c.want}) {
				t.Errorf("layout %v\ngot  %s\nwant %s", l != nil, strings.Join(got, "\n     "), c.want)
			}
		})
	}
}

func TestBadPartOfChannel(t *testing.T) {
	for _, c := range []struct{ name, old, new, want string }{
		{"life", "bandwidth: 100 kHz", "offset: {life: -1 mV}",
			`11:117 value-range: life of offset of part "flat" is -1 mV: it must be 0 or more`},
		{"shape", "bandwidth: 100 kHz", "bandwidth: {corner: 9 kHz, shape: equal}",
			`11:136 value-form: shape of bandwidth of part "flat" must be butterworth or equal-poles, not the text "equal"`},
	} {
		l, problems := Load("bad.yaml", []byte(strings.Replace(channels, c.old, c.new, 1)))
		if got := lines(problems); l != nil || !slices.Equal(got, []string{c.want}) {
			t.Errorf("%s: layout %v\ngot  %s\nwant %s", c.name, l != nil, strings.Join(got, "\n     "), c.want)
		}
	}
}

// A finding below readout/channels, phase-sums and calibration names the channel,
// or nothing.
func TestObjectOfChannel(t *testing.T) {
	for _, c := range []struct{ add, want string }{
		{"readout: {channels: {SU: {colour: 1}}}", "SU"},
		{"readout: {channels: {SU: {divider: {top: 1 kohm, bottom: 1 kohm, colour: 1}}}}", "SU"},
		{"readout: {colour: 1}", ""},
		{"phase-sums: [{channels: [SU, SV, SW], colour: 1}]", ""},
		{"calibration: {SU: {colour: 1}}", "SU"},
	} {
		_, problems := Load("bad.yaml", []byte(channels+c.add+"\n"))
		if len(problems) != 1 || problems[0].Object != c.want {
			t.Errorf("%s: %+v", c.add, problems)
		}
	}
}

func assumedLines(t *testing.T, text string) []string {
	t.Helper()
	var out []string
	for _, a := range channel.Assumed(mustLoad(t, "channels.yaml", []byte(text))) {
		if a.Span.Start.Line != 12 && !strings.Contains(a.Text, "is long") && !strings.Contains(a.Text, "exactly where") && !strings.Contains(a.Text, "is at 20") {
			out = append(out, fmt.Sprintf("%d:%d %s: %s", a.Span.Start.Line, a.Span.Start.Column, a.Object, a.Text))
		}
	}
	return out
}

// What a channel takes for granted is listed once, where it could be added, and
// only when there is a channel.
func TestAssumedOfChannel(t *testing.T) {
	order := `11:102 flat: bandwidth of part "flat" is that of a low-pass of order 1`
	for _, c := range []struct {
		name, add string
		want      []string
	}{
		{"no channel", "needs: {SU: {trip: {current: 300 A, within: 9 us}}}\n", []string{order}},
		{"one stage of one channel", "readout: {channels: {SV: {converter: {low: -1 V, high: 1 V, bits: 12}}}}\ncalibration: {SV: {kind: matrix, temperature: 40 degC}, SU: {}}\n", []string{
			`11:3 flat: there is no offset (parts.flat.offset.initial)`,
			`11:3 flat: zero and sensitivity do not follow the supply (parts.flat.output.ratiometric)`,
			`11:44 flat: sensitivity is exact (parts.flat.sensitivity.tolerance)`,
			order,
			`13:22 : the number holds every current (readout.number)`,
			`13:27 SV: the reference of the converter is exact (readout.channels.SV.converter.tolerance)`,
			`13:27 SV: the converter adds no noise beside its step (readout.channels.SV.converter.noise)`,
			`13:27 SV: the code of the converter is signed (readout.channels.SV.converter.code)`,
			`13:27 SV: the converter reads against 0 V (readout.channels.SV.converter.minus)`,
			`14:15 SV: the current of the calibration flowed in the bar (calibration.SV.conductor)`,
			`14:15 SV: the channel is calibrated with direct current (calibration.SV.frequency)`,
		}},
		{"three channels alike", "readout: {sampling: {rate: 9 kHz, carrier: 9 kHz}, filter: {corner: 9 kHz, order: 2}, zeroing: {window: 1 A}}\n" +
			"needs: {SU: {trip: {current: 300 A, within: 9 us}}}\nphase-sums: [{channels: [SU, SV, SW]}]\n", []string{
			`1:1 : channels are not calibrated (calibration)`,
			`1:1 : sensitivity and zero are those at 25 °C (calibration.all.temperature)`,
			`11:3 flat: there is no offset (parts.flat.offset.initial)`,
			`11:3 flat: zero and sensitivity do not follow the supply (parts.flat.output.ratiometric)`,
			`11:44 flat: sensitivity is exact (parts.flat.sensitivity.tolerance)`,
			order,
			`13:1 : the number holds every current (readout.number)`,
			`13:11 : the number stands still between samples (readout.sampling.hold)`,
			`13:11 : the converter samples a moment (readout.sampling.aperture)`,
			`13:11 : the converter samples in the middle of a slope of the ripple (readout.sampling.shift)`,
			`13:52 : the low-pass is a Butterworth one (readout.filter.shape)`,
			`13:52 : the corner of the filter is exact (readout.filter.tolerance)`,
			`13:87 : no current flows while zero is taken (readout.zeroing.current)`,
			`13:87 : the mean that is taken for zero has no noise (readout.zeroing.noise)`,
			`14:14 SU: the threshold of the trip compares numbers (needs.SU.trip.by)`,
			`15:14 : all three channels of phase-sum 1 are measured`,
		}},
	} {
		got := assumedLines(t, channels+c.add)
		if !slices.Equal(got, c.want) {
			t.Errorf("%s:\ngot\n%s\nwant\n%s", c.name, strings.Join(got, "\n"), strings.Join(c.want, "\n"))
		}
	}
}
