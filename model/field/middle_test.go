package field_test

import (
	"testing"

	"busgauss/model/field"
	"busgauss/schema/load"
)

// A bar that no duty and no sensor uses, two metres away, leaves the bound of every reading as it is: the
// allowance for surroundings is taken from the middle of the bars in use.
func TestIdleBarFarAwayWidensNoBound(t *testing.T) {
	const bars = `layout: 1
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  V: {section: {width: 20 mm, thickness: 3 mm}, at: [60 mm, 0 mm], metal: copper}
`
	const rest = `sensors:
  S: {reads: U, at: [0 mm, 6 mm], axis: 180 deg}
duties:
  run: {kind: continuous, currents: {U: {dc: 100 A}, V: {dc: -100 A}}}
`
	bound := func(more string) float64 {
		l, problems := load.Load("layout.yaml", []byte(bars+more+rest))
		if l == nil || len(problems) > 0 {
			t.Fatal(problems)
		}
		f, err := field.NewModel(l).Field(0)
		if err != nil {
			t.Fatal(err)
		}
		return f.Own(&l.Sensors[0]).B.Far
	}
	alone := bound("")
	near(t, "bound with an idle bar",
		bound("  far: {section: {diameter: 10 mm}, at: [1600 mm, 1200 mm], metal: copper}\n"), alone, 1e-9)
	// μ0 d/(2πR²) with d = 30 mm from the middle and R = 1 m (W. R. Smythe): 6 nT/A.
	near(t, "bound", alone, 6e-9, 0.1)
}
