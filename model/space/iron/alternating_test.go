package iron

import (
	"fmt"
	"math"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
)

// ends is a loop of current on the rectangle x1 … x2 by z1 … z2 at height y, current along +z at x2.
func ends(x1, x2, y, z1, z2 float64) Loop {
	corners := [4]geom.Point3{{X: x2, Y: y, Z: z1}, {X: x2, Y: y, Z: z2}, {X: x1, Y: y, Z: z2}, {X: x1, Y: y, Z: z1}}
	half := func(p geom.Point3, a, b, c geom.Point3) float64 {
		a, b, c = a.Sub(p), b.Sub(p), c.Sub(p)
		la, lb, lc := a.Norm(), b.Norm(), c.Norm()
		return math.Atan2(a.Dot(b.Cross(c)), la*lb*lc+a.Dot(b)*lc+b.Dot(c)*la+c.Dot(a)*lb)
	}
	return Loop{
		B: func(p geom.Point3) (sum geom.Point3) {
			for i, a := range corners {
				sum = sum.Add(closedform.SegmentB(p, a, corners[(i+1)%4], 1))
			}
			return sum
		},
		PotentialA: func(p geom.Point3) float64 {
			return -(half(p, corners[0], corners[1], corners[2]) + half(p, corners[0], corners[2], corners[3])) / (2 * math.Pi)
		},
	}
}

// Iron of complex permeability whose imaginary part is nothing is the steady iron, for bars and for a loop given by its
// potential; sums of phasors superpose. What alternates in bars beside iron that does not conduct is such a sum at every
// frequency.
func TestAlternatingIsSteady(t *testing.T) {
	for _, depthM := range []float64{12 * mm, 60 * mm} {
		t.Run(fmt.Sprint(depthM/mm, " mm"), func(t *testing.T) { alternatingIsSteady(t, depthM) })
	}
}

func alternatingIsSteady(t *testing.T, depthM float64) {
	pieces, bars := threeChannels(depthM, 2000)
	p, err := New(pieces, threeSensors, Options{})
	if err != nil {
		t.Fatal(err)
	}
	// Two loops, one even about the mid-plane and one that is not.
	for name, loop := range map[string]Loop{"even": ends(-6*mm, 7*mm, 1*mm, -9*mm, 9*mm), "uneven": ends(-6*mm, 7*mm, 1*mm, -2*mm, 9*mm)} {
		basis := NewBasis(append(append([]Source(nil), bars...), loop.B))
		still, err := p.LinearOf(nil, basis)
		if err != nil {
			t.Fatal(err)
		}
		mu := []complex128{2000, 2000, 2000}
		w := []complex128{2 - 1i, 0.5i, -1}
		a, err := p.Alternating(mu, NewBasis(bars), NewLoops([]Loop{loop}), []Sum{{Basis: w, Loops: []complex128{3 + 2i}}}, false)
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range threeSensors {
			re, im, _ := a.B(q, 0)
			var wantRe, wantIm geom.Point3
			for s, f := range append(w[:3:3], 3+2i) {
				b, _ := still.B(q, s)
				wantRe, wantIm = wantRe.Add(b.Scale(real(f))), wantIm.Add(b.Scale(imag(f)))
			}
			size := math.Hypot(wantRe.Norm(), wantIm.Norm())
			if e := math.Hypot(re.Sub(wantRe).Norm(), im.Sub(wantIm).Norm()); !(e <= 2e-3*size) {
				t.Errorf("%s at %v: %v %v, want %v %v", name, q, re, im, wantRe, wantIm)
			}
		}
		weights := []complex128{100}
		all := []complex128{100 * w[0], 100 * w[1], 100 * w[2], 100 * (3 + 2i)}
		got, want := a.Wall(1, weights), still.Wall(1, all)
		if !(math.Abs(got.PeakT-want.PeakT) <= 2e-3*want.PeakT) || !(math.Abs(got.RmsT-want.RmsT) <= 2e-3*want.RmsT) {
			t.Errorf("%s: wall %g %g, want %g %g", name, got.PeakT, got.RmsT, want.PeakT, want.RmsT)
		}
	}
}

// A closed ring of sheet round a wire: B = μ0 μ I/(2π r) with the complex μ (Ampère's law; J. D. Jackson,
// Classical Electrodynamics, 3rd ed., section 5.8, with phasors).
func TestAlternatingRing(t *testing.T) {
	const in, wall = 20 * mm, 2 * mm
	p, err := New([]Piece{{Name: "ring", Section: geom.Ring(in, wall, 0, 48), FromZM: -5 * mm, ToZM: 5 * mm, MuRel: 500}}, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	wire := longBar(0, 0, 0.1*mm, 0.1*mm)
	mu := complex(300, -200)
	a, err := p.Alternating([]complex128{mu}, NewBasis([]Source{wire}), NewLoops(nil), []Sum{{Basis: []complex128{1i}}}, false)
	if err != nil {
		t.Fatal(err)
	}
	r := in/2 + wall/2
	re, im, _ := a.B(geom.Point3{X: r * math.Cos(0.07), Y: r * math.Sin(0.07)}, 0)
	want := mu * 1i * complex(2e-7/r, 0) // along +y
	for _, v := range [][2]float64{{re.Y, real(want)}, {im.Y, imag(want)}} {
		if !(math.Abs(v[0]-v[1]) <= 0.06*math.Hypot(real(want), imag(want))) {
			t.Errorf("in the ring %g, want %g", v[0], v[1])
		}
	}
	// What is in a wall is the mean of cells: tighter.
	w := a.Wall(0, []complex128{100})
	size := math.Hypot(real(mu), imag(mu)) * 2e-5 / wall * math.Log((in/2+wall)/(in/2))
	if !(math.Abs(w.PeakT-size) <= 0.01*size) {
		t.Errorf("wall %g T, want %g", w.PeakT, size)
	}
}
