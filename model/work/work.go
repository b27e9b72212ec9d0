// Package work counts what computing takes, in place of timing it: a step is a multiplication with an addition of
// numbers that are at hand, or what takes as long. The same layout takes the same number on every machine, on any number of
// processors and whatever earlier runs have left, so that no verdict hangs on how busy a machine is.
package work

import (
	"fmt"
	"strconv"
	"strings"
	"sync"
)

// Million is a million steps, the unit that people are told.
const Million = 1e6

// Budget is the work that one layout may take. A nil one has no end. Steps are taken before what costs them begins, and in
// the order of the program, never within a loop whose turns run at the same time: for those see Fork. Once
// something does not fit, the budget has ended: nothing more that costs steps is begun.
type Budget struct {
	mu     sync.Mutex
	most   float64
	taken  float64
	over   *Over
	denied int
	ofRun  bool // its end is what a run has left: see OfRun
}

// New returns a budget of so many million steps; 0 and less have no end.
func New(millions int) *Budget {
	if millions <= 0 {
		return nil
	}
	return Of(float64(millions) * Million)
}

// Of returns a budget of so many steps.
func Of(steps float64) *Budget { return &Budget{most: steps} }

// OfRun says that the budget is what a run of several layouts has left, so that --run-work raises it. It returns b.
func (b *Budget) OfRun() *Budget {
	b.ofRun = true
	return b
}

// Most returns the steps that the budget had at first; 0 for one without an end.
func (b *Budget) Most() float64 {
	if b == nil {
		return 0
	}
	return b.most
}

// Over says what did not fit into a budget.
type Over struct {
	What              string  // that would have begun: a noun
	Needs, Left, Most float64 // steps
	OfRun             bool    // Most is what the run had left
}

// raises ends what an Over says: how there may be more.
const raises = " raises that)"

// Error says what it is that did not fit, and what raises the budget.
func (o *Over) Error() string {
	whose, by := "this layout may take", "(--work, or `work` of the standard,"
	if o.OfRun {
		whose, by = "the run had left for this layout", "(--run-work"
	}
	return fmt.Sprintf("%s takes %s million steps of work, and of the %s that %s %s are left %s%s",
		o.What, millions(o.Needs), millions(o.Most), whose, millions(o.Left), by, raises)
}

// Says reports whether a message holds what an Over says.
func Says(message string) bool { return strings.Contains(message, raises) }

func millions(steps float64) string {
	return strconv.FormatFloat(float64(int64((steps+Million-1)/Million)), 'f', 0, 64)
}

// Take takes steps for what is about to begin, a noun. The error is an *Over where they are not there; then it must not begin.
func (b *Budget) Take(steps float64, what string) error {
	if b == nil {
		return nil
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.over == nil && b.taken+steps > b.most {
		b.over = &Over{what, steps, b.most - b.taken, b.most, b.ofRun}
	}
	if b.over != nil {
		b.denied++
		return b.over
	}
	b.taken += steps
	return nil
}

// Missing says that a number is missing again that was not computed since the budget has ended; before, it says nothing.
func (b *Budget) Missing() {
	if b == nil {
		return
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.over != nil {
		b.denied++
	}
}

// beyond is the share of a budget that small things may pass it by.
const beyond = 0.1

// Small is Take for what is as little as a number read of what is there: it goes on when something larger did not fit, a tenth
// beyond the budget.
func (b *Budget) Small(steps float64, what string) error {
	if b == nil {
		return nil
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.taken+steps > (1+beyond)*b.most {
		if b.over == nil {
			b.over = &Over{what, steps, max(0, b.most-b.taken), b.most, b.ofRun}
		}
		b.denied++
		return b.over
	}
	b.taken += steps
	return nil
}

// Spend takes steps for what has to be done in any case, so that a budget may be passed by it a little.
func (b *Budget) Spend(steps float64) {
	if b == nil {
		return
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.taken += steps
}

// Taken returns the steps taken; of a nil budget none.
func (b *Budget) Taken() float64 {
	if b == nil {
		return 0
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.taken
}

// Over returns what did not fit, nil while everything did.
func (b *Budget) Over() *Over {
	if b == nil {
		return nil
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.over
}

// Denied returns how often something did not fit, or was missing since.
func (b *Budget) Denied() int {
	if b == nil {
		return 0
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.denied
}

// Fork returns n budgets for things that are done at the same time: each an even part of what is left, so that what fits
// into one does not depend on what the others do first.
func (b *Budget) Fork(n int) []*Budget {
	out := make([]*Budget, n)
	if b == nil {
		return out
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	for i := range out {
		out[i] = &Budget{most: max(0, b.most-b.taken) / float64(n), over: b.over, ofRun: b.ofRun}
	}
	return out
}

// Join takes from b what its parts took, once they are done.
func (b *Budget) Join(parts []*Budget) {
	for _, p := range parts {
		b.Spend(p.Taken())
	}
}
