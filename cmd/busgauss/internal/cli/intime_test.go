package cli

import (
	"context"
	"testing"
	"time"

	"busgauss/model/finding"
)

// A layout that takes too long is given up, and so is one that nobody waits for.
func TestInTime(t *testing.T) {
	held := make(chan struct{})
	defer close(held)
	endless := func() outcome { <-held; return outcome{} }
	if _, late := inTime(context.Background(), time.Millisecond, endless); !late {
		t.Error("an endless check was not given up")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, late := inTime(ctx, time.Hour, endless); late {
		t.Error("an interrupted check counts as late")
	}
	if o, late := inTime(context.Background(), time.Hour, func() outcome { return outcome{said: make([]finding.Finding, 1)} }); late || len(o.said) != 1 {
		t.Errorf("late %v, %d findings", late, len(o.said))
	}
}
