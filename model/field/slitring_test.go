package field_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/schema/load"
)

// A slit on the axis of a uniform field takes next to nothing from a ring: the flux that enters there parts to either
// side. Half a millimetre outside, away from it, the field is that of the closed shell in a field along y,
//
//	B_r = B (1 + C/ρ²) sin φ,  B_φ = B (1 − C/ρ²) cos φ,  C = b²(b² − a²)(μ² − 1)/((μ + 1)² b² − (μ − 1)² a²)
//
// Source: J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.12, for the sphere; for the cylinder by the same two
// boundary conditions at each face.
func TestSlitRingIsRound(t *testing.T) {
	const a, b, mu = 20e-3, 24e-3, 1000.0
	l, problems := load.Load("ring.yaml", []byte(fmt.Sprintf(`layout: 1
bars: {A: {section: {diameter: 4 mm}, at: [90 mm, 0 mm], metal: copper}}
shields: {K: {form: {ring: {inner: %g mm, wall: %g mm, slit: 0.04 mm}}, at: [0 mm, 0 mm], material: m, depth: long}}
materials: {m: {relative-permeability: %g}}
sensors: {S: {reads: A, at: [24.5 mm, 0 mm], axis: 0 deg}, T: {reads: A, at: [-17.3241 mm, -17.3241 mm], axis: 0 deg}}
surroundings: {return: far}
duties: {d: {kind: continuous, currents: {A: {dc: 100 A}}}}
`, 2e3*a, 1e3*(b-a), mu)))
	if l == nil {
		t.Fatal(problems)
	}
	f, err := field.NewModel(l).Precise().Field(0)
	if err != nil {
		t.Fatal(err)
	}
	c := b * b * (b*b - a*a) * (mu*mu - 1) / ((mu+1)*(mu+1)*b*b - (mu-1)*(mu-1)*a*a)
	rho := b + 0.5e-3
	for deg := -135.0; deg <= 45; deg += 3.7 {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		v := f.Uniform(geom.Point3{X: rho * cos, Y: rho * sin})[1]
		br, bp := (1+c/(rho*rho))*sin, (1-c/(rho*rho))*cos
		dx, dy := v.X-complex(br*cos-bp*sin, 0), v.Y-complex(br*sin+bp*cos, 0)
		off, want := math.Hypot(cmplx.Abs(dx), cmplx.Abs(dy)), math.Hypot(br, bp)
		if off > v.Bound || off > 1e-3*want || v.Bound > 1e-2*want {
			t.Errorf("%g deg: off by %.3g of %.4g T/T, bound %.3g", deg, off, want, v.Bound)
		}
	}
}

// A ring that is bonded to the bar in it carries current as direct current divides, by area, and none of it in its slit: the field
// is that of a round bar and of a full ring, which has none inside, less that of many filaments over the slit
// (superposition; Jackson, section 5.2, for the filament).
func TestSlitOfABondedRing(t *testing.T) {
	l, problems := load.Load("ring.yaml", []byte(`layout: 1
bars: {A: {section: {diameter: 10 mm}, at: [0 mm, 0 mm], metal: copper}}
shields: {K: {form: {ring: {inner: 36 mm, wall: 2 mm, slit: 3 mm}}, at: [0 mm, 0 mm], material: m, depth: long}}
materials: {m: {conductivity: 57.42 MS/m}}
bonded: [[A, K]]
sensors: {S: {reads: A, at: [0 mm, 13 mm], axis: 180 deg}}
surroundings: {return: far}
duties: {d: {kind: continuous, currents: {A: {dc: 100 A}}}}
`))
	if l == nil {
		t.Fatal(problems)
	}
	f, err := field.NewModel(l).Precise().Field(0)
	if err != nil {
		t.Fatal(err)
	}
	const inner, outer, half, at, n = 18e-3, 20e-3, 1.5e-3, 13e-3, 400
	slitM2, slitB := 0.0, 0.0 // the latter per ampere over a square metre
	for i := range n {
		x := half * (2*(float64(i)+0.5)/n - 1)
		low, high := math.Sqrt(inner*inner-x*x), math.Sqrt(outer*outer-x*x)
		for k := range n {
			y := low + (high-low)*(float64(k)+0.5)/n
			cell := 2 * half / n * (high - low) / n
			slitM2 += cell
			slitB += cell * -closedform.FilamentB(geom.Point{X: -x, Y: at - y}, 1).X
		}
	}
	bar, ring := math.Pi*25e-6, math.Pi*(outer*outer-inner*inner)
	want := (bar*-closedform.FilamentB(geom.Point{Y: at}, 1).X - slitB) / (bar + ring - slitM2)
	got := f.PerAmpere(&l.Sensors[0], 0).Axis
	if off := math.Abs(real(got.V) - want); off > got.Bound+1e-5*want || off > 1e-3*want {
		t.Errorf("%.6g T/A, want %.6g, bound %.2g", real(got.V), want, got.Bound)
	}
}
