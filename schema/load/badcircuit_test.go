package load

import (
	"strings"
	"testing"
)

// joined is a small sound layout with circuits.
const joined = `layout: 1
bars:
  A: {section: {diameter: 8 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {diameter: 8 mm}, at: [20 mm, 0 mm], metal: copper}
  C: {section: {diameter: 8 mm}, at: [40 mm, 0 mm], metal: copper}
  D: {section: {diameter: 8 mm}, at: [60 mm, 0 mm], metal: copper}
  E: {section: {diameter: 8 mm}, at: [80 mm, 0 mm], metal: copper}
circuits:
  loop: {series: {A: 1, B: -1}}
  twin: {parallel: [C, D]}
sensors:
  S: {reads: loop, at: [0 mm, 9 mm], axis: 180 deg}
duties:
  run: {kind: peak, frequency: 50 Hz, currents: {loop: {rms: 100 A}, twin: {dc: 9 A}}}
surroundings: {return: far}
`

func TestJoinedLoads(t *testing.T) { mustLoad(t, "joined.yaml", []byte(joined)) }

type slip struct{ name, old, new, want string }

func tryJoined(t *testing.T, slips []slip) {
	for _, c := range slips {
		t.Run(c.name, func(t *testing.T) {
			if !strings.Contains(joined, c.old) {
				t.Fatalf("joined has no %q", c.old)
			}
			l, problems := Load("bad.yaml", []byte(strings.Replace(joined, c.old, c.new, 1)))
			got := lines(problems)
			if (l != nil) != (c.want == "") || strings.Join(got, "\n") != c.want {
				t.Errorf("layout %v\ngot  %s\nwant %s", l != nil, strings.Join(got, "\n     "), c.want)
			}
			for _, p := range problems {
				if strings.Contains(p.Message, "already") || strings.Contains(p.Message, "contradicts") ||
					strings.Contains(p.Message, "again") {
					if len(p.Related) != 1 || !p.Related[0].Span.Valid() {
						t.Errorf("related: %+v", p.Related)
					}
				}
			}
		})
	}
}

