package layout

import (
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// RunError says why the run of a bar is no bar. Point is the index of the point of
// the run to look at: that of the bend, or the later end of the piece.
type RunError struct {
	Point int
	Text  string // goes on from "its run"
}

func (e *RunError) Error() string {
	return fmt.Sprintf("its run %s (point %d)", e.Text, e.Point+1)
}

// OffPlaceM is the distance from the place of the section below which a run
// passes it, in metres: the smallest size that a layout may have.
const OffPlaceM = 1e-9

// SectionLeg returns the piece of the run of b that passes its place in the plane
// section, as the index of its second point; 0 without a run.
func (b *Bar) SectionLeg() int {
	leg, _, _ := b.SectionPass()
	return leg
}

// SectionPass returns how the run of b passes its place: the piece, as the index
// of its second point, its point nearest to the place, and the distance in metres
// between the two, seen along z where the piece runs along z. It is the piece along
// z that passes nearest, of several the one nearest to z = 0; where no piece runs
// along z, the one that comes nearest to the place at z = 0. Without a run, and
// where no piece has a length, the piece is 0 and the distance is infinite.
func (b *Bar) SectionPass() (leg int, near geom.Point3, offM float64) {
	at := geom.Point3{X: b.At.X.V, Y: b.At.Y.V}
	found := false // a piece along z
	offM = math.Inf(1)
	height := math.Inf(1)
	for i := 1; i < len(b.Run); i++ {
		from, to := b.Run[i-1].Point3(), b.Run[i].Point3()
		d := to.Sub(from)
		length := d.Norm()
		if !(length > 0) {
			continue
		}
		t := math.Min(1, math.Max(0, at.Sub(from).Dot(d)/d.Dot(d)))
		p := from.Add(d.Scale(t))
		off, z := p.Sub(at).Norm(), 0.0
		along := alongZ(d.Scale(1 / length))
		if along {
			off, z = portable.Hypot(p.X-at.X, p.Y-at.Y), math.Abs(p.Z)
		}
		better := off < offM-OffPlaceM || math.Abs(off-offM) <= OffPlaceM && z < height
		if along && !found || along == found && better {
			leg, near, offM, height, found = i, p, off, z, along
		}
	}
	return leg, near, offM
}

// alongZ reports whether a unit vector is that of z, either way.
func alongZ(unit geom.Point3) bool { return portable.Hypot(unit.X, unit.Y) <= straight }

// HomeLeg returns the index of the leg that passes the section among the legs of b.
func (b *Bar) HomeLeg(legs []Leg) int {
	i := b.SectionLeg() - 1
	if i < 0 {
		return 0
	}
	if b.Run[i+1].Z.V < b.Run[i].Z.V { // legs follow the current, the run does not
		return len(legs) - 1 - i
	}
	return i
}

// FullZ returns from which z to which, in metres, b has its full section about its
// place: all z for a long bar, else from the end or bend below to that above, less
// what the mitre of a bend takes. The error is that of Legs.
func (b *Bar) FullZ() (lowM, highM float64, err error) {
	lowM, highM = math.Inf(-1), math.Inf(1)
	legs, err := b.Legs()
	if err != nil || len(legs) == 0 {
		return lowM, highM, err
	}
	home := &legs[b.HomeLeg(legs)]
	for _, c := range b.SectionCorners() {
		from, to := home.Edge(c)
		lowM, highM = math.Max(lowM, from.Z), math.Min(highM, to.Z)
	}
	return lowM, highM, nil
}
