package cli

// Layouts whose numbers fuzz targets and the table of hostile layouts change. Between them they have every key of the format that holds a
// number: TestHostileTexts says which have not.

// manyKeys is a bare layout with nearly all that a channel may have.
const manyKeys = `layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [-40 mm, 0 mm], turn: 2 deg, metal: copper, temperature: 60 °C, placement: {x: 0.1 mm, y: 0.1 mm, turn: 1 deg}}
  V: {section: {diameter: 8 mm}, at: [0 mm, 0 mm], metal: bronze}
  W: {section: {outline: [[0 mm, 0 mm], [10 mm, 0 mm], [0 mm, 10 mm]]}, at: [40 mm, 0 mm], metal: brass}
materials:
  bronze: {conductivity: 9 MS/m, temperature-coefficient: 0.4 %/K}
sensors:
  SU: {reads: U, at: [-40 mm, 6 mm], axis: [-1, 0, 0], part: flat, placement: {x: 0.2 mm, y: 0.3 mm, z: 1 mm, tilt: 2 deg, yaw: 3 deg}}
  SV: {reads: V, at: [0 mm, 8 mm], axis: 180 deg, part: tall, pair: {spacing: 2.5 mm, along: 90 deg}}
  SW: {reads: W, at: [44 mm, 14 mm], axis: 180 deg, elements: [{at: [1 mm, 0 mm], axis: 10 deg, weight: 2}, {at: [-1 mm, 0 mm], axis: [0, 1, 0]}]}
parts:
  flat:
    linear-range: {low: -20 mT, high: 35 mT}
    sensitivity: {set: 60 mV/mT, from: 40 mV/mT, to: 80 mV/mT, tolerance: 1 %, drift: 150 ppm/K, life: 0.02}
    output: {zero: 2.5 V, low: 0.4 V, high: 4.6 V, ratiometric: true, supply: 5 V, supply-tolerance: 3 %}
    offset: {initial: 8 mV, drift: 0.05 mV/K, life: 3 mV}
    noise: {rms: 0.9 mV, density: 2 uV/rtHz}
    bandwidth: {corner: 200 kHz, order: 2, shape: equal-poles}
    delay: 2 us
    hysteresis: 20 uT
    non-linearity: 0.3 %
    temperature: {from: -40 °C, to: 125 °C}
    body: {width: 5 mm, height: 1.5 mm, element-height: 0.4 mm}
  tall: {linear-range: 50 G, sensitivity: -20 mV/G, offset: -1 mV, noise: 1 mV, bandwidth: 40 kHz}
readout:
  converter: {low: 0 V, high: 3.3 V, bits: 12, tolerance: 0.5 %, ratiometric: false, minus: 0.1 V, code: straight, noise: 0.7}
  divider: {top: 4.7 kohm, bottom: 10 kohm, tolerance: 0.1 %, foot: 0.2 V, place: before-amplifier}
  amplifier: {gain: -2, zero: 1.65 V, reference: 1.6 V, low: 50 mV, high: 3.25 V, tolerance: 0.2 %, offset: 0.5 mV, noise: 12 nV/rtHz}
  filter: {corner: 20 kHz, order: 3, shape: butterworth, tolerance: 5 %}
  sampling: {rate: 16 kHz, delay: 5 us, hold: false, aperture: 0.5 us, carrier: 8 kHz, shift: -1 us}
  number: {signed: true, width: 16, per-count: 50 mA, zero: 12}
  firmware: {slope: 0.32 A, zero: 2048.5}
  zeroing: {window: 4 A, current: 0.5 A, noise: 20 mA}
duties:
  climb: {kind: continuous, frequency: 5 Hz, three-phase: {bars: [U, V, W], rms: 60 A, phase: 15 deg, dc: 1 A}}
  short: {kind: fault, currents: {U: {dc: 600 A}, V: {dc: -600 A}}}
surroundings:
  uniform: {flux-density: 0.05 mT, direction: 45 deg}
  wires:
    rail: {at: [0 mm, 900 mm], dc: -15 A}
  magnets:
    brake: {form: {disc: {diameter: 30 mm, thickness: 8 mm}}, at: [300 mm, 0 mm], magnetised: 90 deg, remanence: 1.2 T}
    latch: {form: {block: {width: 10 mm, height: 5 mm, depth: 20 mm}}, at: [0 mm, 300 mm, 5 mm], magnetised: [0, 0, -2], remanence: 400 mT}
  return: far
  clear: 3 m
insulation:
  - {between: [U, V], kind: reinforced, working: {dc: 800 V}, supply: {rms: 400 V}, category: 3, impulse: 6 kV, pollution-degree: 3,
     temporary: {rms: 1.2 kV}, recurring: {peak: 1.3 kV}, material-group: II, altitude: 3500 m, clearance: 9 mm, creepage: 12 mm, printed-board: true}
needs:
  all: {accuracy: 2 %, smallest-current: 2 A, range: 700 A, bandwidth: 20 kHz, stray: 1 %, ambient: 3 A, placement: 0.02, range-use: 60 %}
  SV: {trip: {current: 900 A, within: 20 us, by: filter, switching: 2 us, supply: 450 V, inductance: 50 uH}, battery: {charge: 100 Ah, per-day: 1 %}}
phase-sums:
  - {channels: [SU, SV, SW], measured: two, threshold: 12 A, ripple: 1 %}
calibration:
  all: {kind: two-point, conductor: ribbon, turns: 10, pitch: 2 mm, current: 40 A, temperature: 30 °C, tolerance: 0.2 %}
measurements:
  - {date: 2026-05-04, instrument: shunt, duty: short, readings: {SU: 5 mT, SV: 2.4 V}, uncertainty: 0.4 %}
  - {date: 2026-05-05, current: 100 A, readings: {SW: 2 mT}}
`

