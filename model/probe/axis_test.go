package probe_test

import (
	"fmt"
	"testing"

	"busgauss/model/probe"
	"busgauss/schema/load"
)

// An axis along the field of its bar reads all of it, one across it nothing, wherever the sensor stands: round-off
// never puts the bound beside the value, which would make a plain verdict undecided.
func TestPerfectAxesAreDecided(t *testing.T) {
	for _, across := range []int{0, 90} {
		for deg := 0; deg < 360; deg += 7 {
			yaml := fmt.Sprintf(`layout: 1
bars:
  U: {section: {diameter: 10 mm}, at: [3.1 mm, -2.7 mm], metal: copper}
sensors:
  S: {reads: U, at: [3.1 mm, %v mm], axis: %d deg}
duties:
  run: {kind: continuous, currents: {U: {dc: 100 A}}}
`, -2.7+8+0.013*float64(deg), 180+across)
			l, problems := load.Load("layout.yaml", []byte(yaml))
			if l == nil || len(problems) > 0 {
				t.Fatal(problems)
			}
			a, err := probe.NewModel(l).Alignment(&l.Sensors[0])
			if err != nil {
				t.Fatal(err)
			}
			e, want := a.Share, 1.0
			if across == 90 {
				want = 0
			}
			if !(e.Low <= e.Value && e.Value <= e.High) || e.Value > want+1e-9 || e.Value < want-1e-9 {
				t.Errorf("%d deg across, place %d: %v, want about %v inside its bounds", across, deg, e, want)
			}
		}
	}
}
