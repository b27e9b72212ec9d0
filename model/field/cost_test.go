package field

import (
	"fmt"
	"strings"
	"testing"
)

// Bare bars cost 1; each of frequency, shields, iron that saturates and a finite depth makes a layout dearer.
func TestCost(t *testing.T) {
	const sensor = "sensors:\n  S: {reads: U, at: [0 mm, 5.5 mm], axis: 180 deg}\nsurroundings: {return: far}\n"
	const bar = "layout: 1\nbars:\n  U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}\n"
	duties := func(list ...string) string { return "duties:\n  " + strings.Join(list, "\n  ") + "\n" }
	const (
		direct = "a: {kind: continuous, currents: {U: {dc: 100 A}}}"
		mains  = "b: {kind: continuous, frequency: 50 Hz, currents: {U: {rms: 100 A}}}"
		again  = "c: {kind: peak, frequency: 50 Hz, currents: {U: {rms: 300 A}}}"
		fast   = "d: {kind: continuous, frequency: 20 kHz, currents: {U: {rms: 10 A}}}"
	)
	shield := func(material, depth string, n int) string {
		out := "materials:\n  m: {" + material + "}\nshields:\n"
		for i := range n {
			out += fmt.Sprintf("  K%d: {form: {plate: {width: 30 mm, thickness: 2 mm}}, at: [0 mm, %d mm], material: m, depth: %s}\n", i, 20+10*i, depth)
		}
		return out
	}
	const linear, saturating = "relative-permeability: 3000", "relative-permeability: 3000, saturation: 1.5 T"
	for _, c := range []struct {
		name, text string
		want       int
	}{
		{"bare", duties(direct), 1},
		{"bare, thin at mains", duties(direct, mains), 1},
		{"bare, crowded at 20 kHz", duties(direct, mains, fast), 1 + 4},
		{"shield", shield(linear, "long", 1) + duties(direct), 1 + 2*4},
		{"two shields", shield(linear, "long", 2) + duties(direct), 1 + 3*4},
		{"shield, two frequencies, one of them twice", shield(linear, "long", 1) + duties(direct, mains, again), 1 + 2*8},
		{"saturating, two duties", shield(saturating, "long", 1) + duties(direct, mains), 1 + 2*(2*4+2*10)},
		{"finite depth", shield(linear, "20 mm", 1) + duties(direct), 1 + 2*4*4},
	} {
		if got := NewModel(loaded(t, bar+c.text+sensor)).Cost(); got != c.want {
			t.Errorf("%s: cost %d, want %d", c.name, got, c.want)
		}
	}
}