// manyCurrents is a bare layout with what a duty may have, so slow that no current crowds.
const manyCurrents = `layout: 1
bars:
  A: {section: {width: 10 mm, thickness: 2 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {width: 10 mm, thickness: 2 mm}, at: [0 mm, 20 mm], metal: copper}
  C: {section: {width: 10 mm, thickness: 2 mm}, at: [60 mm, 0 mm], metal: copper}
  D: {section: {width: 10 mm, thickness: 2 mm}, at: [60 mm, 20 mm], metal: copper}
circuits:
  store: {series: {A: 1, B: -1}}
  twin: {parallel: {C: 60 %, D: 0.4}}
sensors:
  S: {reads: store, at: [0 mm, 5 mm], axis: 180 deg, part: wren}
  T: {reads: C, at: [60 mm, -5 mm], axis: 0 deg, part: wren}
parts:
  wren: {linear-range: 25 mT, sensitivity: 70 mV/mT, bandwidth: 1 kHz}
duties:
  hoard:
    kind: continuous
    period: 200 ms
    currents:
      twin: {points: [[0 ms, 0 A], [50 ms, -9 A], [200 ms, 0 A]]}
      store: {dc: 7 A, peak: 40 A, phase: 30 deg, harmonics: [{order: 2, share: 10 %, phase: 5 deg}]}
  climb:
    kind: peak
    frequency: 2 Hz
    currents: {store: {rms: 50 A}}
    harmonics: [{order: 3, share: 4 %}, {order: 5, peak: 6 A, phase: 90 deg}, {order: 7, rms: 2 A}]
    ripple: {frequency: 9 Hz, rms: 3 A, bars: [A], phase: 10 deg, shape: triangle, currents: {twin: {peak: 2 A, phase: 20 deg}}}
    with:
      - {frequency: 3 Hz, currents: {twin: {rms: 12 A}}, harmonics: [{order: 3, peak: 1 A}]}
  bolted: {kind: fault, frequency: 5 Hz, currents: {store: {rms: 300 A}}, asymmetry: {r-over-x: 0.1}}
  dented: {kind: fault, frequency: 5 Hz, currents: {store: {rms: 300 A}}, asymmetry: {peak-factor: 1.8}}
surroundings:
  immunity: {rms: 30 A/m, frequency: 5 Hz}
  wires:
    cable: {at: [500 mm, 0 mm], rms: 4 A, phase: 20 deg, frequency: 5 Hz}
  return: far
needs:
  S: {lag: {angle: 20 deg, at: 4 Hz}}
calibration:
  S: {kind: one-point, conductor: bar, current: 40 A, frequency: 5 Hz}
`

// inSpace is a bare layout of bars that end, bend and are cut.
const inSpace = `layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [-40 mm, 0 mm, 1 mm], metal: copper, length: 300 mm}
  V: {section: {diameter: 8 mm}, at: [10 mm, 0 mm], metal: copper, run: [[10 mm, 0 mm, -150 mm], [10 mm, 0 mm, 60 mm], [10 mm, 80 mm, 60 mm]]}
sensors:
  SU: {reads: U, at: [-40 mm, 6 mm, 3 mm], axis: 180 deg, part: wren}
  SV: {reads: V, at: [10 mm, 9 mm], axis: 180 deg, part: wren}
parts:
  wren: {linear-range: 25 mT, sensitivity: 70 mV/mT}
duties:
  run: {kind: continuous, currents: {U: {dc: 200 A}, V: {dc: -200 A}}}
`

// cutBar is a bar with a cut of each kind.
const cutBar = `layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, length: 300 mm,
      cuts: [{neck: {along: -30 mm, length: 10 mm, width: 8 mm}}, {notch: {along: 20 mm, length: 8 mm, depth: 6 mm, side: left}},
        {hole: {across: 2 mm, along: 60 mm, diameter: 6.5 mm}}, {slot: {across: -1 mm, along: 90 mm, width: 3 mm, length: 20 mm}}]}
sensors:
  S: {reads: U, at: [0 mm, 6 mm, -30 mm], axis: 180 deg, part: wren}
parts:
  wren: {linear-range: 25 mT, sensitivity: 70 mV/mT}
duties:
  run: {kind: continuous, currents: {U: {dc: 200 A}}}
surroundings: {return: far}
`

