package iron

import (
	"math"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/si"
)

func ringPiece(innerM, wallM, slitM, depthM, mu float64, centre geom.Point, turnRad float64) Piece {
	return Piece{
		Name: "ring", Section: geom.Ring(2*innerM, wallM, slitM, 128).Place(centre, turnRad), FromZM: -depthM / 2, ToZM: depthM / 2, MuRel: mu,
		Ring: &Ring{Centre: centre, InnerM: innerM, OuterM: innerM + wallM, SlitM: slitM, TurnRad: turnRad},
	}
}

func meshed(t *testing.T, points []geom.Point3, pieces ...Piece) *Problem {
	t.Helper()
	p, err := New(pieces, points, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func wireAt(at geom.Point) Source {
	return func(q geom.Point3) geom.Point3 { return closedform.FilamentB(q.XY().Sub(at), 1).Space(0) }
}

// A closed ring of any depth about a wire on its axis: H in it is I/(2πr) by Ampère's law, so that B follows the curve, and
// outside and in the hole it adds nothing, since its magnetisation runs round in circles of one value. Linear, of complex
// permeability, saturating.
func TestClosedRingAboutAWire(t *testing.T) {
	const a, b, amps = 18 * mm, 21 * mm, 60.0
	centre := geom.Point{X: 3 * mm, Y: -2 * mm}
	points := []geom.Point3{{X: 3 * mm, Y: 10 * mm}, {X: -16 * mm, Y: -4 * mm, Z: 7 * mm}, {X: 30 * mm, Y: 5 * mm, Z: 2 * mm}}
	piece := ringPiece(a, b-a, 0, 12*mm, 3000, centre, 0)
	piece.Curve = steelCurve(t)
	p := meshed(t, points, piece)
	wire := wireAt(centre)
	basis := NewBasis([]Source{wire})
	const mu = 3000 - 800i
	lin, err := p.Linear([]float64{3000}, []Source{wire})
	if err != nil {
		t.Fatal(err)
	}
	alt, err := p.Alternating([]complex128{mu}, basis, NewLoops(nil), []Sum{{Basis: []complex128{1}}}, false)
	if err != nil {
		t.Fatal(err)
	}
	d, err := p.DraftOf(basis, []float64{amps})
	if err != nil {
		t.Fatal(err)
	}
	state, err := d.State()
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range points {
		want := wire(q)
		got, bound := lin.B(q, 0)
		re, im, altBound := alt.B(q, 0)
		s, stateBound := state.B(q)
		for _, c := range []struct {
			name       string
			off, bound float64
		}{
			{"linear", got.Sub(want).Norm(), bound.T}, {"alternating", math.Hypot(re.Sub(want).Norm(), im.Norm()), altBound.T},
			{"saturating", s.Scale(1 / amps).Sub(want).Norm(), stateBound.T / amps},
		} {
			if size := want.Norm(); !(c.off <= 1e-3*size) || !(c.off <= c.bound+1e-9*size) || !(c.bound <= 0.01*size) {
				t.Errorf("%s at %v: off by %.3g of the field, bound %.3g", c.name, q, c.off/size, c.bound/size)
			}
		}
	}
	const n = 2000
	curved := 0.0
	for i := range n {
		r := a + (b-a)*(float64(i)+0.5)/n
		curved += piece.Curve.FluxDensityAtT(amps/(2*math.Pi*r)) / n
	}
	mean := si.Mu0HPerM / (2 * math.Pi) * math.Log(b/a) / (b - a)
	for _, c := range []struct {
		name string
		wall Wall
		want float64
	}{
		{"linear", lin.Wall(0, []complex128{1}), 3000 * mean}, {"alternating", alt.Wall(0, []complex128{1}), math.Hypot(3000, 800) * mean},
		{"saturating", state.Wall(0), curved},
	} {
		if off := math.Abs(c.wall.PeakT - c.want); !(off <= 0.005*c.want) || !(off <= c.wall.PeakBoundT) {
			t.Errorf("%s: wall %.5g T, want %.5g, bound %.2g", c.name, c.wall.PeakT, c.want, c.wall.PeakBoundT)
		}
	}
}

// The mean of H round a ring is I/(2πr) wherever in the hole the wire is (Ampère's law), and where the ring carries more than that
// and where less hangs on no way of solving.
func TestClosedRingAboutAWireAside(t *testing.T) {
	const a, b, mu, r = 18 * mm, 21 * mm, 2000.0, 19.5 * mm
	piece := ringPiece(a, b-a, 0, 12*mm, mu, geom.Point{}, 0)
	wire := wireAt(geom.Point{X: 12 * mm, Y: 2 * mm})
	basis := NewBasis([]Source{wire})
	p := meshed(t, nil, piece)
	lin, err := p.LinearOf(nil, basis)
	if err != nil {
		t.Fatal(err)
	}
	alt, err := p.Alternating([]complex128{mu}, basis, NewLoops(nil), []Sum{{Basis: []complex128{1}}}, false)
	if err != nil {
		t.Fatal(err)
	}
	piece.Curve, piece.MuRel = steelCurve(t), 0
	low, err := meshed(t, nil, piece).Saturate(func(q geom.Point3) geom.Point3 { return wire(q).Scale(0.01) })
	if err != nil {
		t.Fatal(err)
	}
	small, err := low.LinearOf(basis)
	if err != nil {
		t.Fatal(err)
	}
	const n = 72
	var mean, meanAlt, meanLow float64
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.3) / n)
		q, round := geom.Point3{X: r * cos, Y: r * sin, Z: 0.5 * mm}, geom.Point3{X: -sin, Y: cos}
		at, _ := lin.B(q, 0)
		re, _, _ := alt.B(q, 0)
		s, _ := low.B(q)
		mean, meanAlt, meanLow = mean+at.Dot(round)/n, meanAlt+re.Dot(round)/n, meanLow+s.Dot(round)/0.01/n
	}
	for _, c := range []struct{ got, mu float64 }{{mean, mu}, {meanAlt, mu}, {meanLow, piece.Curve.MuRelInitial()}} {
		if want := si.Mu0HPerM * c.mu / (2 * math.Pi * r); !(math.Abs(c.got-want) <= 0.01*want) {
			t.Errorf("mean flux density %.5g T/A, want %.5g", c.got, want)
		}
	}
	one := []complex128{1}
	l, c, s, ls := lin.Wall(0, one), alt.Wall(0, one), low.Wall(0), small.Wall(0, one)
	if off := math.Abs(c.PeakT - l.PeakT); !(off <= 1e-6*l.PeakT) {
		t.Errorf("alternating wall %.6g, linear %.6g T/A", c.PeakT, l.PeakT)
	}
	if off := math.Abs(100*s.PeakT - ls.PeakT); !(off <= 1e-3*ls.PeakT) {
		t.Errorf("wall of little current %.6g, linear %.6g T/A", 100*s.PeakT, ls.PeakT)
	}
	if !(l.PeakT > 1.01*mean) {
		t.Errorf("wall %.5g T/A nowhere above the mean %.5g", l.PeakT, mean)
	}
}

