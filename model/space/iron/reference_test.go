package iron

import (
	"flag"
	"fmt"
	"math"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/geom"
)

var _ = flag.Bool("update", false, "rewrite the tables of fixtures/reference/README.md")

const (
	tableFile = "../../../fixtures/reference/README.md"

	jackson511 = "J. D. Jackson, Classical Electrodynamics, 3rd ed., 5.11"
	jackson512 = "Jackson, 5.12; analytic-cases.yaml"
	osborn     = "J. A. Osborn, Phys. Rev. 67 (1945) 351"
	spaceFile  = "space-cases.yaml"
)

// The table of iron in space, written with -update; each row must hold its tolerance.
func TestReferenceTable(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds")
	}
	rows := sphereRows(t)
	rows = append(rows, shellRows(t)...)
	rows = append(rows, ellipsoidRows(t)...)
	rows = append(rows, threeChannelRows(t)...)
	rows = append(rows, saturatingRows(t)...)
	if len(rows) < 110 {
		t.Errorf("%d rows", len(rows))
	}
	fixtures.ReferenceBlock(t, tableFile, "go test ./model/space/iron -run TestReferenceTable -update", `
## Iron of finite depth against references

Vectors are (x, y, z). *Difference*, *tolerance* and *certainty*, our own bound, are relative to the size of the reference; where that is
the rest which a shield lets in, to the field outside. The flux densities of walls are means over the thickness of the floor at its centre line.
`, rows, "")
}

func row1(name, quantity, unit string, want, got, tol float64, source string) fixtures.ReferenceRow {
	return fixtures.ReferenceRow{Case: name, Quantity: quantity, Unit: unit, Want: []float64{want}, Got: []float64{got}, Tolerance: tol, Source: source}
}

func xyz(p geom.Point3) []float64 { return []float64{p.X, p.Y, p.Z} }

func row3(name, quantity, unit string, want, got geom.Point3, tol, bound float64, source string) fixtures.ReferenceRow {
	return fixtures.ReferenceRow{Case: name, Quantity: quantity, Unit: unit, Want: xyz(want), Got: xyz(got), Tolerance: tol, Bound: bound, Source: source}
}

// dipoleOutside returns a uniform field of 1 along z and that of a dipole in the
// middle, whose field on its axis at the distance a is 2 m.
func dipoleOutside(q geom.Point3, a, m float64) geom.Point3 {
	r := q.Norm()
	k := m * math.Pow(a/r, 3)
	return geom.Point3{Z: 1 - k}.Add(q.Scale(3 * q.Z * k / (r * r)))
}

var outside = []geom.Point3{{Z: 15 * mm}, {X: 15 * mm}, {X: 9 * mm, Y: 6 * mm, Z: 10 * mm}}

func atMM(q geom.Point3) string {
	return fmt.Sprintf("at (%g, %g, %g) mm", round(q.X/mm), round(q.Y/mm), round(q.Z/mm))
}

func round(v float64) float64 { return math.Round(1e6*v) / 1e6 }

func sphereRows(t *testing.T) []fixtures.ReferenceRow {
	same := func(p geom.Point3) geom.Point3 { return p.Scale(10 * mm) }
	coarse, fine := ball(4, same), ball(8, same)
	var rows []fixtures.ReferenceRow
	for _, mu := range []float64{2, 10, 1000} {
		l, err := rawProblem(mu, coarse, fine).Linear(nil, []Source{uniform(geom.Point3{Z: 1})})
		if err != nil {
			t.Fatal(err)
		}
		name := fmt.Sprintf("solid sphere, μr %g", mu)
		b, _ := means(l, 0)
		rows = append(rows, row1(name, "H inside over outside, 3/(μr+2)", "", 3/(mu+2), b.Z/mu, 0.006, jackson511))
		for _, q := range outside {
			got, bound := l.B(q, 0)
			rows = append(rows, row3(name, "B/B0 "+atMM(q), "", dipoleOutside(q, 10*mm, (mu-1)/(mu+2)), got, 0.01, bound.T, jackson511))
		}
	}
	return rows
}

// shellRows takes the field inside and outside. What a thick shell of high permeability
// lets in, one part in 94, the meshes hold to a share of the field outside alone.
func shellRows(t *testing.T) []fixtures.ReferenceRow {
	const a, b = 10.0, 12.0
	coarse, fine := shell(4, 1, a*mm, b*mm), shell(8, 2, a*mm, b*mm)
	var rows []fixtures.ReferenceRow
	for _, mu := range []float64{10, 100, 1000} {
		l, err := rawProblem(mu, coarse, fine).Linear(nil, []Source{uniform(geom.Point3{Z: 1})})
		if err != nil {
			t.Fatal(err)
		}
		name := fmt.Sprintf("spherical shell 10 to 12 mm, μr %g", mu)
		den := (2*mu+1)*(mu+2) - 2*math.Pow(a/b, 3)*(mu-1)*(mu-1)
		got, bound := l.B(geom.Point3{}, 0)
		in := row3(name, "B/B0 at the centre", "", geom.Point3{Z: 9 * mu / den}, got, 0.015, bound.T, jackson512)
		in.Of = 1
		rows = append(rows, in)
		m := (2*mu + 1) * (mu - 1) * (b*b*b - a*a*a) / (b * b * b) / den
		for _, q := range outside {
			got, bound := l.B(q, 0)
			rows = append(rows, row3(name, "B/B0 "+atMM(q), "", dipoleOutside(q, b*mm, m), got, 0.01, bound.T, jackson512))
		}
	}
	return rows
}

