package cli

import (
	"context"
	"runtime"
	"slices"
	"sync"
	"testing"

	"busgauss/rules/engine"
	"busgauss/rules/report"
)

// The dearest layout begins first, those of one cost in the order of their paths, and outcomes stay in that order.
func TestDearestFirst(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	dir := withFixtures(t)
	names := []string{"clean/ferry-thruster.yaml", "clean/plausibility-pair.yaml", "failing/crane-copper-channel.yaml", "failing/winch-channels.yaml"}
	s := &Streams{Dir: dir}
	inputs, _, err := gather(context.Background(), names, s, "")
	if err != nil {
		t.Fatal(err)
	}
	costs, err := costsOf(context.Background(), inputs)
	if err != nil {
		t.Fatal(err)
	}
	var mu sync.Mutex
	var began []string
	c := checker{judge: func(f *report.File, _ *layoutStandard, _ []engine.Rule, _ engine.Options) outcome {
		mu.Lock()
		began = append(began, f.Path)
		mu.Unlock()
		return outcome{assumed: nil, understood: f.Path == names[2]}
	}}
	got, err := c.check(context.Background(), inputs, make([]layoutStandard, len(inputs)), costs, readable(inputs))
	if err != nil {
		t.Fatal(err)
	}
	if want := []string{names[3], names[2], names[0], names[1]}; !slices.Equal(began, want) {
		t.Errorf("began in the order %v, costs %v, want %v", began, costs, want)
	}
	for i := range got {
		if got[i].understood != (i == 2) {
			t.Errorf("outcome %d is that of another layout", i)
		}
	}
}
