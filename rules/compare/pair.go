package compare

import (
	"cmp"
	"slices"
)

// match is a pair of layouts; one side is nil where there is none.
type match struct {
	before, after *Layout
	how           Match
}

// leastAlike is the share of objects that two layouts of different names must
// have in common to be taken for one. Common practice: git takes files of which
// half is the same for renamed ones (git documentation, diff-options, -M).
const leastAlike = 0.5

// mostLookedAt bounds the pairs that are compared object by object, so that a
// branch with thousands of new layouts does not take for ever.
const mostLookedAt = 250_000

// pairs matches the layouts of the two sides: by path, then by content, then by
// what is known to be renamed, then by their objects. Each is used once.
func pairs(before, after []Layout, renamed map[string]string) []match {
	b, a := sorted(before), sorted(after)
	var out []match
	usedB, usedA := make([]bool, len(b)), make([]bool, len(a))
	pair := func(i, k int, how Match) {
		usedB[i], usedA[k] = true, true
		out = append(out, match{b[i], a[k], how})
	}
	at := map[string]int{}
	for i, l := range b {
		at[l.Path] = i
	}
	for k, l := range a {
		if i, ok := at[l.Path]; ok && !usedB[i] {
			pair(i, k, ByPath)
		}
	}
	content := map[string][]int{}
	for i, l := range b {
		if !usedB[i] && l.Hash != "" {
			content[l.Hash] = append(content[l.Hash], i)
		}
	}
	for k, l := range a {
		if list := content[l.Hash]; !usedA[k] && len(list) > 0 {
			content[l.Hash] = list[1:]
			pair(list[0], k, ByContent)
		}
	}
	for k, l := range a {
		if i, ok := at[renamed[l.Path]]; ok && !usedA[k] && !usedB[i] {
			pair(i, k, ByGit)
		}
	}
	for _, m := range alike(b, a, usedB, usedA) {
		if !usedB[m.before] && !usedA[m.after] {
			pair(m.before, m.after, ByObjects)
		}
	}
	for i, l := range b {
		if !usedB[i] {
			out = append(out, match{before: l})
		}
	}
	for k, l := range a {
		if !usedA[k] {
			out = append(out, match{after: l})
		}
	}
	return out
}

func sorted(list []Layout) []*Layout {
	out := make([]*Layout, len(list))
	for i := range list {
		out[i] = &list[i]
	}
	slices.SortStableFunc(out, func(a, b *Layout) int { return cmp.Compare(a.Path, b.Path) })
	return out
}

// candidate is two layouts, by index, that have objects in common.
type candidate struct {
	before, after int
	share         float64
}

// alike returns the pairs of layouts that are left and have at least half of
// their objects in common, the most alike first.
func alike(b, a []*Layout, usedB, usedA []bool) []candidate {
	left := func(list []*Layout, used []bool) (index []int, content []map[string]int) {
		for i, l := range list {
			if !used[i] && l.Layout != nil {
				index = append(index, i)
				content = append(content, contents(l.Layout))
			}
		}
		return index, content
	}
	bi, bc := left(b, usedB)
	if len(bi) == 0 {
		return nil
	}
	ai, ac := left(a, usedA)
	if len(bi)*len(ai) > mostLookedAt {
		return nil
	}
	var out []candidate
	for x, i := range bi {
		for y, k := range ai {
			if s := common(bc[x], ac[y]); s >= leastAlike {
				out = append(out, candidate{i, k, s})
			}
		}
	}
	slices.SortFunc(out, func(p, q candidate) int {
		return cmp.Or(-cmp.Compare(p.share, q.share), cmp.Compare(p.after, q.after), cmp.Compare(p.before, q.before))
	})
	return out
}

// common returns the share of objects, of those that either has, that both have.
func common(a, b map[string]int) float64 {
	both, all := 0, 0
	for k, n := range a {
		both += min(n, b[k])
		all += max(n, b[k])
	}
	for k, n := range b {
		if _, ok := a[k]; !ok {
			all += n
		}
	}
	if all == 0 {
		return 0
	}
	return float64(both) / float64(all)
}

// Settled returns the paths on each side whose content stands on the other side
// as the same layout: nobody needs to check those. Only paths, hashes and
// refusals are looked at.
func Settled(before, after []Layout) (b, a map[string]bool) {
	b, a = map[string]bool{}, map[string]bool{}
	bare := func(list []Layout) []Layout {
		out := make([]Layout, len(list))
		for i, l := range list {
			out[i] = Layout{Path: l.Path, Hash: l.Hash, Refused: l.Refused}
		}
		return out
	}
	for _, m := range pairs(bare(before), bare(after), nil) {
		if sameHash(m.before, m.after) {
			b[m.before.Path], a[m.after.Path] = true, true
		}
	}
	return b, a
}