func ellipsoidRows(t *testing.T) []fixtures.ReferenceRow {
	const m, mu = 3.0, 100.0
	s := math.Sqrt(m*m - 1)
	along := (m/s*math.Log(m+s) - 1) / (m*m - 1)
	stretch := func(p geom.Point3) geom.Point3 {
		return geom.Point3{X: 5 * mm * p.X, Y: 5 * mm * p.Y, Z: 5 * mm * m * p.Z}
	}
	l, err := rawProblem(mu, ball(4, stretch), ball(8, stretch)).Linear(nil, []Source{uniform(geom.Point3{Z: 1}), uniform(geom.Point3{X: 1})})
	if err != nil {
		t.Fatal(err)
	}
	var rows []fixtures.ReferenceRow
	for k, want := range []float64{along, (1 - along) / 2} {
		_, mag := means(l, k)
		n := (1/(4e-7*math.Pi) - mag.Norm()/(mu-1)) / mag.Norm()
		rows = append(rows, row1("prolate ellipsoid 3:1, μr 100", []string{"demagnetising factor along", "demagnetising factor across"}[k], "", want, n, 0.01, osborn))
	}
	return rows
}

// threeChannelRows computes every case of three channels of finite depth in
// fixtures/reference/space-cases.yaml; the plane limit is TestPlaneLimit's.
func threeChannelRows(t *testing.T) []fixtures.ReferenceRow {
	var rows []fixtures.ReferenceRow
	solved := channelsByDepth{}
	for _, c := range threeUCases(t) {
		if c.depthM == 0 {
			continue
		}
		l := solved.at(t, c.depthM)
		source, weights := c.source()
		current := real(weights[source])
		for _, s := range c.sensors {
			b, bound := l.B(s.at, source)
			r := row3(c.id, "B "+atMM(s.at), "mT", s.b.Scale(1/millitesla), b.Scale(current/millitesla), 0.01, bound.T*current/millitesla, spaceFile)
			r.Spread = s.u.Norm() / millitesla
			rows = append(rows, r)
		}
		for k, w := range c.walls {
			rows = append(rows, wallRows(c.id, w, floorWall3(l, k, weights, threeX[w.shield[1:]]))...)
		}
	}
	return rows
}

// source returns the one bar that carries current, and the currents of all.
func (c *spaceCase) source() (source int, weights []complex128) {
	weights = make([]complex128, 3)
	for k, id := range []string{"U", "V", "W"} {
		if i := c.currents[id]; i != 0 {
			source, weights[k] = k, complex(i, 0)
		}
	}
	return source, weights
}

func wallRows(id string, want spaceWall, got Wall) []fixtures.ReferenceRow {
	row := func(what string, want, u, got, bound float64) fixtures.ReferenceRow {
		r := row1(id, "wall of "+what, "mT", want/millitesla, got/millitesla, 0.03, spaceFile)
		r.Bound, r.Spread = bound/millitesla, u/millitesla
		return r
	}
	return []fixtures.ReferenceRow{
		row(want.shield+", mid-plane", want.z0, want.uz0, got.MidT, got.MidBoundT),
		row(want.shield+", mean over the depth", want.mean, want.um, got.PeakT, got.PeakBoundT),
	}
}

func saturatingRows(t *testing.T) []fixtures.ReferenceRow {
	p := oneChannel(t)
	bar := longBar(0, 0, 20*mm, 4*mm)
	var rows []fixtures.ReferenceRow
	for _, c := range saturatingCases {
		s, err := p.Saturate(func(r geom.Point3) geom.Point3 { return bar(r).Scale(c.currentA) })
		if err != nil {
			t.Fatal(err)
		}
		at := geom.Point3{Y: 4.5 * mm}
		b, bound := s.B(at)
		id := fmt.Sprintf("one-u-saturating-%gA", c.currentA)
		r := row3(id, "B "+atMM(at), "mT", geom.Point3{X: c.bx}, b.Scale(1/millitesla), 0.01, bound.T/millitesla, spaceFile)
		r.Spread = c.u
		rows = append(rows, r)
		w := floorOf(&s.levels, 0, []complex128{1}, 0, s.p.scale)
		rows = append(rows, wallRows(id, spaceWall{"K", c.z0 * millitesla, c.uz0 * millitesla, c.mean * millitesla, c.um * millitesla}, w)...)
	}
	return rows
}
