package audit

import (
	"cmp"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/word"
)

// Change is one thing to alter and the findings that it clears.
type Change struct {
	Title, Effect string
	Clears        []string // "stray-ratio of SU", each once
	Proven        bool     // the layout was checked again with it, so that Clears is what was seen
}

// mostChanges is how many changes stand on the first screen.
const mostChanges = 3

// changes returns what findings offer, each once, those first that clear most. Where no finding has a
// checked change, remedies stand for them, and findings with the same remedy share it.
func (b *builder) changes() []Change {
	type group struct {
		Change
		level finding.Level
	}
	var list []*group
	byTitle := map[string]*group{}
	offer := func(f *finding.Finding, title, effect string, clears []string, proven bool) {
		if title == "" {
			return
		}
		g := byTitle[title]
		if g == nil {
			g = &group{Change: Change{Title: title, Effect: effect, Proven: proven}}
			byTitle[title] = g
			list = append(list, g)
		}
		g.level = max(g.level, f.Level)
		g.Clears = word.Distinct(append(append(g.Clears, f.Name()), clears...))
	}
	checked := slices.ContainsFunc(b.Findings, func(f finding.Finding) bool { return len(f.Changes) > 0 })
	for i := range b.Findings {
		f := &b.Findings[i]
		if f.Verdict != finding.Fail && f.Verdict != finding.Undecided || f.Level == finding.Note {
			continue
		}
		for k := range f.Changes {
			c := &f.Changes[k]
			offer(f, c.Title, c.Effect, c.Clears, true)
		}
		if !checked {
			offer(f, f.Remedy, "", nil, false)
		}
	}
	slices.SortStableFunc(list, func(x, y *group) int {
		return cmp.Or(-cmp.Compare(len(x.Clears), len(y.Clears)), -cmp.Compare(x.level, y.level))
	})
	out := make([]Change, len(list))
	for i, g := range list {
		out[i] = g.Change
		if !g.Proven {
			out[i].Title, out[i].Effect = parted(g.Title)
		}
	}
	return out
}

// parted cuts a remedy behind what is to be altered: "move SV by 2 mm" and "9 % → 4 %; output rises".
func parted(remedy string) (title, effect string) {
	for at := range remedy {
		if sign := remedy[at:]; (strings.HasPrefix(sign, ": ") || strings.HasPrefix(sign, "; ")) && strings.Count(remedy[:at], `"`)%2 == 0 {
			return remedy[:at], sign[2:]
		}
	}
	return remedy, ""
}
