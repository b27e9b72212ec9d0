package cli

import (
	"fmt"
	"io"
	"sync"
	"time"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// teller shows on a terminal what is being done, in one line that it wipes at the
// end. Like progress it starts after a second.
type teller struct {
	mu    sync.Mutex
	text  string
	once  sync.Once
	stop  chan struct{}
	ended chan struct{}
}

// startTelling tells to w; nil where nothing is to be shown.
func startTelling(w io.Writer) *teller {
	t := &teller{stop: make(chan struct{}), ended: make(chan struct{})}
	if w == nil {
		close(t.ended)
		return t
	}
	go func() {
		defer close(t.ended)
		tick := time.NewTicker(time.Second)
		defer tick.Stop()
		width := 0
		for {
			select {
			case <-tick.C:
				t.mu.Lock()
				line := report.Shorten("busgauss: "+finding.Clean(t.text), 78)
				t.mu.Unlock()
				fmt.Fprintf(w, "\r%-*s", width, line)
				width = max(width, len([]rune(line)))
			case <-t.stop:
				if width > 0 {
					fmt.Fprintf(w, "\r%*s\r", width, "")
				}
				return
			}
		}
	}()
	return t
}

func (t *teller) say(text string) {
	t.mu.Lock()
	t.text = text
	t.mu.Unlock()
}

// end wipes the line and returns when nothing more will be written. It may be called
// again.
func (t *teller) end() {
	t.once.Do(func() { close(t.stop) })
	<-t.ended
}
