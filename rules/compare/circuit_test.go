package compare

import (
	"slices"
	"strings"
	"testing"
)

// What a change does to circuits and to what flows and reads through them.
func TestChangesOfCircuits(t *testing.T) {
	pack := edited(t, "sensors:", "circuits:\n  store: {series: {U: 1, V: -1}}\nsensors:",
		"{U: {dc: 200 A}, V: {dc: -200 A}}", "{store: {dc: 200 A, rms: 9 A}}",
		"haul: {kind: continuous", "haul: {kind: continuous, frequency: 50 Hz")
	for name, c := range map[string]struct {
		edit []string
		want []string
	}{
		"nothing": {nil, nil},
		"turned": {[]string{"{U: 1, V: -1}", "{U: 1, V: 1}"},
			[]string{`circuit "store": members "V" factor from -1 to 1`, `sensor "SV": sign -1 removed`}},
		"renamed": {[]string{"store", "cells"}, []string{`circuit "store" renamed to "cells"`}},
		"other form": {[]string{"{series: {U: 1, V: -1}}", "{parallel: {U: 0.5, V: 0.5}}"}, []string{
			`circuit "store": kind from series to parallel, declared shares`,
			`circuit "store": members "U" factor from 1 to 0.5`,
			`circuit "store": members "V" factor from -1 to 0.5`, `sensor "SU": leg U added`,
			`sensor "SV": leg V added`, `sensor "SV": sign -1 removed`}},
		"another bar": {[]string{"{store: {dc: 200 A", "{V: {dc: -200 A"},
			[]string{`duty "haul": currents "store" sign -1 added`,
				`duty "haul": currents "store" dc from 200 A to -200 A`}},
		"direct part": {[]string{"dc: 200 A", "dc: 260 A"},
			[]string{`duty "haul": currents "store" dc from 200 A to 260 A`}},
		"second set": {[]string{"rms: 9 A}}",
			"rms: 9 A}}, with: [{frequency: 80 Hz, currents: {store: {rms: 1 A}}}]"},
			[]string{`duty "haul": with 1 frequency 80 Hz added`,
				`duty "haul": with 1 currents "store" rms 1 A added`}},
		"own harmonic": {[]string{"rms: 9 A}}", "rms: 9 A, harmonics: [{order: 3, rms: 1 A}]}}"},
			[]string{`duty "haul": currents "store" harmonics 1 order 3 added`,
				`duty "haul": currents "store" harmonics 1 rms 1 A added`}},
		"points": {[]string{"dc: 200 A, rms: 9 A", "points: [[0 s, 1 A], [9 ms, 2 A]]"}, []string{
			`duty "haul": currents "store" points 1 time 0 s added`,
			`duty "haul": currents "store" points 1 current 1 A added`,
			`duty "haul": currents "store" points 2 time 9 ms added`,
			`duty "haul": currents "store" points 2 current 2 A added`,
			`duty "haul": currents "store" dc 200 A removed`, `duty "haul": currents "store" rms 9 A removed`}},
	} {
		after := strings.NewReplacer(c.edit...).Replace(pack)
		changes, _ := Changes(read(t, "a.yaml", pack), read(t, "b.yaml", after))
		var got []string
		for _, x := range changes {
			got = append(got, x.String())
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s:\n%s\nwant\n%s", name, strings.Join(got, "\n"), strings.Join(c.want, "\n"))
		}
	}
}
