package load

import (
	"strings"
	"testing"
)

const warm = `layout: 1
bars: {A: {section: {diameter: 8 mm}, at: [0 mm, 0 mm], metal: copper, temperature: 90 °C}}
shields:
  K: {form: {FORM}, at: [0 mm, 0 mm], material: MATERIAL, depth: long, tolerance: {TOLERANCE}}
materials: {m: {relative-permeability: 900, saturation: 500 mT, saturation-coefficient: COEFFICIENT}}
`

func warmFile(form, material, tolerance, coefficient string) []byte {
	return []byte(strings.NewReplacer("FORM", form, "MATERIAL", material, "TOLERANCE", tolerance, "COEFFICIENT", coefficient).Replace(warm))
}

// Iron whose saturation changes with temperature and that says none may be as warm as the hottest bar, which is listed. Ferrite
// at 100 °C holds a fifth less than at 25 °C (typical of its class, from memory), at 90 °C 13/15 of a fifth.
func TestWarmIronIsAssumed(t *testing.T) {
	for _, name := range []string{"m", "mnzn-ferrite"} {
		l := mustLoad(t, "warm.yaml", warmFile("ring: {inner: 20 mm, wall: 2 mm}", name, "wall: 0.1 mm", "-0.266666666666667 %/K"))
		listed := 0
		for _, a := range l.Assumed {
			if a.Object == name && strings.Contains(a.Text, "as warm as the hottest bar") {
				listed++
			}
		}
		if listed != 1 {
			t.Errorf("%s: listed %d times", name, listed)
		}
		near(t, name, l.SaturationShare(&l.Materials[l.Shields[0].Material]), 1-0.2*65/75)
	}
}

// Tolerances belong to a size that is there and must be less than it; a coefficient must leave something.
func TestBadTolerances(t *testing.T) {
	for _, c := range []struct{ form, tolerance, coefficient, want string }{
		{"ring: {inner: 20 mm, wall: 2 mm}", "wall: 2 mm", "-0.1 %/K", "it must be less than the wall"},
		{"ring: {inner: 20 mm, wall: 2 mm}", "opening: 1 mm", "-0.1 %/K", "whose form has a size of that name"},
		{"plate: {width: 20 mm, thickness: 2 mm}", "opening: 1 mm", "-0.1 %/K", "whose form has a size of that name"},
		{"channel: {opening: 20 mm, leg: 8 mm, wall: 2 mm}", "opening: -1 mm", "-0.1 %/K", "must be"},
		{"ring: {inner: 20 mm, wall: 2 mm}", "wall: 0.1 mm", "-2 %/K, temperature: {from: 0 °C, to: 100 °C}", "Nothing of the saturation would be left"},
		{"ring: {inner: 20 mm, wall: 2 mm}", "wall: 0.1 mm", "-0.1 %/K, tolerance: {saturation: 100 %}", "must be"},
	} {
		l, problems := Load("warm.yaml", warmFile(c.form, "m", c.tolerance, c.coefficient))
		if l != nil || len(problems) != 1 || !strings.Contains(problems[0].Message, c.want) {
			t.Errorf("%s, %s: %v, want %q", c.form, c.tolerance, lines(problems), c.want)
		}
	}
}

// What nothing takes up is refused, and so is what leaves nothing of a saturation or a resistance at a temperature that counts.
func TestIdleAndImpossibleHeat(t *testing.T) {
	const file = `layout: 1
bars: {A: {section: {diameter: 8 mm}, at: [0 mm, 0 mm], metal: copper, temperature: BAR}}
shields: {K: {form: {ring: {inner: 20 mm, wall: 2 mm}}, at: [0 mm, 0 mm], material: NAME, depth: long}}
materials: {m: {MATERIAL}}
`
	const iron = "relative-permeability: 900, saturation: 500 mT, "
	const metal = "conductivity: 58 MS/m, "
	const warm = "temperature: {from: 0 °C, to: 100 °C}"
	for _, c := range []struct{ bar, name, material, want string }{
		{"130 °C", "m", iron + "saturation-coefficient: -1 %/K", "Nothing of the saturation would be left"}, // 25 °C and 105 K: 1 − 1.05
		{"120 °C", "m", iron + "saturation-coefficient: -1 %/K", ""},
		{"20 °C", "m", iron + "saturation-coefficient: 5 %/K", ""}, // 0 °C, where nothing would be left, is not a temperature of it
		{"401 °C", "mnzn-ferrite", metal, "Nothing of the saturation would be left"},
		{"90 °C", "m", metal + "temperature-coefficient: -2 %/K, " + warm, "No resistance would be left at 100 °C"},
		{"90 °C", "m", metal + "temperature-coefficient: 0.4 %/K, " + warm, ""},
		{"90 °C", "m", metal + "saturation-coefficient: -0.1 %/K", "belongs to a material with a saturation or a curve"},
		{"90 °C", "m", metal + "tolerance: {saturation: 5 %}", "belongs to a material with a saturation or a curve"},
		{"90 °C", "m", metal + "tolerance: {permeability: 5 %}", "belongs to a material with a curve or"},
		{"90 °C", "m", "relative-permeability: 1, tolerance: {permeability: 5 %}", "belongs to a material with a curve or"},
		{"90 °C", "m", iron + "tolerance: {conductivity: 5 %}", "belongs to a material with a conductivity"},
		{"90 °C", "m", metal + warm, "changes nothing without"},
		{"90 °C", "m", iron + "measured-at: 30 °C", "changes nothing without"},
	} {
		l, problems := Load("warm.yaml", []byte(strings.NewReplacer("BAR", c.bar, "NAME", c.name, "MATERIAL", c.material).Replace(file)))
		if c.want == "" {
			if l == nil {
				t.Errorf("%s: %v", c.material, lines(problems))
			}
			continue
		}
		if l != nil || len(problems) != 1 || !strings.Contains(problems[0].Message, c.want) {
			t.Errorf("bar %s, %s of %s: %v, want %q", c.bar, c.name, c.material, lines(problems), c.want)
		}
	}
}
