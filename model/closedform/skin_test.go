package closedform

import (
	"math"
	"testing"
)

// fixtures/reference/skin-depth.csv: "Skin depth in mm at 20 C, delta =
// sqrt(rho/(pi f mu0))", five decimals; conductivities of conductors.yaml.
func TestSkinDepthReference(t *testing.T) {
	// Copper IACS, copper 99 %, aluminium 60889, 1350, 6101, brass CuZn37.
	// For 60889 and 6101 the file lists the resistivity and a rounded
	// conductivity; the table was made with the former.
	sigma := [6]float64{5.8e7, 5.742e7, 1 / 2.8264e-8, 3.48e7, 1 / 3.133e-8, 1.55e7}
	for _, r := range []struct {
		freqHz float64
		mm     [6]float64
	}{
		{16.7, [6]float64{16.17141, 16.25288, 20.70517, 20.87720, 21.79928, 31.28211}},
		{50, [6]float64{9.34590, 9.39298, 11.96608, 12.06551, 12.59840, 18.07879}},
		{60, [6]float64{8.53160, 8.57458, 10.92349, 11.01425, 11.50071, 16.50360}},
		{100, [6]float64{6.60855, 6.64184, 8.46130, 8.53160, 8.90841, 12.78363}},
		{400, [6]float64{3.30427, 3.32092, 4.23065, 4.26580, 4.45421, 6.39182}},
		{500, [6]float64{2.95543, 2.97032, 3.78401, 3.81545, 3.98396, 5.71701}},
		{1000, [6]float64{2.08981, 2.10033, 2.67570, 2.69793, 2.81709, 4.04254}},
		{2000, [6]float64{1.47772, 1.48516, 1.89200, 1.90772, 1.99198, 2.85851}},
		{5000, [6]float64{0.93459, 0.93930, 1.19661, 1.20655, 1.25984, 1.80788}},
		{10000, [6]float64{0.66085, 0.66418, 0.84613, 0.85316, 0.89084, 1.27836}},
		{20000, [6]float64{0.46730, 0.46965, 0.59830, 0.60328, 0.62992, 0.90394}},
		{50000, [6]float64{0.29554, 0.29703, 0.37840, 0.38154, 0.39840, 0.57170}},
		{100000, [6]float64{0.20898, 0.21003, 0.26757, 0.26979, 0.28171, 0.40425}},
		{1000000, [6]float64{0.06609, 0.06642, 0.08461, 0.08532, 0.08908, 0.12784}},
	} {
		for k, want := range r.mm {
			// Half a unit of the last digit, and 3 in 10⁶ for the rounding of the
			// resistivities that the table was made with.
			near(t, "skin depth, mm", 1e3*SkinDepthM(r.freqHz, sigma[k], 1), want, 0.5e-5+want*3e-6)
		}
	}
}

func TestSkinDepthDomain(t *testing.T) {
	if d := SkinDepthM(0, 58e6, 1); !math.IsInf(d, 1) {
		t.Errorf("direct current: %g", d)
	}
	// Iron of relative permeability 100: a tenth of the depth.
	near(t, "permeability", SkinDepthM(50, 58e6, 100)/SkinDepthM(50, 58e6, 1), 0.1, 1e-15)
	for _, d := range []float64{SkinDepthM(-1, 1, 1), SkinDepthM(1, 0, 1), SkinDepthM(1, 1, 0), SkinDepthM(math.NaN(), 1, 1), ThinRatio(0, 1), ThinRatio(1, 0), ThinRatio(math.NaN(), 1)} {
		if !math.IsNaN(d) {
			t.Errorf("want NaN, got %g", d)
		}
	}
}

// A copper bar of 20 mm x 3 mm at 400 Hz (common practice: 2.35, the field 4 mm
// above the face some 5 % below direct current).
func TestThinRatio(t *testing.T) {
	near(t, "20 x 3 at 400 Hz", ThinRatio(0.020*0.003, SkinDepthM(400, 58e6, 1)), 2.35, 0.01)
	near(t, "√area/δ", ThinRatio(6e-5, 0.004), math.Sqrt(60)/4, 1e-15)
	near(t, "direct current", ThinRatio(6e-5, math.Inf(1)), 0, 0)
}

// The complex permeability of a sheet at its ends: μ where it is thin against the skin depth, μ δ/d (1 − j) where it is thick
// (limits of tanh; K. J. Binns and others, 1992, from memory), and in between the value at d = 2δ, x = 1 + j:
// tanh(1+j)/(1+j) = 0.6778 − 0.4061j (by hand from tanh x = (sinh 2 + j sin 2)/(cosh 2 + cos 2)).
func TestSheetMu(t *testing.T) {
	const hz, sigma, mu = 1000.0, 2e6, 1000.0
	delta := SkinDepthM(hz, sigma, mu)
	near := func(got, want complex128, tol float64) {
		t.Helper()
		if d := got - want; !(math.Hypot(real(d), imag(d)) <= tol*mu) {
			t.Errorf("%v, want %v", got, want)
		}
	}
	near(SheetMu(hz, sigma, mu, delta/30), 1000-0.1852i, 1e-6)
	near(SheetMu(hz, sigma, mu, 2*delta), 1000*complex(0.6778, -0.4061), 2e-4)
	near(SheetMu(hz, sigma, mu, 40*delta), 25*complex(1, -1), 1e-6)
	near(SheetMu(hz, sigma, mu, 1e3*delta), complex(1, -1), 1e-6)
	for _, v := range []complex128{SheetMu(0, sigma, mu, 1e-3), SheetMu(hz, math.NaN(), mu, 1e-3), SheetMu(hz, sigma, mu, 0)} {
		near(v, mu, 0)
	}
}