func TestBadCircuits(t *testing.T) {
	tryJoined(t, []slip{
		{"two forms", "{parallel: [C, D]}", "{parallel: [C, D], series: {E: 1}}",
			`10:10 value-form: circuit "twin" has series and parallel. Give exactly one of series or parallel` + "\n" +
				`10:28 value-form: circuit "twin" has 1 bar. A circuit joins two or more. A bar by itself needs no circuit`},
		{"no form", "{parallel: [C, D]}", "{}",
			`10:3 key-missing: circuit "twin" needs exactly one of series or parallel`},
		{"no mapping", "{parallel: [C, D]}", "[C, D]",
			`10:9 value-form: circuit "twin" must be a mapping, not a list`},
		{"misspelt form", "{parallel: [C, D]}", "{paralel: [C, D]}",
			`10:10 key-unknown: unknown key "paralel" in circuits/twin. Did you mean "parallel"? Known keys: parallel, series, spread`},
		{"spread", "{parallel: [C, D]}", "{parallel: [C, D], spread: 3 %}", ""},
		{"spread of a whole", "{parallel: [C, D]}", "{parallel: [C, D], spread: 60 %}", `10:36 value-range: spread of circuit "twin" is 60 %: it must be from 0 to 0.5. How far the resistance of a leg may be off, with joints`},
		{"spread below zero", "{parallel: [C, D]}", "{parallel: [C, D], spread: -1 %}", `10:36 value-range: spread of circuit "twin" is -1 %: it must be from 0 to 0.5. How far the resistance of a leg may be off, with joints`},
		{"spread as a length", "{parallel: [C, D]}", "{parallel: [C, D], spread: 3 mm}",
			`10:36 value-quantity: spread of circuit "twin": mm is a length, share wanted. Write % or ppm`},
		{"spread of a series", "{series: {A: 1, B: -1}}", "{series: {A: 1, B: -1}, spread: 3 %}", `9:33 value-form: circuit "loop" has spread, which belongs to parallel. A current in series is the same in every bar`},
		{"unknown bar in series", "A: 1, B: -1", "A: 1, BB: -1",
			`9:25 id-unknown: a bar of circuit "loop" names no bar: "BB". There are "A", "B", "C", "D", "E"`},
		{"unknown bar in parallel", "[C, D]", "[C, DD]",
			`10:24 id-unknown: a bar of circuit "twin" names no bar: "DD". There are "A", "B", "C", "D", "E"`},
		{"factor", "A: 1, B: -1", "A: 1, B: -2",
			`9:28 value-range: factor of bar "B" in circuit "loop" is -2. Write 1, or -1 where the current flows the other way`},
		{"factor in quotes", "A: 1, B: -1", `A: 1, B: "-1"`,
			`9:28 value-form: factor of bar "B" in circuit "loop" must be a number without unit or quotes, not the text "-1"`},
		{"one bar in series", "A: 1, B: -1", "A: 1",
			`9:10 value-form: circuit "loop" has 1 bar. A circuit joins two or more. A bar by itself needs no circuit`},
		{"one bar in parallel", "[C, D]", "[C]",
			`10:10 value-form: circuit "twin" has 1 bar. A circuit joins two or more. A bar by itself needs no circuit`},
		{"bar in two circuits", "[C, D]", "[B, D]",
			`10:21 value-form: bar "B" stands in circuit "loop" already. A bar stands in one circuit, once`},
		{"bar twice in one", "[C, D]", "[C, C, D]",
			`10:24 value-form: bar "C" stands in circuit "twin" already. A bar stands in one circuit, once`},
		{"circuit in a circuit", "[C, D]", "[C, loop]",
			`10:24 value-form: circuit "twin" holds circuit "loop". A circuit cannot contain a circuit, name the bars of it`},
		{"circuit in series", "A: 1, B: -1", "A: 1, twin: -1",
			`9:25 value-form: circuit "loop" holds circuit "twin". A circuit cannot contain a circuit, name the bars of it`},
		{"shares below the whole", "[C, D]", "{C: 60 %, D: 0.3}",
			`10:10 value-range: the shares of circuit "twin" sum to 0.9. They must sum to 1. Give a list of bars to have them computed`},
		{"shares beyond the whole", "[C, D]", "{C: 60 %, D: 0.41}",
			`10:10 value-range: the shares of circuit "twin" sum to 1.01. They must sum to 1. Give a list of bars to have them computed`},
		{"share of the whole", "[C, D]", "{C: 1, D: 0}",
			`10:24 value-range: share of bar "C" in circuit "twin" is 1: it must be more than 0 and less than 1. A share of the current of the circuit` + "\n" +
				`10:30 value-range: share of bar "D" in circuit "twin" is 0: it must be more than 0 and less than 1. A share of the current of the circuit`},
		{"parallel of a word", "[C, D]", "C",
			`10:20 value-form: parallel of circuit "twin" must be a list of bars, or of bars with shares, not the text "C"`},
		{"name taken", "  S: {reads", "  twin: {reads",
			`12:3 id-taken: the name "twin" of a sensor is taken by a circuit on line 10. Names are unique in a file`},
		{"bonded leg", "surroundings:", "bonded: [C, E]\nsurroundings:",
			`15:10 value-form: bar "C" stands in circuit "twin", which says how it is joined. Leave it out of bonded`},
		{"reads of nothing", "reads: loop", "reads: lop",
			`12:14 id-unknown: reads of sensor "S" names no bar or circuit: "lop". Did you mean "loop"? There are "A", "B", "C", "D", "E", "loop", "twin"`},
		{"current of a leg", "twin: {dc", "C: {dc",
			`14:70 value-form: a current of duty "run" is one leg, bar "C". Give the current of circuit "twin", which shares it`},
		{"current of nothing", "twin: {dc", "twins: {dc",
			`14:70 id-unknown: a current of duty "run" names no bar or circuit: "twins". Did you mean "twin"? There are "A", "B", "C", "D", "E", "loop", "twin"`},
		{"three-phase of a leg", "currents: {loop: {rms: 100 A}, twin: {dc: 9 A}}",
			"three-phase: {bars: [A, D, E], rms: 9 A}",
			`14:63 value-form: item 2 of bars of three-phase of duty "run" is one leg, bar "D". Give the current of circuit "twin", which shares it`},
		{"three-phase of one circuit twice", "currents: {loop: {rms: 100 A}, twin: {dc: 9 A}}",
			"three-phase: {bars: [A, B, E], rms: 9 A}",
			`14:63 value-form: item 2 of bars of three-phase of duty "run" is bar "B", which is circuit "loop" again. Each circuit stands once`},
		{"ripple of a leg", "{dc: 9 A}}", "{dc: 9 A}}, ripple: {frequency: 8 kHz, rms: 1 A, bars: [C]}",
			`14:132 value-form: item 1 of bars of ripple of duty "run" is one leg, bar "C". Give the current of circuit "twin", which shares it`},
		{"ripple current of a leg", "{dc: 9 A}}",
			"{dc: 9 A}}, ripple: {frequency: 8 kHz, rms: 1 A, currents: {C: {rms: 1 A}}}",
			`14:136 value-form: a current of ripple of duty "run" is one leg, bar "C". Give the current of circuit "twin", which shares it`},
		{"contradiction of the return", "twin: {dc: 9 A}", "B: {rms: 100 A, phase: 90 deg}",
			`14:70 value-form: current of bar "B" in duty "run" contradicts that of circuit "loop". One current flows through circuit "loop", so give the negative of it, or leave it out`},
		{"contradiction of two bars", "loop: {rms: 100 A}", "A: {dc: 5 A}, B: {dc: 5 A}",
			`14:64 value-form: current of bar "B" in duty "run" contradicts that of bar "A". One current flows through circuit "loop", so give the negative of it, or leave it out`},
		{"contradiction of points", "loop: {rms: 100 A}",
			"A: {points: [[0 s, 1 A], [9 ms, 2 A]]}, B: {points: [[0 s, -1 A], [9 ms, 2 A]]}",
			`14:90 value-form: current of bar "B" in duty "run" contradicts that of bar "A". One current flows through circuit "loop", so give the negative of it, or leave it out`},
		{"contradiction of harmonics", "loop: {rms: 100 A}",
			"A: {rms: 5 A, harmonics: [{order: 2, share: 3 %}]}, B: {rms: 5 A, phase: 180 deg}",
			`14:102 value-form: current of bar "B" in duty "run" contradicts that of bar "A". One current flows through circuit "loop", so give the negative of it, or leave it out`},
	})
}

