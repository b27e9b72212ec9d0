package space

import (
	"math"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
)

// bend is what the mitre of two legs leaves out: the current does not run evenly
// up to the mitre but crowds at the inner corner. What is to be added to the even
// flow runs back into itself, forward at the inner edge and back at the outer one,
// and dies out along the legs as e^(−πs/h). Over a section that is the same all
// along the normal of the bend's plane it is a plane flow, known by its stream
// function (crowd). That is cut into plateaus between its contours; far away one
// block stands for it, with the same integral, centre and mean square reach.
//
// For a section that is no rectangle with sides in and across the bend's plane the
// current is taken to stay in its slices parallel to that plane, which it does not:
// half of the correction is added to the bound. Turns above 120°, for which the
// bound was not tried, likewise.
//
// The corner is taken as declared, sharp inside and out. A bar bent flat has an
// inner radius: up to one thickness the bound holds it. Other round corners
// are to be declared, as short pieces of the run.
type bend struct {
	corner        geom.Point3 // where the middles of the section meet
	centre        geom.Point3 // of the crowding
	out, side, up geom.Point3 // along the mitre outwards, across it, normal of the bend's plane
	hM            float64     // extent of the section in the bend's plane
	halfM         float64     // half its extent along up
	sum           float64     // integral of the stream function in h²
	rest          float64     // what is left of it, see errorT
	round         float64     // what an inner radius of one thickness does, likewise
	loose         float64     // share of the correction that is added to the bound
	plateaus      []plateau
	stepAPerM     float64     // magnetisation of all plateaus together, per ampere
	size          geom.Point3 // of the block
	remanenceT    float64
	farM          float64 // distance from which the block is taken
}

const (
	crowdCells  = 20 // of the grid across
	contourRows = 6
	farWidths   = 3
	triedRad    = 2 * math.Pi / 3
)

// newBend returns the bend from leg p to leg q; false where they are in line.
func newBend(b *layout.Bar, p, q *layout.Leg) (bend, bool) {
	up := p.Along.Cross(q.Along)
	sine := up.Norm()
	if sine < 1e-9 {
		return bend{}, false
	}
	up = up.Scale(1 / sine)
	angle := portable.Atan2(sine, p.Along.Dot(q.Along))
	cos := portable.Cos(angle / 2)
	in := q.Along.Sub(p.Along)
	d := bend{up: up, out: in.Scale(-1 / in.Norm())}
	d.side = up.Cross(d.out)

	// The section as seen along the leg, inside of the bend to +X, the normal to +Y.
	inside := up.Cross(p.Along)
	corners := b.SectionCorners()
	seen := make(geom.Polygon, len(corners))
	for i, c := range corners {
		e := p.U.Scale(c.X).Add(p.V.Scale(c.Y))
		seen[i] = geom.Point{X: e.Dot(inside), Y: e.Dot(up)}
	}
	box := seen.Box()
	middle := box.Centre()
	d.hM, d.halfM = box.Size().X, box.Size().Y/2
	h := d.hM
	if math.Abs(seen.AreaM2()-float64(h*2*d.halfM)) > float64(1e-9*h)*2*d.halfM {
		h = math.Sqrt(meanSquareChord(seen, box.Min.Y, box.Max.Y))
		d.loose = 0.5
	} else if h < 2*d.halfM {
		// The arc of the centre line with the radius 3h/2 cuts R² (tan(angle/2) − angle/2) off the
		// corner; a dipole has twice its moment on its axis.
		d.round = 2 * 2.25 * (portable.Tan(angle/2) - angle/2)
	}
	if angle > triedRad {
		d.loose = 0.5
	}
	c := newCrowd(angle, crowdCells)
	sum, centre, along2, across2 := c.moments()
	rough, _, _, _ := newCrowd(angle, crowdCells/2).moments()
	sum += (sum - rough) / 3 // of second order, see TestCornerSquares: good to 4e-3
	d.corner = p.To.Add(up.Scale(middle.Y)).Add(d.out.Scale(-middle.X / cos))
	d.centre = d.corner.Add(d.out.Scale(h * (centre - 0.5/cos)))
	d.sum = sum * h * h / d.hM / d.hM
	d.rest = 0.6 * portable.Pow(d.sum, 1.7)
	d.size = geom.Point3{X: h * math.Sqrt(12*along2), Y: h * math.Sqrt(12*across2), Z: 2 * d.halfM}
	// A current round the block, right-handed about up, is forward on the outside: the
	// crowding is the other way.
	d.remanenceT = -si.Mu0HPerM * sum * h * h / (d.size.X * d.size.Y * d.size.Z)
	d.farM = farWidths * h / cos
	d.cutUp(c, h, centre, sum)
	return d, true
}