// A tube that is long against its width in a field across it: with outer and inner radius b and a, in the hole and outside
//
//	B = 4μ/((μ+1)² − (μ−1)² a²/b²),  B_r = (1 + C/ρ²) cos φ,  B_φ = −(1 − C/ρ²) sin φ,  C = b²(b² − a²)(μ² − 1)/((μ+1)² b² − (μ−1)² a²)
//
// Source: J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.12, for the sphere; for the cylinder by the same two
// boundary conditions at each face.
func TestLongTubeAcross(t *testing.T) {
	const a, b, mu = 18 * mm, 22 * mm, 50.0
	points := []geom.Point3{{X: 4 * mm, Y: 6 * mm}, {X: 23 * mm}, {X: 16.26 * mm, Y: 16.26 * mm}, {Y: -30 * mm}}
	p := meshed(t, points, ringPiece(a, b-a, 0, 0.4, mu, geom.Point{}, 0))
	l, err := p.Linear(nil, []Source{uniform(geom.Point3{X: 1})})
	if err != nil {
		t.Fatal(err)
	}
	den := (mu+1)*(mu+1)*b*b - (mu-1)*(mu-1)*a*a
	for i, q := range points {
		want := geom.Point3{X: 4 * mu * b * b / den}
		if i > 0 {
			rho, c := math.Hypot(q.X, q.Y), b*b*(b*b-a*a)*(mu*mu-1)/den
			cos, sin := q.X/rho, q.Y/rho
			r, f := (1+c/(rho*rho))*cos, -(1-c/(rho*rho))*sin
			want = geom.Point3{X: r*cos - f*sin, Y: r*sin + f*cos}
		}
		got, bound := l.B(q, 0)
		if off := got.Sub(want).Norm(); !(off <= 0.01) || !(off <= bound.T) {
			t.Errorf("%v: %v, want %v, bound %.3g", q, got, want, bound.T)
		}
	}
}