func TestBadCurrents(t *testing.T) {
	const both = "frequency: 50 Hz, currents: {loop: {rms: 100 A}, twin: {dc: 9 A}}"
	tryJoined(t, []slip{
		{"period and frequency", "frequency: 50 Hz", "frequency: 50 Hz, period: 20 ms",
			`14:39 value-form: duty "run" has frequency and period. Give one, the period is one over the frequency`},
		{"period too short", "frequency: 50 Hz", "period: 0.5 us",
			`14:29 value-range: period of duty "run" is 0.5 us: it must be 1.00 µs or more. Fields are computed up to 1 MHz`},
		{"rms and peak", "{rms: 100 A}", "{rms: 100 A, peak: 3 A}",
			`14:69 value-form: current of circuit "loop" in duty "run" has rms and peak. Give one of them`},
		{"rms beside dc without a frequency", both, "currents: {loop: {dc: 5 A, rms: 100 A}}",
			`14:48 value-form: rms of current of circuit "loop" in duty "run" needs a frequency and duty "run" has none. Give a frequency, or dc for a direct current`},
		{"points beside dc", "{rms: 100 A}", "{dc: 3 A, points: [[0 s, 1 A], [9 ms, 2 A]]}",
			`14:57 value-form: dc of current of circuit "loop" in duty "run" stands beside points. They say the whole period. Leave out one of them`},
		{"points beside harmonics", "{rms: 100 A}",
			"{points: [[0 s, 1 A], [9 ms, 2 A]], harmonics: [{order: 2, rms: 1 A}]}",
			`14:92 value-form: harmonics of current of circuit "loop" in duty "run" stands beside points. They say the whole period. Leave out one of them`},
		{"points without a period", both, "currents: {loop: {points: [[0 s, 1 A], [9 ms, 2 A]]}}",
			`14:39 value-form: points of current of circuit "loop" in duty "run" need a period. Give duty "run" a period, or a frequency`},
		{"one point", "{rms: 100 A}", "{points: [[0 s, 1 A]]}",
			`14:65 value-form: points of current of circuit "loop" in duty "run" has 1 point. A waveform needs two or more. A steady current is said with dc`},
		{"a point of three", "{rms: 100 A}", "{points: [[0 s, 1 A], [9 ms, 2 A, 3 A]]}",
			`14:78 value-form: point 2 of points of current of circuit "loop" in duty "run" must be [time, current], not a list of 3`},
		{"current before time", "{rms: 100 A}", "{points: [[0 s, 1 A], [2 A, 9 ms]]}",
			`14:79 value-quantity: time of point 2 of points of current of circuit "loop" in duty "run": A is a current, time wanted. Write s, ms, µs, ns, min or h` + "\n" +
				`14:84 value-quantity: current of point 2 of points of current of circuit "loop" in duty "run": ms is a time, current wanted. Write A, kA or mA`},
		{"points from later", "{rms: 100 A}", "{points: [[1 ms, 1 A], [9 ms, 2 A]]}",
			`14:66 value-range: point 1 of points of current of circuit "loop" in duty "run" is at 1 ms. The first point stands at time 0`},
		{"points not rising", "{rms: 100 A}", "{points: [[0 s, 1 A], [9 ms, 2 A], [9 ms, 3 A]]}",
			`14:91 value-range: point 3 of points of current of circuit "loop" in duty "run" is at 9 ms, not after the 9 ms before it. Times must rise`},
		{"points beyond the period", "{rms: 100 A}", "{points: [[0 s, 1 A], [21 ms, 2 A]]}",
			`14:78 value-range: point 2 of points of current of circuit "loop" in duty "run" is at 21 ms, beyond the period of 20.00 ms`},
		{"points that do not close", "{rms: 100 A}", "{points: [[0 s, 1 A], [9 ms, 2 A], [20 ms, 3 A]]}",
			`14:91 value-range: point 3 of points of current of circuit "loop" in duty "run" is 3 A at the full period, not 1 A. Leave it out, or make it what the period starts with`},
		{"harmonics of dc", "{dc: 9 A}", "{dc: 9 A, harmonics: [{order: 2, rms: 1 A}]}",
			`14:86 value-form: harmonics of current of circuit "twin" in duty "run" need an alternating current to be multiples of. Give rms or peak`},
		{"own order twice", "{rms: 100 A}", "{rms: 100 A, harmonics: [{order: 2, rms: 1 A}, {order: 2, rms: 2 A}]}",
			`14:111 value-form: order 2 stands twice in harmonics of current of circuit "loop" in duty "run"`},
		{"dc of three-phase twice", both,
			"frequency: 50 Hz, currents: {loop: {dc: 9 A}}, three-phase: {bars: [A, twin, E], rms: 9 A, dc: 2 A}",
			`14:50 value-form: circuit "loop" has a direct current of its own and one of three-phase in duty "run". Give one`},
		{"own current in three-phase", both,
			"frequency: 50 Hz, currents: {B: {rms: 9 A}}, three-phase: {bars: [A, twin, E], rms: 9 A}",
			`14:50 value-form: bar "B" has a current of its own and one of three-phase in duty "run". Give one`},
		{"with without frequency", "{dc: 9 A}}", "{dc: 9 A}}, with: [{currents: {loop: {rms: 1 A}}}]",
			`14:95 key-missing: item 1 of with of duty "run" needs "frequency"`},
		{"with at 0 Hz", "{dc: 9 A}}", "{dc: 9 A}}, with: [{frequency: 0 Hz, currents: {loop: {rms: 1 A}}}]",
			`14:107 value-range: frequency of item 1 of with of duty "run" is 0 Hz: it must be more than 0. Fields are computed up to 1 MHz`},
		{"with of nothing", "{dc: 9 A}}", "{dc: 9 A}}, with: [{frequency: 60 Hz}]",
			`14:95 key-missing: item 1 of with of duty "run" needs currents or three-phase`},
		{"with that says dc again", "{dc: 9 A}}",
			"{dc: 9 A}}, with: [{frequency: 60 Hz, currents: {twin: {dc: 1 A, rms: 1 A}}}]",
			`14:136 value-form: duty "run" gives circuit "twin" a direct current twice. It has no frequency of its own, give the sum once`},
		{"contradiction in with", "{dc: 9 A}}",
			"{dc: 9 A}}, with: [{frequency: 60 Hz, currents: {A: {rms: 1 A}, B: {rms: 1 A}}}]",
			`14:140 value-form: current of bar "B" in item 1 of with of duty "run" contradicts that of bar "A". One current flows through circuit "loop", so give the negative of it, or leave it out`},
		{"unknown key of with", "{dc: 9 A}}", "{dc: 9 A}}, with: [{frequncy: 60 Hz, currents: {loop: {rms: 1 A}}}]",
			`14:96 key-unknown: unknown key "frequncy" in duties/run/with/0. Did you mean "frequency"? Known keys: currents, frequency, harmonics, three-phase`},
		{"shape", "{dc: 9 A}}", "{dc: 9 A}}, ripple: {frequency: 8 kHz, rms: 1 A, shape: triangel}",
			`14:132 value-form: shape of ripple of duty "run" must be sine or triangle, not the text "triangel". Did you mean "triangle"?`},
		{"dc ripple", "{dc: 9 A}}", "{dc: 9 A}}, ripple: {frequency: 8 kHz, rms: 1 A, currents: {loop: {dc: 1 A}}}",
			`14:136 key-missing: current of circuit "loop" in ripple of duty "run" needs exactly one of rms or peak` +
				"\n" +
				`14:143 key-unknown: unknown key "dc" in duties/run/ripple/currents/loop. Known keys: peak, phase, rms`},
		{"asymmetry of a peak", "{dc: 9 A}}", "{dc: 9 A}}, asymmetry: {r-over-x: 0.1}",
			`14:88 value-form: asymmetry of duty "run" belongs to a fault, and duty "run" is of kind peak. Leave it out`},
		{"asymmetry of dc", "kind: peak, " + both,
			"kind: fault, currents: {loop: {dc: 5 A}}, asymmetry: {r-over-x: 0.1}",
			`14:51 value-form: asymmetry of duty "run" needs an alternating current in duty "run", given by rms or peak`},
		{"asymmetry said twice", "kind: peak, " + both,
			"kind: fault, " + both + ", asymmetry: {r-over-x: 0.1, peak-factor: 1.5}",
			`14:101 value-form: asymmetry of duty "run" has peak-factor and r-over-x. Give exactly one of peak-factor or r-over-x`},
		{"asymmetry of nothing", "kind: peak, " + both, "kind: fault, " + both + ", asymmetry: {}",
			`14:89 key-missing: asymmetry of duty "run" needs exactly one of peak-factor or r-over-x`},
		{"peak factor above 2", "kind: peak, " + both, "kind: fault, " + both + ", asymmetry: {peak-factor: 2.1}",
			`14:114 value-range: peak-factor of asymmetry of duty "run" is 2.1: it must be from 1 to 2. 1 is symmetrical, 2 fully offset`},
		{"peak factor below 1", "kind: peak, " + both, "kind: fault, " + both + ", asymmetry: {peak-factor: 0.9}",
			`14:114 value-range: peak-factor of asymmetry of duty "run" is 0.9: it must be from 1 to 2. 1 is symmetrical, 2 fully offset`},
		{"negative r over x", "kind: peak, " + both, "kind: fault, " + both + ", asymmetry: {r-over-x: -0.1}",
			`14:111 value-range: r-over-x of asymmetry of duty "run" is -0.1: it must be 0 or more`},
	})
}

