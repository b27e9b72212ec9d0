package probe_test

import (
	"math"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/probe"
)

// |tanh((1+j)a)|² = (cosh 2a − cos 2a)/(cosh 2a + cos 2a), the real form of the
// classic sheet formula (J. Lammeraner, M. Štafl, Eddy Currents, 1966; from memory),
// and for thin sheets 14 a⁴/45 (its series).
func TestSheetLoss(t *testing.T) {
	const hz, sigma, mu = 400.0, 2e6, 3000.0
	delta := closedform.SkinDepthM(hz, sigma, mu)
	for _, a := range []float64{0.05, 0.3, 1, 3, 20, 400} {
		want := 1.0
		if a < 300 {
			want = math.Sqrt((math.Cosh(2*a) - math.Cos(2*a)) / (math.Cosh(2*a) + math.Cos(2*a)))
		}
		want = 1 - want/(a*math.Sqrt2)
		got := probe.SheetLoss(2*a*delta, hz, sigma, mu)
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("a = %g: %.9g, want %.9g", a, got, want)
		}
	}
	near(t, "thin", probe.SheetLoss(2*5e-4*delta, hz, sigma, mu), 14.0/45*math.Pow(5e-4, 4), 1e-9)
	near(t, "joined", probe.SheetLoss(2*1.0001e-3*delta, hz, sigma, mu), 14.0/45*math.Pow(1.0001e-3, 4), 1e-3)
	if probe.SheetLoss(1e-3, 0, sigma, mu) != 0 || probe.SheetLoss(1e-3, hz, 0, mu) != 0 {
		t.Error("no frequency or no conductivity, but a loss")
	}
	for _, loss := range []float64{0.01, 0.05, 0.3} {
		near(t, "inverse", probe.SheetLoss(probe.SheetFor(loss, hz, sigma, mu), hz, sigma, mu), loss, 1e-6)
	}
}
