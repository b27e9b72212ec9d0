package remedy

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
)

const (
	pairSteps = 3 // amounts of the first change that are tried with the second
	wideSteps = 8 // amounts of the second that are tried before it is given up
)

// pairs returns the cheapest pair of two changes of each two kinds that reaches the goal. The first
// change takes a few amounts, the second is followed from there to the least that passes.
func (s *search) pairs(list []Change) []Offer {
	var out []Offer
	for i := range list {
		for j := range list {
			// The pitch comes first, since it changes what the other says.
			a, b := &list[i], &list[j]
			if a.Kind == b.Kind || b.Kind == "pitch" || a.Kind != "pitch" && i > j {
				continue
			}
			if o, ok := s.pair(a, b); ok {
				out = append(out, o)
			}
		}
	}
	return out
}

func (s *search) pair(a, b *Change) (Offer, bool) {
	best, found := Offer{cost: math.Inf(1)}, false
	for k := 1; k <= pairSteps; k++ {
		x := a.Step * math.Round(a.Max*float64(k*k)/float64(pairSteps*pairSteps)/a.Step)
		if x <= 0 || x > a.Max || x*a.Cost >= best.cost {
			continue
		}
		l := a.Apply(x)
		if l == nil || !buildable(l, s.g.Sensor) {
			continue
		}
		from := s.tight
		if a.Rearranges {
			from = s.m
		}
		from = from.With(l)
		s.first = a.Say(x) + ", and "
		for _, c := range s.changesOf(l, s.g.Sensor) {
			if c.Kind != b.Kind || c.Way != b.Way {
				continue
			}
			y, ok := s.smallest(from, &c, best.cost-float64(x*a.Cost), wideSteps)
			if !ok {
				continue
			}
			changed := from.With(c.Apply(y))
			after, err := s.g.value(changed)
			if err != nil || !(ownSigned(changed, s.g.Sensor)/ownSigned(s.m, s.g.Sensor) >= leastOutput) {
				continue
			}
			best, found = Offer{Title: s.first + c.Say(y), Model: changed, cost: float64(x*a.Cost) + float64(y*c.Cost),
				Effect: fmt.Sprintf("%s → %s%s", s.g.Show(s.before.Value), s.g.Show(after.Value),
					sideEffect(s.m, changed, s.g.Sensor))}, true
		}
	}
	s.first = ""
	return best, found
}

// nearest is the best that a search saw without reaching its goal.
type nearest struct {
	found bool
	value bounded.Estimate
	first string // what is altered before
	c     Change
	x     float64
}

// keep takes what a change gives where it is better than what was kept.
func (n *nearest) keep(g *Goal, e bounded.Estimate, first string, c *Change, x float64) {
	if math.IsNaN(e.Low) || math.IsNaN(e.High) {
		return
	}
	if !n.found || g.AtLeast && e.Low > n.value.Low || !g.AtLeast && e.High < n.value.High {
		*n = nearest{true, e, first, *c, x}
	}
}

// nearest says how near to the goal the changes come that do not reach it; empty where none betters
// what is drawn by a twentieth of the way.
func (s *search) nearest() string {
	n := &s.best
	if !n.found {
		return ""
	}
	way, rest := s.before.High-s.g.Limit, n.value.High-s.g.Limit
	if s.g.AtLeast {
		way, rest = s.g.Limit-s.before.Low, s.g.Limit-n.value.Low
	}
	// What comes within a hundredth is stopped by something else than the goal.
	if !(rest > 0.01*math.Abs(s.g.Limit) && rest < 0.95*way) {
		return ""
	}
	x := n.c.Step * math.Round(n.x/n.c.Step)
	return fmt.Sprintf("the nearest found is about %s: %s", s.g.Show(n.value.Value), n.first+n.c.Say(x))
}