func TestBadSensorsAndSurroundings(t *testing.T) {
	const s = "axis: 180 deg}"
	const pair = "elements: [{at: [0 mm, 1 mm], axis: 0 deg}, {at: [0 mm, -1 mm], axis: 0 deg}]"
	tryJoined(t, []slip{
		{"pair and elements", s, "axis: 180 deg, pair: {spacing: 1 mm, along: 0 deg}, " + pair + "}",
			`12:90 value-form: sensor "S" has pair and elements. Give one. A pair is two elements with the weights 1 and -1`},
		{"one element", s, "axis: 180 deg, elements: [{at: [0 mm, 1 mm], axis: 0 deg}]}",
			`12:63 value-form: elements of sensor "S" has 1 element. An array has two or more. A single one needs no elements`},
		{"element without place", s, "axis: 180 deg, elements: [{at: [0 mm, 1 mm], axis: 0 deg}, {axis: 0 deg}]}",
			`12:97 key-missing: element 2 of sensor "S" needs "at"`},
		{"weight with a unit", s, "axis: 180 deg, elements: [{at: [0 mm, 1 mm], axis: 0 deg}, {at: [0 mm, 0 mm], axis: 0 deg, weight: 50 %}]}",
			`12:137 value-form: weight of element 2 of sensor "S" must be a number without unit or quotes, not the text "50 %"`},
		{"misspelt weight", s,
			"axis: 180 deg, elements: [{at: [0 mm, 1 mm], axis: 0 deg}, {at: [0 mm, 0 mm], axis: 0 deg, wieght: 2}]}",
			`12:129 key-unknown: unknown key "wieght" in sensors/S/elements/1. Did you mean "weight"? Known keys: at, axis, weight`},
		{"negative tolerance", s, "axis: 180 deg, placement: {z: -1 mm}}",
			`12:68 value-range: z of placement of sensor "S" is -1 mm: it must be from 0 to 10000 m`},
		{"yaw in millimetres", s, "axis: 180 deg, placement: {yaw: 1 mm}}",
			`12:70 value-quantity: yaw of placement of sensor "S": mm is a length, angle wanted. Write deg, °, rad or mrad`},
		{"turn of a sensor", s, "axis: 180 deg, placement: {turn: 1 deg}}",
			`12:65 key-unknown: unknown key "turn" in sensors/S/placement. Known keys: tilt, x, y, yaw, z`},
		{"tilt of a bar", "at: [80 mm, 0 mm], ", "at: [80 mm, 0 mm], placement: {tilt: 1 deg}, ",
			`7:65 key-unknown: unknown key "tilt" in bars/E/placement. Known keys: turn, x, y`},
		{"depth of a word", "sensors:", "shields: {K: {form: {plate: {width: 9 mm, thickness: 1 mm}}, at: [0 mm, 30 mm], material: silicon-steel, depth: lnog}}\nsensors:",
			`11:113 value-form: depth of shield "K" must be a length or the word long, not the text "lnog". Did you mean "long"?`},
		{"no clearance", "return: far", "return: far, clear: 0 m",
			`15:36 value-range: clear of surroundings is 0 m: it must be more than 0`},
	})
}

