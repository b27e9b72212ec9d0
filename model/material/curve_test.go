package material

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/si"
)

func TestCurveRefusals(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name   string
		points []CurvePoint
		want   string
	}{
		{"none", nil, "besides the origin"},
		{"origin only", []CurvePoint{{0, 0}}, "besides the origin"},
		{"falling B", []CurvePoint{{0, 0}, {100, 1}, {200, 0.9}}, "point 3"},
		{"equal H", []CurvePoint{{0, 0}, {100, 1}, {100, 1.1}}, "point 3"},
		{"negative", []CurvePoint{{-1, 0.1}}, "negative"},
		{"not a number", []CurvePoint{{1, nan}}, "not a number"},
		{"infinite", []CurvePoint{{inf, 1}}, "not a number"},
	} {
		_, err := NewCurve(c.points, Linear)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want a mention of %q", c.name, err, c.want)
		}
	}
	if _, err := SaturationCurve(1, 1); err == nil {
		t.Error("permeability 1 accepted")
	}
	if _, err := SaturationCurve(100, -1); err == nil {
		t.Error("negative saturation accepted")
	}
}

func TestBelowVacuum(t *testing.T) {
	c, err := NewCurve([]CurvePoint{{0, 0}, {1000, 1}, {1e6, 1.5}}, Linear)
	if err != nil {
		t.Fatal(err)
	}
	if from, ok := c.BelowVacuum(); !ok || from != 1 {
		t.Errorf("BelowVacuum = %g, %v, want 1 T", from, ok)
	}
	for _, m := range Irons() {
		if c, err = m.Curve(); err != nil {
			t.Fatal(err)
		}
		if from, ok := c.BelowVacuum(); ok {
			t.Errorf("%s rises more slowly than vacuum from %g T", m.Name, from)
		}
	}
}

// Inverse, monotony, odd symmetry and slope against differences, both ways of
// interpolating, every class.
func TestCurveIdentities(t *testing.T) {
	for _, m := range Irons() {
		for _, interp := range []Interpolation{Linear, Cubic} {
			c, err := m.Curve()
			if err != nil {
				t.Fatalf("%s: %v", m.Name, err)
			}
			if c, err = NewCurve(c.Points(), interp); err != nil {
				t.Fatal(err)
			}
			last := -1.0
			for i := 0; i <= 400; i++ {
				b := (0.00037 + float64(i)) / 400 * 1.2 * c.LastT()
				h, slope := c.FieldAt(b)
				if !(h > last) {
					t.Fatalf("%s %d: H does not rise at %g T", m.Name, interp, b)
				}
				last = h
				if back := c.FluxDensityAtT(h); math.Abs(back-b) > 1e-10*b {
					t.Errorf("%s %d: B(H(%g)) = %g", m.Name, interp, b, back)
				}
				if minus, _ := c.FieldAt(-b); minus != -h || c.FluxDensityAtT(-h) != -c.FluxDensityAtT(h) {
					t.Errorf("%s %d: not odd at %g T", m.Name, interp, b)
				}
				d := 1e-7 * c.LastT()
				up, _ := c.FieldAt(b + d)
				down, _ := c.FieldAt(b - d)
				if diff := (up - down) / (2 * d); interp == Cubic && math.Abs(diff-slope) > 2e-3*slope {
					t.Errorf("%s: slope %g at %g T, differences give %g", m.Name, slope, b, diff)
				}
				nu, dnu := c.Reluctivity(b * b)
				if math.Abs(nu*b-h) > 1e-12*h || math.Abs(nu+2*b*b*dnu-slope) > 1e-9*slope {
					t.Errorf("%s: reluctivity at %g T", m.Name, b)
				}
			}
		}
	}
}

// Published values: equation (1) of TEAM problem 13 at 2.0, 2.1 and 2.2 T (worked
// out in fixtures/reference/bh-curves.yaml), and the fit of 77 % nickel-iron.
func TestPublishedPoints(t *testing.T) {
	steel, _ := IronByName("low-carbon-steel")
	c, err := steel.Curve()
	if err != nil {
		t.Fatal(err)
	}
	for b, want := range map[float64]float64{1.0: 342, 1.8: 9423, 2.0: 20996, 2.1: 28904, 2.2: 41976} {
		if h, _ := c.FieldAt(b); math.Abs(h-want) > 1 {
			t.Errorf("H(%g T) = %g A/m, want %g", b, h, want)
		}
	}
	nickel, _ := IronByName("nickel-iron-80")
	if c, err = nickel.Curve(); err != nil {
		t.Fatal(err)
	}
	for b, want := range map[float64]float64{0.1: 0.57, 0.2: 0.86, 0.4: 1.52, 0.6: 6.93} {
		if h, _ := c.FieldAt(b); math.Abs(h-want) > 0.01*want+0.005 {
			t.Errorf("nickel-iron: H(%g T) = %g A/m, want %g", b, h, want)
		}
	}
	if mu, _ := c.MuRelMax(); !(mu > 1e5 && mu < 3.5e5) {
		t.Errorf("nickel-iron: largest permeability %g", mu)
	}
}

func TestSaturationCurve(t *testing.T) {
	const mu, js = 2000, 1.6
	c, err := SaturationCurve(mu, js)
	if err != nil {
		t.Fatal(err)
	}
	if got := c.MuRelInitial(); math.Abs(got/mu-1) > 1e-5 {
		t.Errorf("initial permeability %g", got)
	}
	for _, h := range []float64{1, 37, 410, 2300, 1e4, 1e5} {
		x := math.Pi * (mu - 1) * si.Mu0HPerM * h / (2 * js)
		want := si.Mu0HPerM*h + 2*js/math.Pi*math.Atan(x)
		if got := c.FluxDensityAtT(h); math.Abs(got-want) > 2e-4*want {
			t.Errorf("B(%g A/m) = %g T, want %g", h, got, want)
		}
	}
}
