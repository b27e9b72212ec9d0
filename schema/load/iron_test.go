package load

import (
	"fmt"
	"strings"
	"testing"

	"busgauss/model/material"
)

// A shield may name a built-in class of iron; the layout then holds its curve
// and lists it as assumed. The names are those of the published schema.
func TestBuiltInIron(t *testing.T) {
	const file = `layout: 1
bars: {U: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper}}
shields:
  K: {form: {plate: {width: 20 mm, thickness: 1 mm}}, at: [0 mm, -9 mm], material: %s}
  L: {form: {plate: {width: 20 mm, thickness: 1 mm}}, at: [0 mm, -19 mm], material: %s}
`
	for _, iron := range material.Irons() {
		l, problems := Load("iron.yaml", []byte(fmt.Sprintf(file, iron.Name, iron.Name)))
		if l == nil {
			t.Fatalf("%s: %v", iron.Name, problems)
		}
		if len(l.Materials) != 1 || l.Shields[0].Material != 0 || l.Shields[1].Material != 0 {
			t.Errorf("%s: %d materials, shields of %d and %d", iron.Name, len(l.Materials), l.Shields[0].Material, l.Shields[1].Material)
		}
		if n := len(l.Materials[0].Curve); n < 3 {
			t.Errorf("%s: a curve of %d points", iron.Name, n)
		}
		listed := 0
		for _, a := range l.Assumed {
			if a.Object == iron.Name && strings.Contains(a.Text, "not confirmed") != iron.Confirmed {
				listed++
			}
		}
		if listed != 1 {
			t.Errorf("%s: listed %d times as assumed", iron.Name, listed)
		}
	}
	_, problems := Load("iron.yaml", []byte(fmt.Sprintf(file, "silicon-stel", "silicon-steel")))
	if len(problems) != 1 || problems[0].Rule != "id-unknown" || !strings.Contains(problems[0].Message, `Did you mean "silicon-steel"`) {
		t.Errorf("misspelt class: %v", problems)
	}
}
