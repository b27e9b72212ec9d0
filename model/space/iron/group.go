package iron

import "busgauss/model/geom"

// Group answers for several states of one Problem at once: where they are asked at the
// same point, what hangs on its place alone is computed once. It may be used from
// several goroutines.
type Group struct {
	states []*State
	kept   memo
}

// NewGroup returns the group of states, in their order.
func NewGroup(states []*State) *Group {
	return &Group{states: states}
}

// B returns the flux density of state number at at q and its bound; see State.B.
func (g *Group) B(q geom.Point3, at int) (geom.Point3, Bound) {
	r := g.kept.at(q, func() []reading { return g.readings(q) })
	return r[at].b, r[at].bound
}

// readings evaluates the states mesh by mesh: two states may stand on different ones,
// since only a source that is even in z leaves half of the iron to compute.
func (g *Group) readings(q geom.Point3) []reading {
	out := make([]reading, len(g.states))
	done := make([]bool, len(g.states))
	for i, s := range g.states {
		if done[i] {
			continue
		}
		var members []int
		var air []geom.Point3
		levels := [2]*answer{{l: s.levels[0].l}, {l: s.levels[1].l}}
		for j := i; j < len(g.states); j++ {
			o := g.states[j]
			if o.p != s.p {
				continue
			}
			done[j] = true
			members = append(members, j)
			air = append(air, o.source(q))
			for k := range levels {
				for side := range 2 {
					if len(o.levels[k].mag[side]) > 0 {
						levels[k].mag[side] = append(levels[k].mag[side], o.levels[k].mag[side][0])
						levels[k].b[side] = append(levels[k].b[side], o.levels[k].b[side][0])
					}
				}
			}
		}
		spendReading(s.p.opt.Work, &levels, len(air))
		v := viewsOf(&levels, q, air)
		for n, j := range members {
			out[j] = v.reading(n, air[n], s.p.scale)
		}
	}
	return out
}

// LinearOf solves the same meshes for linear iron, with the initial permeability of each
// curve.
func (s *State) LinearOf(basis *Basis) (*Linear, error) { return s.p.LinearOf(nil, basis) }

// LinearSteps is what LinearOf takes.
func (s *State) LinearSteps(basis *Basis) float64 { return s.p.LinearSteps(len(basis.sources)) }

// On reports whether s and l stand on the same meshes; not where the source of s broke
// their symmetry.
func (s *State) On(l *Linear) bool {
	return s.levels[0].l == l.levels[0].l && s.levels[1].l == l.levels[1].l
}

// Change returns the flux density of s at q less that of linear iron on the same meshes
// for the same currents, given as weights of the sources of l, and its bound: what the
// meshes do to both alike leaves the difference.
func (s *State) Change(q geom.Point3, l *Linear, weights []float64) (geom.Point3, Bound) {
	still := viewsOf(&l.levels, q, inAir(l.sources, q))
	with, without := s.views(q), still.mixed(weights)
	r := differing(&with, &without, geom.Point3{}, s.p.scale, stateShare*s.p.scale, changeFloor)
	return r.b, r.bound
}

// Same reports whether s and o stand on the same meshes; not where the source of one broke their symmetry.
func (s *State) Same(o *State) bool { return s.p == o.p }

// Less returns the flux density of s at q less that of o times factor, on the same meshes, and its bound: see Change.
func (s *State) Less(q geom.Point3, o *State, factor float64) (geom.Point3, Bound) {
	with, without := s.views(q), o.views(q)
	without = without.mixed([]float64{factor})
	r := differing(&with, &without, s.source(q).Sub(o.source(q).Scale(factor)), s.p.scale, lessShare, 0)
	return r.b, r.bound
}

func (s *State) views(q geom.Point3) views {
	spendReading(s.p.opt.Work, &s.levels, 1)
	return viewsOf(&s.levels, q, []geom.Point3{s.source(q)})
}

// differing returns what one answer has beyond another on the same meshes, one source each, air of it in empty space.
// The difference is an answer like others, with its own share in each cell, so that its bound is its own too. What both
// meshes hide is a share of it and of the field.
func differing(with, without *views, air geom.Point3, scale, share, floor float64) reading {
	d := with.less(without)
	r := d.reading(0, air, scale)
	r.bound = r.bound.plus(float64(share*r.b.Norm()) + float64(floor*with.of[1].b[0].Norm()))
	return r
}

// What a difference of two answers may be off by beyond what both meshes show: of the
// difference, of that between two laws of the iron times the scale of the meshes, since coarse cells fill late or early,
// and of the field.
const (
	changeShare = 0.03
	lessShare   = 0.01 // of two states of one law
	stateShare  = 0.25
	changeFloor = 2e-4
)
