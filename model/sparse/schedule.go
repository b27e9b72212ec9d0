package sparse

import "slices"

// workers is the most goroutines one factorisation uses.
const workers = 4

// task is a set of whole subtrees that one goroutine eliminates alone, children before
// parents. The last task of a Symbolic is the top of the forest, which needs all others
// done. What belongs to which task depends on the pattern only.
type task struct {
	fronts []int32
	work   float64
}

// Below smallWork operations one task does everything; otherwise subtrees of at most
// 1/taskShare of the work are handed out.
const (
	smallWork = 2e6
	taskShare = 12
)

// schedule cuts the forest into tasks and places the update matrices.
func (s *Symbolic) schedule() {
	fronts := len(s.parent)
	own := make([]float64, fronts)
	below := make([]float64, fronts) // work of the whole subtree
	total := 0.0
	for f := range int32(fronts) {
		k, m := s.shape(f)
		// The constant stands for gathering children and for calls.
		own[f] = float64(float64(k)*float64(k+m)*float64(k+m)) + float64(30*float64(m+k))
		below[f] += own[f]
		total += own[f]
		if up := s.parent[f]; up >= 0 {
			below[up] += below[f]
		}
	}
	limit := total / taskShare
	if total < smallWork {
		limit = total * 2
	}
	taskOf := make([]int32, fronts)
	var top, bundle task
	size := make([]int32, fronts) // fronts of each subtree
	for f := range int32(fronts) {
		size[f]++
		up := s.parent[f]
		if up >= 0 {
			size[up] += size[f]
		}
		switch {
		case below[f] > limit:
			top.fronts = append(top.fronts, f)
			top.work += own[f]
		case up < 0 || below[up] > limit: // root of a subtree small enough
			if bundle.work > 0 && bundle.work+below[f] > limit {
				s.tasks = append(s.tasks, bundle)
				bundle = task{}
			}
			for d := f - size[f] + 1; d <= f; d++ {
				bundle.fronts = append(bundle.fronts, d)
			}
			bundle.work += below[f]
		}
	}
	if len(bundle.fronts) > 0 {
		s.tasks = append(s.tasks, bundle)
	}
	// Large tasks first leaves least idle time at the end.
	slices.SortStableFunc(s.tasks, func(a, b task) int {
		switch {
		case a.work > b.work:
			return -1
		case a.work < b.work:
			return 1
		}
		return 0
	})
	s.tasks = append(s.tasks, top)
	for t := range s.tasks {
		for _, f := range s.tasks[t].fronts {
			taskOf[f] = int32(t)
		}
	}
	s.placeUpdates(taskOf)
}

// placeUpdates gives every update matrix its place in the arena. Each task has a region
// of its own with two stacks growing towards each other: fronts of even depth use one,
// of odd depth the other, so that a front's update is written to one stack while those of
// its children wait on top of the other.
func (s *Symbolic) placeUpdates(taskOf []int32) {
	fronts := len(s.parent)
	odd := make([]uint8, fronts)
	s.updateAt = make([]int, fronts)
	for f := int32(fronts) - 1; f >= 0; f-- {
		if up := s.parent[f]; up >= 0 {
			odd[f] = 1 - odd[up]
		}
	}
	for t, task := range s.tasks {
		peak := 0
		var height [2]int
		for _, f := range task.fronts {
			_, m := s.shape(f)
			m = padded(m)
			if odd[f] == 0 {
				s.updateAt[f] = s.arena + height[0]
			} else {
				s.updateAt[f] = -(height[1] + m*m) // from the end, known below
			}
			height[odd[f]] += m * m
			peak = max(peak, height[0]+height[1])
			for _, c := range s.childrenOf(f) {
				if taskOf[c] == int32(t) {
					_, cm := s.shape(c)
					cm = padded(cm)
					height[odd[c]] -= cm * cm
				}
			}
		}
		s.arena += peak
		for _, f := range task.fronts {
			if odd[f] == 1 {
				s.updateAt[f] += s.arena
			}
		}
	}
}