// ironLong is a bar in a channel of iron without end, at direct current.
const ironLong = `layout: 1
bars:
  U: {section: {width: 10 mm, thickness: 2 mm}, at: [0 mm, 4 mm], metal: copper}
shields:
  K: {form: {channel: {opening: 16 mm, leg: 12 mm, wall: 1.5 mm}}, at: [0 mm, 0 mm], turn: 3 deg, material: steel, depth: long, tolerance: {wall: 0.1 mm, opening: 0.3 mm}, placement: {x: 0.3 mm, y: 0.4 mm, turn: 2 deg}}
materials:
  steel: {relative-permeability: 900, saturation: 1.6 T, coercivity: 12 A/m, temperature: {from: -20 °C, to: 100 °C}, measured-at: 30 °C, saturation-coefficient: -0.1 %/K, tolerance: {saturation: 4 %, permeability: 20 %, conductivity: 6 %}, conductivity: 1 MS/m, sheet: 0.3 mm}
sensors:
  S: {reads: U, at: [0 mm, 8 mm], axis: 180 deg, part: wren}
parts:
  wren: {linear-range: 25 mT, sensitivity: 70 mV/mT}
duties:
  run: {kind: continuous, currents: {U: {dc: 20 A}}}
surroundings: {return: far}
`

// ironForms has a shield of each other form, far from one another.
const ironForms = `layout: 1
bars:
  U: {section: {width: 10 mm, thickness: 2 mm}, at: [0 mm, 0 mm], metal: copper}
shields:
  R: {form: {ring: {inner: 30 mm, wall: 3 mm, slit: 4 mm}}, at: [0 mm, 0 mm], material: core, depth: long}
  P: {form: {plate: {width: 40 mm, thickness: 2 mm}}, at: [0 mm, -40 mm], material: core, depth: long}
  O: {form: {outline: [[0 mm, 0 mm], [10 mm, 0 mm], [0 mm, 5 mm]]}, at: [60 mm, 0 mm], material: core, depth: long}
materials:
  core: {relative-permeability: 900}
sensors:
  S: {reads: U, at: [0 mm, 16 mm], axis: 180 deg, part: wren}
parts:
  wren: {linear-range: 25 mT, sensitivity: 70 mV/mT}
duties:
  run: {kind: continuous, currents: {U: {dc: 20 A}}}
surroundings: {return: far}
`

// ironShort is a plate that ends, with a curve, beside a bar.
const ironShort = `layout: 1
bars:
  U: {section: {width: 10 mm, thickness: 2 mm}, at: [0 mm, 0 mm], metal: copper, length: 200 mm}
shields:
  P: {form: {plate: {width: 12 mm, thickness: 2 mm}}, at: [0 mm, -8 mm], material: core, depth: 10 mm}
materials:
  core: {curve: [[0 A/m, 0 T], [60 A/m, 0.8 T], [900 A/m, 1.4 T]]}
sensors:
  S: {reads: U, at: [0 mm, 6 mm], axis: 180 deg, part: wren}
parts:
  wren: {linear-range: 25 mT, sensitivity: 70 mV/mT}
duties:
  run: {kind: continuous, currents: {U: {dc: 20 A}}}
surroundings: {return: far}
`

// quick is a bar with a sensor and nothing else, fast enough for the current to crowd.
const quick = `layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
sensors:
  S: {reads: U, at: [0 mm, 6 mm], axis: 180 deg, part: wren}
parts:
  wren: {linear-range: 25 mT, sensitivity: 70 mV/mT}
duties:
  run: {kind: continuous, frequency: 400 Hz, currents: {U: {rms: 20 A}}}
surroundings: {return: far}
`

// otherForms has the keys that stand in the place of others above.
const otherForms = `layout: 1
bars:
  A: {section: {width: 10 mm, thickness: 2 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {width: 10 mm, thickness: 2 mm}, at: [0 mm, 20 mm], metal: copper}
  C: {section: {width: 10 mm, thickness: 2 mm}, at: [60 mm, 0 mm], metal: copper}
circuits:
  twin: {parallel: [A, B], spread: 3 %}
sensors:
  S: {reads: twin, at: [0 mm, -6 mm], axis: 0 deg, part: wren}
  T: {reads: C, at: [60 mm, 6 mm], axis: 180 deg, part: wren}
parts:
  wren: {linear-range: 25 mT, sensitivity: 70 mV/mT}
duties:
  run: {kind: continuous, currents: {twin: {dc: 60 A}, C: {dc: -60 A}}}
  hum: {kind: peak, frequency: 2 Hz, currents: {C: {peak: 50 A}}, ripple: {frequency: 9 Hz, peak: 3 A, currents: {C: {rms: 2 A}}}}
surroundings:
  immunity: {peak: 30 A/m, frequency: 5 Hz}
  wires:
    cable: {at: [500 mm, 0 mm], peak: 4 A, frequency: 5 Hz}
  uniform: 0.1 mT
insulation:
  - {between: [A, C], working: {rms: 300 V}, supply: {dc: 400 V}, category: 2, temporary: {peak: 1.2 kV}, recurring: {peak: 1 kV}}
measurements:
  - {date: 2026-05-05, current: 100 A, frequency: 2 Hz, readings: {T: 2 mT}}
`
