package plan

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/si"
)

// Flow is a solved plan: one ampere from the entry to the exit. It does not change
// and may be asked by many goroutines at a time.
type Flow struct {
	Triangles, Levels int // of the mesh that was used; 0 without cuts

	thicknessM, widthM       float64
	narrowestM, narrowestAtM float64
	fromM, toM               float64     // ends of the bar
	nearM, farM              float64     // ends of the mesh
	region                   geom.Region // of the mesh
	upper, lower             float64     // squares of the mesh
	evenSquares              float64     // of the bar without cuts

	mesh  []sheet
	cells []cell
	tails []evenBar // beyond the mesh
	even  evenBar   // in place of the mesh, for Change
}

const (
	// boundSafety multiplies the distance of the two fields. Each of them errs by a
	// product of two errors of the mesh, of no known sign, so their distance
	// may be smaller than the error of ψ; chosen by trial, see TestBoundHolds.
	boundSafety = 3.0
	// floor is added to every bound, as a share of the field of a filament at the
	// distance of the nearest metal or half a thickness: polygons for circles, cells.
	floor = 1e-5
	// endless is the length in widths drawn for a bar without end. The rest adds
	// ρ²/(2 L²) of the field.
	endless = 1e5
)

// addTails draws the even flow beyond the mesh.
func (f *Flow) addTails() {
	f.addEven(f.fromM, f.nearM)
	f.addEven(f.farM, f.toM)
	f.even = evenBar{f.widthM, f.nearM, f.farM}
}

func (f *Flow) addEven(fromM, toM float64) {
	from := max(fromM, f.nearM-float64(endless*f.widthM))
	to := min(toM, f.farM+float64(endless*f.widthM))
	if to > from {
		f.tails = append(f.tails, evenBar{f.widthM, from, to})
	}
}

func (f *Flow) finish() { f.cells = newCells(f.mesh) }

// B returns the flux density at p in tesla per ampere, and the half-width of its
// error: how far the field of the complementary flow lies from it, times three, plus
// 1e-5 of the field of a filament at the nearest metal. Exact for the flow found at
// every point, in the metal too, and continuous; an even bar without cuts gives the
// field of a finite prism. The current ends at both ends of the bar: B is one part
// of a closed circuit (compare closedform.SegmentB).
func (f *Flow) B(p geom.Point3) (b geom.Point3, boundT float64) {
	sum := f.meshField(p)
	at, h1, h2 := f.foot(p)
	for i := range f.tails {
		f.tails[i].add(at, h1, h2, &sum)
	}
	return f.value(p, &sum)
}

// Change returns what the cuts do to the field, per ampere: B minus that of
// the same bar without cuts, with the bound of B. It is to be added to any model of
// the bar, for example one whose ends are mitred.
func (f *Flow) Change(p geom.Point3) (b geom.Point3, boundT float64) {
	if f.mesh == nil {
		return geom.Point3{}, 0
	}
	sum := f.meshField(p)
	at, h1, h2 := f.foot(p)
	var even twoFields
	f.even.add(at, h1, h2, &even)
	for n := range 2 {
		sum[n] = sum[n].Sub(even[n])
	}
	return f.value(p, &sum)
}

func (f *Flow) foot(p geom.Point3) (at geom.Point, h1, h2 float64) {
	return geom.Point{X: p.X, Y: p.Z}, p.Y - f.thicknessM/2, p.Y + f.thicknessM/2
}

func (f *Flow) value(p geom.Point3, sum *twoFields) (geom.Point3, float64) {
	k := si.Mu0HPerM / (4 * math.Pi * f.thicknessM)
	b := sum[0].Scale(k)
	bound := 0.0
	if f.mesh != nil {
		// The nearest metal, from the box of the mesh.
		c := &f.cells[0]
		d := portable.Hypot(max(math.Abs(p.X-c.centre.X)-c.half.X, 0), max(math.Abs(p.Z-c.centre.Y)-c.half.Y, 0))
		d = portable.Hypot(d, max(math.Abs(p.Y), f.thicknessM/2))
		bound = float64(boundSafety*sum[1].Sub(sum[0]).Norm()*k) + floor*si.Mu0HPerM/(2*math.Pi*d)
	}
	return b, bound
}

// meshField walks the tree: far cells by their nodes, near leaves exactly.
func (f *Flow) meshField(p geom.Point3) (sum twoFields) {
	if len(f.cells) == 0 {
		return sum
	}
	at, h1, h2 := f.foot(p)
	above := max(h1, -h2, 0)
	var stack [64]int
	n := 1
	for n > 0 {
		n--
		c := &f.cells[stack[n]]
		d := at.Sub(c.centre)
		switch {
		case d.Dot(d)+float64(above*above) >= farRadii*farRadii*c.radius2:
			c.add(at, h1, h2, &sum)
		case c.kids[0] < 0:
			for i := c.first; i < c.end; i++ {
				f.mesh[i].add(at, h1, h2, &sum)
			}
		default:
			stack[n], stack[n+1] = c.kids[1], c.kids[0]
			n += 2
		}
	}
	return sum
}

// Squares returns the resistance from entry to exit in squares, a pure number, and
// the half-width of its error: the mean and half the distance of two energies, one
// never below and one never above that of the plan drawn, plus what polygons for round
// rims may add. The resistance is Squares/(σ t). +Inf for an endless bar.
func (f *Flow) Squares() (squares, bound float64) {
	squares, bound = f.meshSquares()
	if f.widthM > 0 { // a drawing has tails
		squares += f.tailSquares()
	}
	return squares, bound
}

// ExtraSquares returns Squares less those of the bar without cuts, finite for an
// endless bar too. NaN for a general plan.
func (f *Flow) ExtraSquares() (squares, bound float64) {
	if math.IsNaN(f.evenSquares) {
		return math.NaN(), 0
	}
	if f.mesh == nil {
		return 0, 0
	}
	squares, bound = f.meshSquares()
	return squares - (f.farM-f.nearM)/f.widthM, bound
}

func (f *Flow) meshSquares() (squares, bound float64) {
	if f.mesh == nil {
		return 0, 0
	}
	round := 0.0
	for _, h := range f.region.Holes {
		// 2π a²/w² is what a small hole adds.
		round += float64(1e-4 * 2 * h.AreaM2())
	}
	if w := f.widthM; w > 0 {
		round /= float64(w * w)
	} else {
		round = float64(1e-4 * float64(len(f.region.Holes)))
	}
	return (f.upper + f.lower) / 2, (f.upper-f.lower)/2 + round + float64(1e-10*f.upper)
}

func (f *Flow) tailSquares() float64 {
	if f.mesh == nil {
		return f.evenSquares
	}
	return ((f.toM - f.farM) + (f.nearM - f.fromM)) / f.widthM
}

// NarrowestM returns the least conducting width over all sections across the bar,
// in metres, and the z of such a section; NaN for a general plan. The current
// density averaged over it is I/(widthM·thickness); at corners it is higher.
func (f *Flow) NarrowestM() (widthM, alongM float64) { return f.narrowestM, f.narrowestAtM }

// Contains reports whether there is metal at a place of the plan; rims belong to it.
func (f *Flow) Contains(acrossM, alongM float64) bool {
	if f.widthM > 0 {
		if alongM < f.fromM || alongM > f.toM || math.Abs(acrossM) > f.widthM/2 {
			return false
		}
		if alongM < f.nearM || alongM > f.farM || f.mesh == nil {
			return true
		}
	}
	return f.region.Contains(geom.Point{X: acrossM, Y: alongM})
}