func TestBadMeasurements(t *testing.T) {
	try := func(name, text, want string) slip {
		return slip{name, "surroundings:", "measurements: [" + text + "]\nsurroundings:", want}
	}
	tryJoined(t, []slip{
		try("sound", "{date: 2026-05-04, duty: run, readings: {S: 2 mT}}", ``),
		try("no day", "{date: yesterday, duty: run, readings: {S: 2 mT}}",
			`15:23 value-form: date of measurement 1 must be a day such as 2026-05-04, not the text "yesterday"`),
		try("day of no month", "{date: 2026-02-30, duty: run, readings: {S: 2 mT}}",
			`15:23 value-form: date of measurement 1 must be a day such as 2026-05-04, not the text "2026-02-30"`),
		try("duty and current", "{date: 2026-05-04, duty: run, current: 3 A, readings: {S: 2 mT}}",
			`15:46 value-form: measurement 1 has duty and current. Give exactly one of duty or current`),
		try("neither", "{date: 2026-05-04, readings: {S: 2 mT}}",
			`15:16 key-missing: measurement 1 needs exactly one of duty or current`),
		try("frequency of a duty", "{date: 2026-05-04, duty: run, frequency: 50 Hz, readings: {S: 2 mT}}",
			`15:46 value-form: frequency of measurement 1 belongs to a current. A duty has its own`),
		try("unknown duty", "{date: 2026-05-04, duty: runn, readings: {S: 2 mT}}",
			`15:41 id-unknown: duty of measurement 1 names no duty: "runn". Did you mean "run"? There are "run"`),
		try("unknown sensor", "{date: 2026-05-04, duty: run, readings: {T: 2 mT}}",
			`15:57 id-unknown: a reading of measurement 1 names no sensor: "T". There are "S"`),
		try("reading in amperes", "{date: 2026-05-04, duty: run, readings: {S: 2 A}}",
			`15:60 value-quantity: reading of sensor "S" in measurement 1: A is a current, flux density wanted. Write mT, µT, T, G or mG`),
		try("no reading", "{date: 2026-05-04, duty: run, readings: {}}",
			`15:56 value-form: readings of measurement 1 is empty. A measurement needs a reading`),
		try("no current", "{date: 2026-05-04, current: 0 A, readings: {S: 2 mT}}",
			`15:44 value-range: current of measurement 1 is 0 A: it must be other than 0`),
		try("uncertainty", "{date: 2026-05-04, duty: run, readings: {S: 2 mT}, uncertainty: 100 %}",
			`15:80 value-range: uncertainty of measurement 1 is 100 %: it must be from 0 to below 1. 1 is the whole; one per cent is 1 % or 0.01`),
	})
}

