package cli

import (
	"fmt"
	"io"
	"sync/atomic"
	"time"
)

// progress counts finished layouts on a terminal, in one line that it wipes at
// the end. It starts after a second, so that short work shows nothing.
type progress struct {
	done  atomic.Int64
	stop  chan struct{}
	ended chan struct{}
}

// startProgress watches total layouts; w is nil where nothing is to be shown.
func startProgress(w io.Writer, total int) *progress {
	p := &progress{stop: make(chan struct{}), ended: make(chan struct{})}
	if w == nil {
		close(p.ended)
		return p
	}
	go func() {
		defer close(p.ended)
		tick := time.NewTicker(time.Second)
		defer tick.Stop()
		shown := false
		for {
			select {
			case <-tick.C:
				fmt.Fprintf(w, "\rbusgauss: %d of %d layouts checked", p.done.Load(), total)
				shown = true
			case <-p.stop:
				if shown {
					fmt.Fprintf(w, "\r%60s\r", "")
				}
				return
			}
		}
	}()
	return p
}

// add counts one more.
func (p *progress) add() { p.done.Add(1) }

// end wipes the line and returns when nothing more will be written.
func (p *progress) end() {
	close(p.stop)
	<-p.ended
}