// cutUp cuts the stream function into plateaus.
func (d *bend) cutUp(c *crowd, h, centre, sum float64) {
	most, _ := c.most()
	// Places and heights of the steps, as shares of the largest value; the low ones
	// are close because that is where sensors are.
	levels := [...]float64{0.006, 0.025, 0.07, 0.16, 0.32, 0.55, 0.82}
	heights := [...]float64{0.012, 0.033, 0.065, 0.12, 0.20, 0.27, 0.23}
	volume := 0.0
	for k, level := range levels {
		p := c.contour(most*level, contourRows)
		volume += float64(p.SignedAreaM2() * heights[k])
		for i, q := range p {
			p[i] = geom.Point{X: h * (q.X - centre), Y: h * q.Y}
		}
		d.plateaus = append(d.plateaus, newPlateau(p, heights[k]))
	}
	d.stepAPerM = -sum / volume / (2 * d.halfM)
}

// b returns what the bend adds to the field at p, in T/A, and a bound of what is
// still left out.
func (d *bend) b(p geom.Point3) (geom.Point3, float64) {
	r := p.Sub(d.centre)
	q := geom.Point3{X: r.Dot(d.out), Y: r.Dot(d.side), Z: r.Dot(d.up)}
	var v geom.Point3
	if r.Norm() > d.farM {
		v = closedform.BlockMagnetB(q, d.size, geom.Point3{Z: d.remanenceT})
	} else {
		v = d.near(q)
	}
	bound := d.errorT(p) + float64(d.loose*v.Norm())
	return d.out.Scale(v.X).Add(d.side.Scale(v.Y)).Add(d.up.Scale(v.Z)), bound
}

// near returns the field of the plateaus.
func (d *bend) near(q geom.Point3) geom.Point3 {
	// A place in the plane of a face of the metal is taken as just outside.
	if over := math.Abs(q.Z) - d.halfM; math.Abs(over) < 1e-6*d.halfM {
		q.Z = math.Copysign(d.halfM*(1+1e-6), q.Z)
	}
	var v geom.Point3
	for i := range d.plateaus {
		v = v.Add(d.plateaus[i].b(q, d.halfM).Scale(d.plateaus[i].height))
	}
	return v.Scale(mu0Over4Pi * d.stepAPerM)
}

// errorT returns a bound, in T/A, of what the plateaus leave out of the crowding at
// p and, for a bar bent flat, of what an inner radius up to one thickness does. With r
// the distance from the corner, a line as long as the bar is wide, and never less
// than h/2, and G the mean of h³/r³ along that line:
//
//	(μ0/4π h) [(0.6 m^1.7 + round) G + 0.03 min(1, (3h/2r)⁴)]
//
// m the integral of the stream function in h². The numbers enclose the comparison
// with the stream function itself at bends of 30° to 120° (TestBendBound); next to the metal
// they hold from h/10 on.
func (d *bend) errorT(p geom.Point3) float64 {
	q := p.Sub(d.corner)
	z := math.Abs(q.Dot(d.up))
	rho2 := math.Max(q.Dot(q)-float64(z*z), d.hM*d.hM/4)
	over := math.Max(0, z-d.halfM)
	// ∫ dz/R³ = z/(ρ² R).
	a, b := z-d.halfM, z+d.halfM
	mean := (b/math.Sqrt(rho2+float64(b*b)) - a/math.Sqrt(rho2+float64(a*a))) / rho2 / (2 * d.halfM) * d.hM * d.hM * d.hM
	tail := 1.5 * 1.5 * d.hM * d.hM / (rho2 + float64(over*over))
	return mu0Over4Pi / d.hM * (float64((d.rest+d.round)*mean) + float64(0.03*math.Min(1, tail*tail)))
}

// meanSquareChord returns ∫ chord³ ds / area over the section, chords along x, s
// along y from low to high, by the rule of rectangles.
func meanSquareChord(p geom.Polygon, low, high float64) float64 {
	const strips = 400
	cube, area := 0.0, 0.0
	for k := range strips {
		y := low + (high-low)*(float64(k)+0.5)/strips
		chord := 0.0
		for i := range p {
			a, b := p.Edge(i)
			if (a.Y > y) != (b.Y > y) {
				x := a.X + (b.X-a.X)*(y-a.Y)/(b.Y-a.Y)
				chord += float64(math.Copysign(1, b.Y-a.Y) * x)
			}
		}
		chord = math.Abs(chord)
		cube += float64(chord * chord * chord)
		area += chord
	}
	return cube / area
}
