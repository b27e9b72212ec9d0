package iron

import (
	"math"
	"testing"
)

// Channels of 25 m against the plane values of the reference file: the field within 1 % of
// |B|, the flux density of the floors within 3 %. The own field comes there at forty times the
// width already; a neighbour's, a twentieth of it behind two shields, is there still 2 to 3 %
// from it, because of the ends.
func TestPlaneLimit(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds")
	}
	pieces, bars := threeChannels(25, 2000)
	p, err := New(pieces, threeSensors, Options{})
	if err != nil {
		t.Fatal(err)
	}
	l, err := p.Linear(nil, bars)
	if err != nil {
		t.Fatal(err)
	}
	a, b := p.Unknowns()
	t.Logf("%d and %d unknowns, scale %.2f", a, b, p.scale)
	seen := 0
	for _, c := range threeUCases(t) {
		if c.depthM != 0 {
			continue
		}
		source, weights := 0, make([]complex128, 3)
		for k, id := range []string{"U", "V", "W"} {
			if i := c.currents[id]; i != 0 {
				source, weights[k] = k, complex(i, 0)
			}
		}
		for _, s := range c.sensors {
			b, bound := l.B(s.at, source)
			diff, size := b.Scale(250).Sub(s.b).Norm(), s.b.Norm()
			t.Logf("%s at %v: off by %.2f %%, bound %.2f %%", c.id, s.at, 100*diff/size, 100*250*bound.T/size)
			if !(diff <= 0.01*size+s.u.Norm()) || !(diff <= 250*bound.T+s.u.Norm()) {
				t.Errorf("%s at %v: %v, want %v", c.id, s.at, b.Scale(250/millitesla), s.b.Scale(1/millitesla))
			}
			seen++
		}
		for k, w := range c.walls {
			got := floorWall3(l, k, weights, threeX[w.shield[1:]])
			t.Logf("%s %s: %.5g mT, want %.5g, bound %.2f %%", c.id, w.shield, got.MidT/millitesla, w.mean/millitesla, 100*got.MidBoundT/w.mean)
			if diff := math.Abs(got.MidT - w.mean); !(diff <= 0.03*w.mean) || !(diff <= got.MidBoundT+w.um) {
				t.Errorf("%s %s: %.5g mT, want %.5g", c.id, w.shield, got.MidT/millitesla, w.mean/millitesla)
			}
		}
	}
	if seen != 6 {
		t.Fatalf("%d sensors, want 6", seen)
	}
}
