package field

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
)

// end is one of the two depths that open iron is taken at beside iron of known depth, where the layout is computed in
// space:
//
//	                 nearEnd                    farEnd
//	declares none    its outer width            reach
//	long             half of reach              reach
//
// with reach what the other pieces take of z and longReach times the largest outer width, but no farther than
// beforeEnds of the way to where a bar ends: the field of a bar with an open end has no potential in the iron beside it.
// What ends do falls at least with one over the depth (depth.go), so that beyond the far end is left what lies between
// the two times beyondOf.
type end int

const (
	nearEnd end = iota
	farEnd
	ends // how many
)

const (
	longReach  = 20  // largest outer widths that a piece without an end goes on for
	leastReach = 4   // of its own outer width below which it is not taken as long
	beforeEnds = 0.6 // of the distance of the nearest end of a bar
)

// prism is where a shield begins and ends along z.
type prism struct {
	fromZM, toZM float64
	long         bool // goes on beyond what is computed of it
}

func (p prism) depthM() float64 { return p.toZM - p.fromZM }

// prismsOf returns the shields of l along z.
func prismsOf(l *layout.Layout, e end) []prism {
	out := make([]prism, len(l.Shields))
	low, high, widest := math.Inf(1), math.Inf(-1), 0.0
	for i := range l.Shields {
		s := &l.Shields[i]
		if !l.Materials[s.Material].Magnetic() {
			continue
		}
		depthM := s.DepthM.V
		if DepthUnknown(s) {
			depthM = outerM(s)
		}
		z := s.At.Point3().Z
		out[i] = prism{z - depthM/2, z + depthM/2, false}
		widest = math.Max(widest, outerM(s))
		if !s.Long {
			low, high = math.Min(low, out[i].fromZM), math.Max(high, out[i].toZM)
		}
	}
	for i := range out {
		s := &l.Shields[i]
		if s.DepthM.Set || !l.Materials[s.Material].Magnetic() || !s.Long && e == nearEnd {
			continue
		}
		z := s.At.Point3().Z
		if s.Long {
			z = (low + high) / 2
		}
		half := math.Min((high-low)/2+longReach*widest/2, beforeEnds*toBarEndM(l, s, z))
		if e == nearEnd {
			half /= 2
		}
		out[i] = prism{z - half, z + half, true}
	}
	return out
}

// toBarEndM returns the distance of the nearest end of a bar from shield s at height zM.
func toBarEndM(l *layout.Layout, s *layout.Shield, zM float64) float64 {
	least := math.Inf(1)
	region := s.Region()
	for i := range l.Bars {
		b := &l.Bars[i]
		var at []geom.Point3
		switch {
		case len(b.Run) > 0:
			at = []geom.Point3{b.Run[0].Point3(), b.Run[len(b.Run)-1].Point3()}
		case b.LengthM.Set:
			at = []geom.Point3{b.At.Point().Space(-b.LengthM.V / 2), b.At.Point().Space(b.LengthM.V / 2)}
		}
		for _, q := range at {
			least = math.Min(least, portable.Hypot(region.DistanceM(q.XY()), q.Z-zM))
		}
	}
	return least
}

// tooNear returns why a piece of open iron of l cannot be taken as long, since a bar ends near it; empty where all can.
func tooNear(l *layout.Layout) string {
	for i, p := range prismsOf(l, farEnd) {
		s := &l.Shields[i]
		if least := leastReach * outerM(s); p.long && !(p.depthM() >= least) {
			return fmt.Sprintf("shield %q has no declared end and a bar ends too near to it for a field in space: say its `depth`, or let bars go on for %s to either side",
				s.ID, si.Format(least/2/beforeEnds, "m"))
		}
	}
	return ""
}

// beyondOf returns what the part of open iron beyond its far end does over what the part between both ends does: with
// depths D and E, of what falls as one over the depth,
//
//	(1/E) / (1/D − 1/E) = D / (E − D)
func beyondOf(l *layout.Layout) float64 {
	most := 0.0
	near, far := prismsOf(l, nearEnd), prismsOf(l, farEnd)
	for i := range far {
		if far[i].long {
			d, e := near[i].depthM(), far[i].depthM()
			most = math.Max(most, d/(e-d))
		}
	}
	return most
}

// joined returns the middle of near and of what far goes on to by beyond, with all between in the bound. Not seen:
// depths between that do more than both ends.
func joined(near, far Vec, beyond float64) Vec {
	half := far.Add(near.Scale(-1)).Scale(complex((1+beyond)/2, 0))
	out := Vec{X: near.X + half.X, Y: near.Y + half.Y, Z: near.Z + half.Z, Far: near.Far}
	out.Quad = math.Max(near.Quad, far.Quad)
	out.Bound = portable.Hypot(portable.Hypot(portable.Abs(half.X), portable.Abs(half.Y)), portable.Abs(half.Z)) + math.Max(near.Bound, float64((1+beyond)*far.Bound)+float64(beyond*near.Bound))
	return out
}

// joinedEstimate is joined of two values that are not negative.
func joinedEstimate(near, far bounded.Estimate, beyond float64) bounded.Estimate {
	v := math.Max(0, far.Value+float64(beyond*(far.Value-near.Value)))
	high := v + float64((1+beyond)*(far.High-far.Value)) + float64(beyond*(near.Value-near.Low))
	low := math.Max(0, v-float64((1+beyond)*(far.Value-far.Low))-float64(beyond*(near.High-near.Value)))
	return bounded.Estimate{Value: (near.Value + v) / 2, Low: math.Min(near.Low, low), High: math.Max(near.High, high)}
}

func joinedWall(near, far Wall, beyond float64) Wall {
	return Wall{Peak: joinedEstimate(near.Peak, far.Peak, beyond), Most: joinedEstimate(near.Most, far.Most, beyond),
		RMS: func() bounded.Estimate { return joinedEstimate(near.RMS(), far.RMS(), beyond) }}
}

// joinedState is a state of saturating iron at both ends of what open iron may be.
type joinedState struct {
	near, far ironState
	beyond    float64
}

func (s joinedState) at(q geom.Point3, rough bool) Vec {
	return joined(s.near.at(q, rough), s.far.at(q, rough), s.beyond)
}

func (s joinedState) wall(i layout.ShieldIndex) (Wall, error) {
	near, err := s.near.wall(i)
	if err != nil {
		return Wall{}, err
	}
	far, err := s.far.wall(i)
	return joinedWall(near, far, s.beyond), err
}
