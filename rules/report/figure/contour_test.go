package figure

import (
	"math"
	"math/rand"
	"testing"

	"busgauss/model/geom"
)

// sampled fills a grid over -1..1 both ways with f.
func sampled(nx, ny int, f func(geom.Point) float64) Grid {
	g := Grid{BoxM: geom.Box{Min: geom.Point{X: -1, Y: -1}, Max: geom.Point{X: 1, Y: 1}}, NX: nx, NY: ny, Value: make([]float64, nx*ny)}
	for j := range ny {
		for i := range nx {
			g.Value[j*nx+i] = f(g.place(float64(i), float64(j)))
		}
	}
	return g
}

func radius(p geom.Point) float64 { return p.Norm() }

// signedArea is positive for a curve that runs counter-clockwise.
func signedArea(c curve) float64 { return geom.Polygon(c.points).SignedAreaM2() }

// TestIsolineOfCone: the level r of the distance from the middle is a circle. On a
// cell of size h linear interpolation along an edge is off by at most h²/8 times
// the second derivative, 1/r.
func TestIsolineOfCone(t *testing.T) {
	g := sampled(81, 61, radius)
	h := 2.0 / 60
	for _, r := range []float64{0.2, 0.5, 0.9} {
		lines := isolines(g, r)
		if len(lines) != 1 || !lines[0].closed {
			t.Fatalf("level %v: %d curves", r, len(lines))
		}
		for _, p := range lines[0].points {
			if d := math.Abs(p.Norm() - r); d > h*h/8/r*1.05 {
				t.Errorf("level %v: a point at %v", r, p.Norm())
			}
		}
		// The high side, outside, lies on the left: clockwise. The area of a
		// polygon inscribed in a circle is short by about (chord/r)²/6.
		if a := signedArea(lines[0]); math.Abs(a+math.Pi*r*r) > math.Pi*r*r*(h/r)*(h/r)/2 {
			t.Errorf("level %v: area %v, want %v", r, a, -math.Pi*r*r)
		}
	}
	// At 1.2 the circle leaves the grid at all four sides: one arc in each corner.
	for _, c := range isolines(g, 1.2) {
		if c.closed {
			t.Error("an arc that leaves the grid is closed")
		}
	}
	if n := len(isolines(g, 1.2)); n != 4 {
		t.Errorf("%d arcs, want 4", n)
	}
}

// TestLinearIsExact: linear interpolation of a linear function has no error.
func TestLinearIsExact(t *testing.T) {
	g := sampled(7, 5, func(p geom.Point) float64 { return 3*p.X - 2*p.Y })
	lines := isolines(g, 0.37)
	if len(lines) != 1 || lines[0].closed {
		t.Fatalf("%d curves", len(lines))
	}
	for _, p := range lines[0].points {
		if math.Abs(3*p.X-2*p.Y-0.37) > 1e-12 {
			t.Errorf("%v is off the level", p)
		}
	}
	// Area above 3x - 2y = 0.37 in the square: the line meets y = ±1 within it, so
	// the mean of x there bounds a trapezium: 2·(1 - 0.37/3).
	sum := 0.0
	for _, c := range above(g, 0.37) {
		sum += signedArea(c)
	}
	if want := 2 * (1 - 0.37/3); math.Abs(sum-want) > 1e-12 {
		t.Errorf("area above %v, want %v", sum, want)
	}
}

// TestBandAreas: the areas between levels add up to what is known, also with
// holes, saddles and cells that touch by a corner.
func TestBandAreas(t *testing.T) {
	r := rand.New(rand.NewSource(7))
	for round := range 50 {
		g := sampled(9, 11, func(geom.Point) float64 {
			if r.Intn(12) == 0 {
				return math.NaN()
			}
			return math.Floor(10*r.Float64()) / 10
		})
		cells := 0
		for j := range g.NY - 1 {
			for i := range g.NX - 1 {
				if g.known(i, j) {
					cells++
				}
			}
		}
		area := func(level float64) (sum float64) {
			for _, c := range above(g, level) {
				if !c.closed {
					t.Fatalf("round %d: an outline is open", round)
				}
				sum += signedArea(c)
			}
			return sum
		}
		known := float64(cells) * 4 / 80
		if a := area(math.Inf(-1)); math.Abs(a-known) > 1e-12 {
			t.Errorf("round %d: known area %v, want %v", round, a, known)
		}
		last := known
		for _, l := range []float64{0.15, 0.3, 0.5, 0.75, 2} {
			a := area(l)
			if a > last+1e-12 || a < -1e-12 {
				t.Errorf("round %d: area above %v is %v, below the level before it %v", round, l, a, last)
			}
			last = a
		}
		if last != 0 {
			t.Errorf("round %d: area %v above the largest value", round, last)
		}
	}
}

// TestComplement: the high side of -f is the low side of f; where there is no
// saddle cell the two fill the square.
func TestComplement(t *testing.T) {
	f := func(p geom.Point) float64 { return math.Sin(2*p.X) + math.Cos(3*p.Y) }
	g, n := sampled(41, 37, f), sampled(41, 37, func(p geom.Point) float64 { return -f(p) })
	sum := 0.0
	for _, c := range append(above(g, 0.3), above(n, -0.3)...) {
		sum += signedArea(c)
	}
	if math.Abs(sum-4) > 1e-12 {
		t.Errorf("area above and below: %v, want 4", sum)
	}
}

func TestUnknownStaysBlank(t *testing.T) {
	g := sampled(5, 5, func(geom.Point) float64 { return 1 })
	g.Value[12] = math.NaN() // the middle
	sum, holes := 0.0, 0
	for _, c := range above(g, 0) {
		sum += signedArea(c)
		if signedArea(c) < 0 {
			holes++
		}
	}
	if math.Abs(sum-3) > 1e-12 || holes != 1 {
		t.Errorf("area %v with %d holes, want 3 with 1", sum, holes)
	}
	defer func() {
		if recover() == nil {
			t.Error("a grid of the wrong length was taken")
		}
	}()
	g.Value = g.Value[1:]
	isolines(g, 0)
}

func TestThin(t *testing.T) {
	var p []inkPoint
	for k := range 1000 {
		a := 2 * math.Pi * float64(k) / 1000
		p = append(p, inkPoint{100 * math.Cos(a), 100 * math.Sin(a)})
	}
	q := thin(p, thinUnits)
	// A chord of a circle of radius r with sag s spans 2·acos(1 - s/r).
	if most := int(2 * 2 * math.Pi / (2 * math.Acos(1-thinUnits/100))); len(q) > most || len(q) < 20 {
		t.Errorf("%d points left, want at most %d", len(q), most)
	}
	for _, s := range p {
		d := math.Inf(1)
		for k := 1; k < len(q); k++ {
			d = min(d, offChord(s, q[k-1], q[k]))
		}
		if d > thinUnits {
			t.Fatalf("%v lies %v off", s, d)
		}
	}
}

// TestOutline: a square of 2 m at ten units a metre, written as steps.
func TestOutline(t *testing.T) {
	c := curve{points: []geom.Point{{X: 0, Y: 0}, {X: 2, Y: 0}, {X: 2, Y: 2.05}, {X: 0, Y: 2}}, closed: true}
	if got, want := outline([]curve{c}, Map{X0: 1, Y0: 30, PerM: 10}), "M1 30l20 0 0-20.5-20 .5z"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}
