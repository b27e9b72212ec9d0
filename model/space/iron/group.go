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
func (g *Group) B(q geom.Point3, at int) (b geom.Point3, boundT float64) {
	r := g.kept.at(q, func() []reading { return g.readings(q) })
	return r[at].b, r[at].boundT
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
		coarse, fine := levels[0].at(q, air), levels[1].at(q, air)
		for n, j := range members {
			out[j].b, out[j].boundT = limit3(coarse[n], fine[n], fine[n].Sub(air[n]).Norm(), s.p.scale)
		}
	}
	return out
}

// LinearOf solves the same meshes for linear iron, with the initial permeability of each
// curve.
func (s *State) LinearOf(basis *Basis) (*Linear, error) { return s.p.LinearOf(nil, basis) }

// On reports whether s and l stand on the same meshes; not where the source of s broke
// their symmetry.
func (s *State) On(l *Linear) bool {
	return s.levels[0].l == l.levels[0].l && s.levels[1].l == l.levels[1].l
}

// Change returns the flux density of s at q less that of linear iron on the same meshes
// for the same currents, given as weights of the sources of l, and its bound: what the
// meshes do to both alike leaves the difference.
func (s *State) Change(q geom.Point3, l *Linear, weights []float64) (b geom.Point3, boundT float64) {
	var d [2]geom.Point3
	size := 0.0
	air := make([]geom.Point3, len(l.sources))
	for i, src := range l.sources {
		air[i] = src(q)
	}
	for k := range d {
		d[k] = s.levels[k].at(q, []geom.Point3{s.source(q)})[0]
		size = d[k].Norm()
		for i, v := range l.levels[k].at(q, air) {
			d[k] = d[k].Sub(v.Scale(weights[i]))
		}
	}
	b, boundT = limit3(d[0], d[1], d[1].Norm(), s.p.scale)
	return b, boundT + changeShare*b.Norm() + changeFloor*size
}

// What a change between two states may be off by beyond what both meshes show: of the
// change, and of the field.
const (
	changeShare = 0.05
	changeFloor = 2e-4
)
