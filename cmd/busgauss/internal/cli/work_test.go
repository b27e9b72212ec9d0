package cli

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"busgauss/model/work"
	"busgauss/rules/engine"
	"busgauss/rules/report"
)

// A run gives its work to the layouts in the order of their paths: which of them get how much hangs neither on the number of
// processors nor on which are done first, and together they take no more than the run has.
func TestShareOut(t *testing.T) {
	const layouts = 12
	var inputs []input
	costs := make([]int, layouts)
	for i := range layouts {
		inputs = append(inputs, input{File: report.File{Path: fmt.Sprintf("%c.yaml", 'a'+(7*i)%layouts)}})
		costs[i] = (5 * i) % 7
	}
	run := func(seed uint64) map[string]float64 {
		random := rand.New(rand.NewPCG(seed, seed))
		var mu sync.Mutex
		got := map[string]float64{}
		c := checker{work: workOptions{layout: 10, run: 55}, judge: func(f *report.File, _ *layoutStandard, _ []engine.Rule, opt engine.Options) outcome {
			mu.Lock()
			pause := time.Duration(random.IntN(3)) * time.Millisecond
			got[f.Path] = opt.Work.Most() / work.Million
			mu.Unlock()
			time.Sleep(pause)
			if opt.Work.Take(8*work.Million, "a layout") != nil {
				return outcome{}
			}
			return outcome{understood: true}
		}}
		if _, err := c.check(context.Background(), inputs, make([]layoutStandard, layouts), costs, readable(inputs)); err != nil {
			t.Fatal(err)
		}
		return got
	}
	// 55 = 5·10 + 5 at first; each of those that fit takes 8: a to e leave 15, f takes 8 of 10, g has 7 and takes nothing.
	want := map[string]float64{"a.yaml": 10, "b.yaml": 10, "c.yaml": 10, "d.yaml": 10, "e.yaml": 10, "f.yaml": 10}
	for seed := range uint64(8) {
		got := run(seed)
		for path, steps := range got {
			if w, ok := want[path]; !ok {
				w = 7
				if steps != w {
					t.Errorf("seed %d: %s had %g million steps, want %g", seed, path, steps, w)
				}
			} else if steps != w {
				t.Errorf("seed %d: %s had %g million steps, want %g", seed, path, steps, w)
			}
		}
		if len(got) != layouts {
			t.Errorf("seed %d: %d layouts were looked at", seed, len(got))
		}
	}
	// Where the run does for all, the order is that of before and nobody waits.
	o := workOptions{layout: 10, run: 1000}
	order := []int{3, 1, 2}
	if s, got := o.shareOut(inputs, make([]layoutStandard, layouts), order); s.scarce || !slices.Equal(got, order) {
		t.Errorf("order %v, scarce %v", got, s.scarce)
	}
}
