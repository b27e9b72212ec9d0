package remedy

import (
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/probe"
)

// Alike are goals of shields of one form and one material that fail the same limit: what is made alike gets the same
// wall. The zero value holds none; a nil one too.
type Alike struct {
	Goals []ShieldGoal

	searched bool
	title    string // empty: no wall reaches the goal of all
	found    *probe.Model
	effects  map[layout.ShieldIndex]string
}

// several reports whether there is more than one.
func (a *Alike) several() bool { return a != nil && len(a.Goals) > 1 }

// offer returns the least wall of all shields with which each reaches its goal, searched at the first call, and what it
// does for g, which is one of them.
func (a *Alike) offer(m *probe.Model, g *ShieldGoal) (Offer, bool) {
	if !a.several() {
		return Offer{}, false
	}
	if !a.searched {
		a.searched = true
		a.search(m)
	}
	o := Offer{Title: a.title, Model: a.found, Effect: a.effects[g.Shield]}
	if a.found != nil {
		a.found = m.With(a.found.Layout) // without its fields: they fill the memory
	}
	return o, a.title != ""
}

func (a *Alike) search(m *probe.Model) {
	var all []dimension
	var names []string
	joint := a.Goals[0]
	for k := range a.Goals {
		d := dimensions(m, a.Goals[k].Shield)
		if len(d) == 0 {
			return
		}
		all, names = append(all, d[0]), append(names, m.Layout.Shields[d[0].of].ID)
		joint.Drive = math.Max(joint.Drive, a.Goals[k].Drive)
	}
	joint.Measure = a.most(func(g *ShieldGoal) measure { return g.Measure })
	joint.Search = a.most(func(g *ShieldGoal) measure { return g.Search })
	joint.Draft = a.most(func(g *ShieldGoal) measure { return g.drafted() })
	before, err := joint.Measure(m)
	if err != nil {
		return
	}
	x, _, changed, ok := few(m, &joint, before, all...)
	if !ok {
		return
	}
	effects := map[layout.ShieldIndex]string{}
	for k := range a.Goals {
		g := &a.Goals[k]
		before, err := g.Measure(m)
		if err != nil {
			return
		}
		after, err := g.confirmed(m, changed)
		if err != nil {
			return
		}
		effects[g.Shield] = g.effect(m, changed, before, after)
	}
	last := len(names) - 1
	a.title = all[0].say(strings.Join(names[:last], ", ")+" and "+names[last], x)
	a.found, a.effects = changed, effects
}

type measure = func(*probe.Model) (bounded.Estimate, error)

// most returns the largest that a measure of the goals gives.
func (a *Alike) most(of func(*ShieldGoal) measure) measure {
	return func(m *probe.Model) (bounded.Estimate, error) {
		var out bounded.Estimate
		for k := range a.Goals {
			e, err := of(&a.Goals[k])(m)
			if err != nil {
				return out, err
			}
			out = bounded.Most(out, e)
		}
		return out, nil
	}
}
