package audit

import (
	"math"
	"slices"
	"testing"
)

// The readings of the crane stand in the order of the file, 4.99 % and 5.05 % low with 250 A and 100 A; a layout without readings
// has no such curve.
func TestReadingsCurve(t *testing.T) {
	find := func(name string) *Curve {
		p := built(t, fixture(t, name))
		for i := range p.Channels[0].Curves {
			if c := &p.Channels[0].Curves[i]; c.Name == "Read against computed" {
				return c
			}
		}
		return nil
	}
	if find("clean/ferry-thruster.yaml") != nil {
		t.Error("a layout without readings has a curve of them")
	}
	c := find("failing/quay-crane-bench.yaml")
	if c == nil {
		t.Fatal("no curve")
	}
	read := c.Chart.Panels[0].Series[0]
	if !slices.Equal(read.X, []float64{1, 2, 3}) || len(c.Rows) != 3 || c.Rows[1][3] != "100 A alone" {
		t.Fatalf("%v %v", read.X, c.Rows)
	}
	for i, want := range []float64{-0.0504, -0.0499, 0.1206} {
		if !(math.Abs(read.Y[i]-want) < 5e-4) {
			t.Errorf("reading %d: %.5f, want %.4f", i+1, read.Y[i], want)
		}
	}
	// Whisker and box of the second: 0.4 % of 2.034 mT over 2.141 mT, and 1.67 % of the placement.
	if up := c.Chart.Panels[0].Series[1].Y[4]; !(math.Abs(up-(read.Y[1]+0.0038)) < 1e-4) {
		t.Errorf("whisker to %.5f", up)
	}
	if m := c.Chart.Panels[0].Series[2].Y[6]; !(math.Abs(m+0.0167) < 1e-4) {
		t.Errorf("box from %.5f", m)
	}
}
