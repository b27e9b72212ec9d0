package cli

import (
	"cmp"
	"slices"
	"sync"

	"github.com/spf13/pflag"

	"busgauss/model/work"
)

const (
	// layoutWork is the most million steps that one layout may take where neither a standard nor a flag says it: three times
	// what the dearest of the example layouts takes, and about two minutes of one processor.
	layoutWork = 180_000
	// layoutsInRun is for how many such layouts a run has work.
	layoutsInRun = 200
)

// workOptions say how much work a layout and a run may take, in million steps; 0: the default.
type workOptions struct{ layout, run uint32 }

func (o *workOptions) flags(f *pflag.FlagSet) {
	o.flag(f)
	f.Uint32Var(&o.run, "run-work", 0, "the most work that the run may take, in `MILLION` steps, given to the layouts in the order of their paths (default: that of 200 layouts)")
}

// flag is flags for what looks at one layout.
func (o *workOptions) flag(f *pflag.FlagSet) {
	f.Uint32Var(&o.layout, "work", 0, "the most work that one layout may take, in `MILLION` steps; what needs more is undecided (default: work of the standard, else 180000, about two minutes of one processor)")
}

// budget returns what one layout may take.
func (o *workOptions) budget(s *layoutStandard) *work.Budget {
	return work.New(cmp.Or(int(o.layout), s.work(), layoutWork))
}

// work is what the standard lets a layout take, in million steps; 0 where it says nothing.
func (s *layoutStandard) work() int {
	if s == nil || s.view == nil {
		return 0
	}
	return s.view.Work()
}

// shares gives each layout of a run its budget: its own, or what those before it left of that of the run. It does not depend on
// which of them are done first.
type shares struct {
	mu     sync.Mutex
	done   *sync.Cond
	each   []float64 // budgets of the layouts in the order of their paths
	used   []float64 // by those that are done; -1: not done
	most   float64   // of the run
	scarce bool      // it may not do for all
}

// shareOut prepares budgets for the inputs at the places which. order is how they are done: as before, or by their paths where the
// work of the run may not do.
func (o *workOptions) shareOut(inputs []input, standards []layoutStandard, order []int) (*shares, []int) {
	s := &shares{most: cmp.Or(float64(o.run), layoutsInRun*layoutWork) * work.Million}
	s.done = sync.NewCond(&s.mu)
	sum := 0.0
	byPath := slices.Clone(order)
	slices.SortStableFunc(byPath, func(a, b int) int { return cmp.Compare(inputs[a].Path, inputs[b].Path) })
	for _, i := range byPath {
		most := o.budget(&standards[i]).Most()
		s.each, s.used, sum = append(s.each, most), append(s.used, -1), sum+most
	}
	if s.scarce = sum > s.most; s.scarce {
		return s, byPath
	}
	return s, order
}

// budget returns that of the layout that is done as number n. Where the run may not do it waits until that is known.
func (s *shares) budget(n int) *work.Budget {
	if !s.scarce {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for {
		taken, atMost, open := 0.0, 0.0, false
		for k := range n {
			if s.used[k] >= 0 {
				taken += s.used[k]
			} else {
				atMost, open = atMost+2*s.each[k], true // a layout passes its budget by a little
			}
		}
		left := s.most - taken
		if !open || atMost+s.each[n] <= left {
			if left < s.each[n] {
				return work.Of(max(1, left)).OfRun()
			}
			return work.Of(max(1, s.each[n]))
		}
		s.done.Wait()
	}
}

// end says what the layout that is done as number n took.
func (s *shares) end(n int, steps float64) {
	if !s.scarce {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.used[n] = steps
	s.done.Broadcast()
}
