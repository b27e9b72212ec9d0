package cli

import (
	"io"
	"sync"

	"busgauss/model/finding"
)

// teller shows on a terminal what is being done, in one line that it wipes at the
// end. Like progress it starts after a second.
type teller struct {
	mu   sync.Mutex
	text string
	end  func() // wipes the line and returns when nothing more will be written; it may be called again
}

// startTelling tells to w; nil where nothing is to be shown.
func startTelling(w io.Writer) *teller {
	t := &teller{}
	t.end = sync.OnceFunc(telling(w, func() string {
		t.mu.Lock()
		defer t.mu.Unlock()
		return finding.Clean(t.text)
	}))
	return t
}

func (t *teller) say(text string) {
	t.mu.Lock()
	t.text = text
	t.mu.Unlock()
}