// A ring turned and moved with all about it, and a second of equal shape far off.
func TestRingTurnedAndMoved(t *testing.T) {
	if !*long {
		t.Skip("seconds: with -long")
	}
	const turn = 0.7
	move := geom.Point{X: 40 * mm, Y: -15 * mm}
	wire, q := geom.Point{X: 2 * mm, Y: -3 * mm}, geom.Point{Y: 19 * mm}
	l, err := meshed(t, nil, ringPiece(18*mm, 2*mm, 4*mm, 15*mm, 2000, geom.Point{}, 0)).Linear(nil, []Source{wireAt(wire)})
	if err != nil {
		t.Fatal(err)
	}
	want, _ := l.B(q.Space(0), 0)
	to := func(p geom.Point) geom.Point { return p.Rotate(turn).Add(move) }
	far := geom.Point{X: 20, Y: 30}
	twins := meshed(t, nil, ringPiece(18*mm, 2*mm, 4*mm, 15*mm, 2000, move, turn), ringPiece(18*mm, 2*mm, 4*mm, 15*mm, 2000, move.Add(far), turn))
	l, err = twins.Linear(nil, []Source{wireAt(to(wire)), wireAt(to(wire).Add(far))})
	if err != nil {
		t.Fatal(err)
	}
	for k, at := range []geom.Point{to(q), to(q).Add(far)} {
		got, bound := l.B(at.Space(0), k)
		back := got.XY().Rotate(-turn)
		if off := back.Sub(want.XY()).Norm(); !(off <= 0.5*bound.T) || !(off <= 0.01*want.Norm()) {
			t.Errorf("ring %d: %v, want %v, bound %.3g", k, back, want, bound.T)
		}
	}
}

// Both meshes of a closed ring have its area at any count of corners; those of a ring with a slit have its sides, and all
// triangles lie counter-clockwise.
func TestRingMesh(t *testing.T) {
	for _, slit := range []float64{0, 5 * mm} {
		p := meshed(t, nil, ringPiece(15*mm, 6*mm, slit, 12*mm, 100, geom.Point{}, 0))
		for k, l := range p.levels {
			s, sum, sides := l.m.columns[0].s, 0.0, 0
			for _, tri := range s.tris {
				a, b, c := s.pts[tri[0]], s.pts[tri[1]], s.pts[tri[2]]
				area := b.Sub(a).Cross(c.Sub(a)) / 2
				if !(area > 0) {
					t.Errorf("slit %g, mesh %d: triangle of area %g", slit, k, area)
				}
				sum += area
			}
			for _, q := range s.pts {
				if q.Y > 0 && math.Abs(math.Abs(q.X)-slit/2) < 1e-9 {
					sides++
				}
			}
			want := math.Pi * (21*21 - 15*15) * mm * mm
			if off := math.Abs(sum - want); slit == 0 && off > 1e-9*want {
				t.Errorf("mesh %d: area off by %.3g", k, off/want)
			}
			if through := 2 * (1 + k); slit > 0 && sides < through+2 {
				t.Errorf("mesh %d: %d nodes on the sides of the slit", k, sides)
			}
		}
	}
}