// What looks like a slip and is none.
func TestSoundCurrents(t *testing.T) {
	tryJoined(t, []slip{
		{"exact negatives", "loop: {rms: 100 A}",
			"A: {dc: 5 A, rms: 9 A, phase: 20 deg}, B: {dc: -5 A, rms: 9 A, phase: 200 deg}", ``},
		{"rms and its peak", "loop: {rms: 100 A}", "A: {rms: 1 A}, loop: {peak: 1.41421356 A}", ``},
		{"negative points", "loop: {rms: 100 A}",
			"A: {points: [[0 s, 1 A], [9 ms, 2 A]]}, B: {points: [[0 s, -1 A], [9 ms, -2 A]]}", ``},
		{"a last point at the full period", "{rms: 100 A}", "{points: [[0 s, 1 A], [9 ms, 2 A], [20 ms, 1 A]]}", ``},
		{"with at a multiple", "{dc: 9 A}}", "{dc: 9 A}}, with: [{frequency: 150 Hz, currents: {loop: {rms: 1 A}}}]",
			``},
		{"dc beside a phase", "currents: {loop: {rms: 100 A}, twin: {dc: 9 A}}",
			"currents: {loop: {dc: 9 A}}, three-phase: {bars: [A, twin, E], rms: 9 A}", ``},
		{"reads a leg", "reads: loop", "reads: C", ``},
		{"shares of thirds", "[C, D]", "{C: 0.3333333, D: 66.6667 %}", ``},
	})
}
