package layout

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/geom"
)

// Gap is the straight distance through air between two objects, in metres: the true
// one lies between LowM and HighM. They differ for a sensor whose part declares no
// whole body, and where corners stand for circles.
type Gap struct {
	LowM, HighM float64
	// NoBody says that one of the two is a sensor without a whole body.
	NoBody bool
	// DrawnM is HighM without the placement tolerances that LowM and HighM are less by.
	DrawnM float64
	// Over names the shields and bars that the shortest way passes: nothing is needed to cross metal.
	Over []string
}

// GapBetween returns the distance in space between two bars, shields or sensors by
// name, at the worst placement. What is bonded to one of the two is at its
// potential and counts as it. A shield or bar between the two that is bonded to neither shortens the way by what it
// spans: the parts of air on both sides add up. It does not where apart, which may be nil, says of its name that what
// stands between it and the two is held by insulation of its own.
// Source: IEC 60664-1:2007, 6.2, example of an unconnected part in between (number from
// memory). The error says in words why there is no distance.
func (l *Layout) GapBetween(a, b string, apart func(name string) bool) (Gap, error) {
	return l.worstGap(a, b, true, apart)
}

// SurfaceGap is GapBetween for the two objects alone: nothing is bonded to them and
// nothing stands between.
func (l *Layout) SurfaceGap(a, b string) (Gap, error) { return l.worstGap(a, b, false, nil) }

func (l *Layout) worstGap(a, b string, others bool, apart func(name string) bool) (Gap, error) {
	if others && l.OnePotential(a, b) {
		return Gap{}, fmt.Errorf("%q and %q are joined, so that nothing lies between them", a, b)
	}
	out, err := l.gapBetween(a, b, others, true, apart)
	if err != nil {
		return Gap{}, err
	}
	out.DrawnM = out.HighM
	if l.placed() {
		drawn, err := l.gapBetween(a, b, others, false, apart)
		if err != nil {
			return Gap{}, err
		}
		out.DrawnM = drawn.HighM
	}
	return out, nil
}

// placed reports whether something may stand elsewhere than drawn.
func (l *Layout) placed() bool {
	yes := false
	for i := range l.Bars {
		yes = yes || l.Bars[i].Placement != nil
	}
	for i := range l.Shields {
		yes = yes || l.Shields[i].Placement != nil || l.Shields[i].WallTolM.V > 0 || l.Shields[i].OpeningTolM.V > 0
	}
	for i := range l.Sensors {
		yes = yes || l.Sensors[i].Placement != nil
	}
	return yes
}

// Live returns the bars that may have a potential of their own: which a duty gives a current, which insulation names, and
// what is at one potential with these; all in a layout without duties.
func (l *Layout) Live() map[string]bool {
	named := map[string]bool{}
	for i := range l.Duties {
		for _, b := range l.CarryingBars(&l.Duties[i]) {
			named[l.Bars[b].ID] = true
		}
	}
	for i := range l.Insulation {
		named[l.Insulation[i].Between[0]], named[l.Insulation[i].Between[1]] = true, true
	}
	out := map[string]bool{}
	for i := range l.Bars {
		for k := range l.Bars {
			if len(l.Duties) == 0 || named[l.Bars[k].ID] && l.OnePotential(l.Bars[i].ID, l.Bars[k].ID) {
				out[l.Bars[i].ID] = true
			}
		}
	}
	return out
}

// OnePotential reports whether a and b are one, bonded, or legs of one parallel circuit.
func (l *Layout) OnePotential(a, b string) bool {
	if a == b || l.AreBonded(a, b) {
		return true
	}
	i, okA := l.Bar(a)
	k, okB := l.Bar(b)
	if !okA || !okB || i == k {
		return false
	}
	c, _ := l.CircuitOf(i)
	d, _ := l.CircuitOf(k)
	return c == d && l.Shares(i)
}

// object is what a gap begins or ends at.
type object struct {
	pieces []*Piece
	points []geom.Point3 // places of a sensor without a whole body, which belong to it
}

func (l *Layout) gapBetween(a, b string, others, placement bool, apart func(name string) bool) (Gap, error) {
	all := l.Pieces()
	for i := range all {
		if placement {
			all[i].sweep()
		} else {
			all[i].looseM = 0
		}
	}
	p, err := l.object(a, all, others, placement)
	if err != nil {
		return Gap{}, err
	}
	q, err := l.object(b, all, others, placement)
	if err != nil {
		return Gap{}, err
	}
	nodes := []object{p, q}
	names := []string{a, b}
	for i := range all {
		k := &all[i]
		if others && !(apart != nil && apart(k.ID)) && !slices.Contains(p.pieces, k) && !slices.Contains(q.pieces, k) {
			nodes = append(nodes, object{pieces: []*Piece{k}})
			names = append(names, k.ID)
		}
	}
	out, err := shortest(nodes)
	if err != nil {
		return Gap{}, err
	}
	gap := Gap{LowM: out.lowM, HighM: out.highM, NoBody: len(p.points)+len(q.points) > 0}
	for _, i := range out.over {
		gap.Over = append(gap.Over, names[i])
	}
	if gap.NoBody {
		gap.LowM = 0
	}
	return gap, nil
}

