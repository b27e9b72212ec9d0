package iron

import (
	"cmp"
	"io/fs"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/material"
)

// spaceCase is a case of three channels in fixtures/reference/space-cases.yaml. The
// reader knows that file and no more of the format.
type spaceCase struct {
	id       string
	depthM   float64
	currents map[string]float64
	sensors  []spaceSensor
	walls    []spaceWall
}

type spaceSensor struct{ at, b, u geom.Point3 }

type spaceWall struct {
	shield            string
	z0, uz0, mean, um float64
}

var (
	numberList = regexp.MustCompile(`(\w[\w-]*): \[([^\]]*)\]`)
	numberItem = regexp.MustCompile(`(\w[\w-]*): (-?[0-9][0-9.e+-]*)`)
	shieldItem = regexp.MustCompile(`shield: (\w+)`)
)

const millimetre, millitesla = 1e-3, 1e-3

func threeUCases(t *testing.T) []spaceCase {
	t.Helper()
	b, err := fs.ReadFile(fixtures.FS, "reference/space-cases.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var out []spaceCase
	section := ""
	for line := range strings.Lines(string(b)) {
		if !strings.HasPrefix(line, " ") {
			section, _, _ = strings.Cut(line, ":")
		}
		if section != "three-u" {
			continue
		}
		text := strings.TrimSpace(line)
		lists, items := map[string][]float64{}, map[string]float64{}
		for _, m := range numberList.FindAllStringSubmatch(text, -1) {
			for _, v := range strings.Split(m[2], ",") {
				x, err := strconv.ParseFloat(strings.TrimSpace(v), 64)
				if err != nil {
					break
				}
				lists[m[1]] = append(lists[m[1]], x)
			}
		}
		for _, m := range numberItem.FindAllStringSubmatch(text, -1) {
			items[m[1]], _ = strconv.ParseFloat(m[2], 64)
		}
		switch {
		case strings.HasPrefix(text, "- id: "):
			out = append(out, spaceCase{id: strings.TrimPrefix(text, "- id: ")})
		case strings.HasPrefix(text, "depth:"):
			out[len(out)-1].depthM = items["depth"] * millimetre
		case strings.HasPrefix(text, "currents:"):
			out[len(out)-1].currents = items
		case strings.HasPrefix(text, "- {at:"):
			s := spaceSensor{at: point3(lists["at"], millimetre), b: point3(lists["B"], millitesla), u: point3(lists["u"], millitesla)}
			out[len(out)-1].sensors = append(out[len(out)-1].sensors, s)
		case strings.HasPrefix(text, "- {shield:"):
			w := spaceWall{shieldItem.FindStringSubmatch(text)[1], items["z0"] * millitesla, items["u-z0"] * millitesla, items["mean"] * millitesla, items["u-mean"] * millitesla}
			out[len(out)-1].walls = append(out[len(out)-1].walls, w)
		}
	}
	if len(out) != 10 {
		t.Fatalf("%d cases of three channels, want 10", len(out))
	}
	return out
}

func point3(v []float64, unit float64) geom.Point3 {
	p := geom.Point3{X: v[0] * unit, Y: v[1] * unit}
	if len(v) > 2 {
		p.Z = v[2] * unit
	}
	return p
}

// longBar returns the source of an infinitely long bar along z, per ampere.
func longBar(x, y, widthM, thicknessM float64) Source {
	return func(p geom.Point3) geom.Point3 {
		b := closedform.RectangleB(geom.Point{X: p.X - x, Y: p.Y - y}, widthM, thicknessM, 1)
		return geom.Point3{X: b.X, Y: b.Y}
	}
}

const mm = millimetre

var threeX = map[string]float64{"U": -34 * mm, "V": 0, "W": 34 * mm}

// threeChannels returns the three channels of the reference file and the three bars.
func threeChannels(depthM, muRel float64) (pieces []Piece, bars []Source) {
	for _, id := range []string{"U", "V", "W"} {
		x := threeX[id]
		pieces = append(pieces, Piece{
			Name: "K" + id, MuRel: muRel, FromZM: -depthM / 2, ToZM: depthM / 2,
			Section: geom.Solid(geom.Channel(20*mm, 14*mm, 1.2*mm)).Place(geom.Point{X: x, Y: -3.2 * mm}, 0),
		})
		bars = append(bars, longBar(x, 0, 18*mm, 4*mm))
	}
	return pieces, bars
}

var threeSensors = []geom.Point3{{X: -34 * mm, Y: 4.6 * mm}, {Y: 4.6 * mm}, {X: 34 * mm, Y: 4.6 * mm}}

// channelsByDepth keeps the solved three channels of each depth.
type channelsByDepth map[float64]*Linear

func (solved channelsByDepth) at(t *testing.T, depthM float64) *Linear {
	t.Helper()
	if l := solved[depthM]; l != nil {
		return l
	}
	pieces, bars := threeChannels(depthM, 2000)
	p, err := New(pieces, threeSensors, Options{})
	if err != nil {
		t.Fatal(err)
	}
	l, err := p.Linear(nil, bars)
	if err != nil {
		t.Fatal(err)
	}
	coarse, fine := p.Unknowns()
	t.Logf("depth %g: %d and %d unknowns", depthM, coarse, fine)
	solved[depthM] = l
	return l
}

// Three channels of finite depth round three bars, relative permeability 2000
// (fixtures/reference/space-cases.yaml, computed by two independent methods): the field
// within 1 % of |B| or the file's uncertainty, the flux density of the floor at the
// centre line within 3 %, at mid-plane and as a mean over the depth; and no error
// larger than bound and uncertainty together.
func TestThreeChannels(t *testing.T) {
	solved := channelsByDepth{}
	for _, c := range threeUCases(t) {
		if c.depthM == 0 || testing.Short() && c.depthM != 12*mm {
			continue
		}
		l := solved.at(t, c.depthM)
		source, current := 0, 0.0
		weights := make([]complex128, 3)
		for k, id := range []string{"U", "V", "W"} {
			if i := c.currents[id]; i != 0 {
				source, current, weights[k] = k, i, complex(i, 0)
			}
		}
		for _, s := range c.sensors {
			b, bound := l.B(s.at, source)
			diff := b.Scale(current).Sub(s.b).Norm()
			bound.T *= current
			size, u := s.b.Norm(), s.u.Norm()
			t.Logf("%s at %v: off by %.2f %%, bound %.2f %%, uncertainty %.2f %%", c.id, s.at, 100*diff/size, 100*bound.T/size, 100*u/size)
			if !(diff <= math.Max(0.01*size, u)) {
				t.Errorf("%s at %v: %v mT, want %v", c.id, s.at, b.Scale(current/millitesla), s.b.Scale(1/millitesla))
			}
			if !(diff <= bound.T+u) {
				t.Errorf("%s at %v: off by %.2g T, bound %.2g", c.id, s.at, diff, bound.T)
			}
		}
		for k, w := range c.walls {
			x := threeX[w.shield[1:]]
			got := floorWall3(l, k, weights, x)
			for _, v := range []struct {
				name                  string
				got, bound, want, unc float64
			}{{"mean", got.PeakT, got.PeakBoundT, w.mean, w.um}, {"mid", got.MidT, got.MidBoundT, w.z0, w.uz0}} {
				diff := math.Abs(v.got - v.want)
				t.Logf("%s %s %s: off by %.2f %%, bound %.2f %%", c.id, w.shield, v.name, 100*(v.got/v.want-1), 100*v.bound/v.want)
				if !(diff <= 0.03*v.want) {
					t.Errorf("%s %s %s: %.5g mT, want %.5g", c.id, w.shield, v.name, v.got/millitesla, v.want/millitesla)
				}
				if !(diff <= v.bound+v.unc) {
					t.Errorf("%s %s %s: off by %.2g, bound %.2g", c.id, w.shield, v.name, diff, v.bound)
				}
			}
		}
	}
}

// floorWall3 returns the figures of the floor of a channel at x alone, between the two
// stations beside it: the reference is for that line, not for the largest.
func floorWall3(l *Linear, piece int, weights []complex128, x float64) Wall {
	return floorOf(&l.levels, piece, weights, x, l.scale)
}

// floorOf takes the figures of one line and the bound of the whole wall.
func floorOf(levels *[2]*answer, piece int, weights []complex128, x, scale float64) Wall {
	var line, all [2]walled
	for k, a := range levels {
		line[k], all[k] = floorAt(a, piece, weights, x), a.wall(piece, weights)
	}
	u := unlikeWalls(levels[0], levels[1], piece, &all[0], &all[1])
	return wallLimit(&line[0].Wall, &line[1].Wall, u, levels[0].l.m.columns[piece].s.shape(), scale)
}

func floorAt(a *answer, piece int, weights []complex128, x float64) walled {
	var near []station
	for _, st := range a.l.walls[piece] {
		if st.along.X > 0.9 && math.Abs(st.at.X-x) < 4*mm && st.thickM < 2*mm { // the outer face
			near = append(near, st)
		}
	}
	slices.SortFunc(near, func(p, q station) int { return cmp.Compare(math.Abs(p.at.X-x), math.Abs(q.at.X-x)) })
	st := near[0]
	st.beside = nil
	if math.Abs(st.at.X-x) > 1e-9 {
		f := (x - near[0].at.X) / (near[1].at.X - near[0].at.X)
		st.tris, st.shares = slices.Concat(near[0].tris, near[1].tris), nil
		for _, v := range near[0].shares {
			st.shares = append(st.shares, v*(1-f))
		}
		for _, v := range near[1].shares {
			st.shares = append(st.shares, v*f)
		}
	}
	l := &level{m: a.l.m, walls: make([][]station, len(a.l.walls))}
	l.walls[piece] = []station{st}
	return (&answer{l: l, mag: a.mag, b: a.b}).wall(piece, weights)
}

// saturatingCases are those of one-u-saturating in the same file, in mT.
var saturatingCases = []struct{ currentA, bx, u, z0, uz0, mean, um float64 }{
	{200, -10.4077, 0.0024, 527.29, 0.96, 530.64, 0.88},
	{2000, -67.812, 0.042, 1953.81, 0.4, 1954.1, 0.4},
}

// One channel that saturates (same file): curve by formula, 200 A below the knee and
// 2000 A far above.
func TestSaturatingChannel(t *testing.T) {
	p := oneChannel(t)
	at := geom.Point3{Y: 4.5 * mm}
	bar := longBar(0, 0, 20*mm, 4*mm)
	for _, c := range saturatingCases {
		s, err := p.Saturate(func(r geom.Point3) geom.Point3 { return bar(r).Scale(c.currentA) })
		if err != nil {
			t.Fatal(err)
		}
		b, bound := s.B(at)
		diff := b.Sub(geom.Point3{X: c.bx * millitesla}).Norm()
		size := math.Abs(c.bx) * millitesla
		t.Logf("%g A: %d steps, residual %.1e; Bx %.4f mT, off by %.3f %%, bound %.3f %%", c.currentA, s.Steps, s.Residual, b.X/millitesla, 100*diff/size, 100*bound.T/size)
		if !(diff <= 0.01*size) || !(diff <= bound.T+c.u*millitesla) {
			t.Errorf("%g A: B %v, want %g mT, bound %g", c.currentA, b.Scale(1/millitesla), c.bx, bound.T/millitesla)
		}
		w := floorOf(&s.levels, 0, []complex128{1}, 0, s.p.scale)
		for _, v := range []struct {
			name                   string
			got, bound, want, unit float64
		}{{"mean", w.PeakT, w.PeakBoundT, c.mean, c.um}, {"mid", w.MidT, w.MidBoundT, c.z0, c.uz0}} {
			diff := math.Abs(v.got/millitesla - v.want)
			t.Logf("%g A wall %s: off by %.2f %%, bound %.2f %%", c.currentA, v.name, 100*(v.got/millitesla/v.want-1), 100*v.bound/millitesla/v.want)
			if !(diff <= 0.03*v.want) || !(diff <= v.bound/millitesla+v.unit) {
				t.Errorf("%g A wall %s: %.5g mT, want %g, bound %.3g", c.currentA, v.name, v.got/millitesla, v.want, v.bound/millitesla)
			}
		}
		if full := s.Wall(0); !(full.PeakT >= w.PeakT*(1-1e-3)) {
			t.Errorf("largest wall %g below that of the floor %g", full.PeakT, w.PeakT)
		}
	}
}

// oneChannel is the shield of the saturating cases.
func oneChannel(t testing.TB) *Problem {
	t.Helper()
	curve := steelCurve(t)
	p, err := New([]Piece{{
		Name: "K", Curve: curve, FromZM: -7.5 * mm, ToZM: 7.5 * mm,
		Section: geom.Solid(geom.Channel(22*mm, 16*mm, 1*mm)).Place(geom.Point{Y: -3.5 * mm}, 0),
	}}, []geom.Point3{{Y: 4.5 * mm}}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// steelCurve is that of the saturating cases, by the formula there.
func steelCurve(t testing.TB) *material.Curve {
	t.Helper()
	var points []material.CurvePoint
	for k := 1; k <= 120; k++ {
		b := 0.02 * float64(k)
		points = append(points, material.CurvePoint{FieldAPerM: (3.8*math.Exp(2.17*b*b) + 396.2) * b, FluxDensityT: b})
		if points[len(points)-1].FieldAPerM > 1e5 {
			break
		}
	}
	curve, err := material.NewCurve(points, material.Cubic)
	if err != nil {
		t.Fatal(err)
	}
	return curve
}
