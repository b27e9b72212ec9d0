package probe_test

import (
	"fmt"
	"strings"
	"testing"

	"busgauss/model/probe"
)

// Coercivity along the path, by hand: a plate of 100 mm and 9 A/m; the same cut in five; the same on a soft sheet of 0.5 A/m,
// where the stronger counts; two of them on each other, which count once. 0.9 A in each, a twenty-fifth more at most by what
// iron keeps in one direction, which adds at a right angle.
func TestRemanenceAlongThePath(t *testing.T) {
	plate := func(id string, widthMM, xMM, yMM float64, of string) string {
		return fmt.Sprintf("  %s: {form: {plate: {width: %g mm, thickness: 1 mm}}, at: [%g mm, %g mm], material: %s, depth: long}\n", id, widthMM, xMM, yMM, of)
	}
	var strips strings.Builder
	for k := range 5 {
		strips.WriteString(plate(fmt.Sprintf("H%d", k), 19.98, 20*float64(k-2), -6, "hard"))
	}
	for name, shields := range map[string]string{
		"one":                                   plate("H", 100, 0, -6, "hard"),
		"cut in five":                           strips.String(),
		"on a sheet":                            plate("H", 100, 0, -6, "hard") + plate("Z", 100, 0, -7.02, "soft"),
		"on each":                               plate("H", 100, 0, -6, "hard") + plate("Z", 100, 0, -7.02, "hard"),
		"strips on a sheet, which stands first": plate("A", 100, 0, -7.02, "soft") + strips.String(),
	} {
		l := mustLoad(t, `layout: 1
bars: {U: {section: {width: 16 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}}
materials: {hard: {relative-permeability: 3000, coercivity: 9 A/m}, soft: {relative-permeability: 3000, coercivity: 0.5 A/m}}
sensors: {S: {reads: U, at: [0 mm, 5 mm], axis: 180 deg}}
duties: {d: {kind: continuous, currents: {U: {dc: 100 A}}}}
surroundings: {return: far}
shields:
`+shields)
		amps, err := probe.NewModel(l).RemanenceA(&l.Sensors[0])
		if err != nil || !(amps > 0.9*0.999 && amps < 0.9*1.04) {
			t.Errorf("%s: %g A, want 0.9 (%v)", name, amps, err)
		}
	}
}