// object returns what is called id, with what is bonded to it where others count.
func (l *Layout) object(id string, all []Piece, others, placement bool) (object, error) {
	var out object
	for i := range all {
		if all[i].ID == id || others && l.OnePotential(id, all[i].ID) {
			out.pieces = append(out.pieces, &all[i])
		}
	}
	if len(out.pieces) > 0 {
		return out, nil
	}
	i, ok := l.Sensor(id)
	if !ok {
		return out, fmt.Errorf("%q is no bar, shield or sensor", id)
	}
	s := &l.Sensors[i]
	if l.HasBody(s) {
		bodies := l.Bodies(s, placement)
		for k := range bodies {
			out.pieces = append(out.pieces, &bodies[k])
		}
		return out, nil
	}
	for _, e := range s.Elements() {
		out.points = append(out.points, e.At)
	}
	out.points = append(out.points, l.Feet(s)...)
	if placement && s.Placement != nil {
		for _, p := range out.points[:len(out.points):len(out.points)] {
			for _, q := range s.Placement.places(s.At.Point(), []geom.Point{p.XY()}) {
				z := given0(s.Placement.ZM)
				out.points = append(out.points, q.Space(p.Z-z), q.Space(p.Z+z))
			}
		}
	}
	return out, nil
}

// way is the shortest way from one object to another: its true length lies between
// lowM and highM.
type way struct {
	lowM, highM float64
	over        []int // objects that it passes, in order
}

// shortest returns the shortest way through air from nodes[0] to nodes[1], over as
// many of the others as help; those are free to cross.
// Source: E. W. Dijkstra, A note on two problems in connexion with graphs, Numer. Math. 1
// (1959) 269-271.
func shortest(nodes []object) (way, error) {
	best := make([]way, len(nodes))
	done := make([]bool, len(nodes))
	for i := range best {
		best[i].lowM = math.Inf(1)
	}
	best[0].lowM = 0
	for {
		at := -1
		for i := range nodes {
			if !done[i] && !math.IsInf(best[i].lowM, 1) && (at < 0 || best[i].lowM < best[at].lowM) {
				at = i
			}
		}
		if at == 1 || at < 0 {
			return best[1], nil
		}
		done[at] = true
		// The end first: no way longer than the straight one is followed.
		for i := 1; i < len(nodes); i++ {
			if done[i] {
				continue
			}
			within := math.Min(best[i].lowM, best[1].lowM) - best[at].lowM
			low, high, err := nodes[at].gap(nodes[i], within)
			if err != nil {
				return way{}, err
			}
			if next := best[at].lowM + low; next < best[i].lowM {
				best[i] = way{lowM: next, highM: best[at].highM + high, over: best[at].over}
				if at != 0 {
					best[i].over = append(slices.Clone(best[at].over), at)
				}
			}
		}
	}
}

// gap returns bounds of the least distance between what makes up o and p, as far as
// it is not more than withinM.
func (o object) gap(p object, withinM float64) (lowM, highM float64, err error) {
	lowM, highM = math.Inf(1), math.Inf(1)
	see := func(d, slack, loose float64) {
		if low := math.Max(0, d-slack-loose); low < lowM {
			lowM, highM, withinM = low, math.Max(0, d-loose), math.Min(withinM, low)
		}
	}
	for _, a := range o.pieces {
		for _, b := range p.pieces {
			c, err := a.Meet(b, withinM+a.slackM+b.slackM+a.looseM+b.looseM)
			if err != nil {
				return 0, 0, err
			}
			if c.Overlap {
				return 0, 0, nil
			}
			see(c.GapM, c.SlackM, a.looseM+b.looseM)
		}
	}
	for _, side := range [2][2]object{{o, p}, {p, o}} {
		for _, c := range side[0].points {
			for _, b := range side[1].pieces {
				d, err := b.DistanceM(c)
				if err != nil {
					return 0, 0, err
				}
				see(d, b.slackM, b.looseM)
			}
		}
	}
	for _, c := range o.points {
		for _, d := range p.points {
			see(c.Sub(d).Norm(), 0, 0)
		}
	}
	return lowM, highM, nil
}
