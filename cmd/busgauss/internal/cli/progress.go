package cli

import (
	"fmt"
	"io"
	"slices"
	"sync"
	"time"

	"busgauss/rules/report"
)

// progress says on a terminal how many layouts are left and which is being checked, in one
// line that it wipes at the end. It starts after a second, so that short work shows nothing.
type progress struct {
	inputs []input
	costs  []int
	start  time.Time
	end    func() // wipes the line and returns when nothing more will be written

	mu             sync.Mutex
	running        []int // places of inputs, the one that began first first
	left           int   // layouts
	cost, costLeft int
}

// startProgress watches the inputs at the places which; w is nil where nothing is to be shown.
func startProgress(w io.Writer, inputs []input, costs, which []int) *progress {
	p := &progress{inputs: inputs, costs: costs, start: time.Now(), left: len(which)}
	for _, i := range which {
		p.cost += costs[i]
	}
	p.costLeft = p.cost
	p.end = telling(w, p.words)
	return p
}

func (p *progress) words() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	text := report.Count(p.left, "layout") + " left"
	// Time goes by what is done, once that is a tenth: before, it would be a guess.
	if done := p.cost - p.costLeft; p.costLeft > 0 && done*10 >= p.cost {
		left := time.Duration(float64(time.Since(p.start)) * float64(p.costLeft) / float64(done))
		text += ", about " + max(left.Round(time.Second), time.Second).String()
	}
	if len(p.running) > 0 {
		text += ": " + report.Line(p.inputs[p.running[0]].Path)
	}
	if n := len(p.running) - 1; n > 0 {
		text += fmt.Sprintf(" and %d more", n)
	}
	return text
}

// begin and done say that the input at place i is being checked, and is checked.
func (p *progress) begin(i int) {
	p.mu.Lock()
	p.running = append(p.running, i)
	p.mu.Unlock()
}

func (p *progress) done(i int) {
	p.mu.Lock()
	p.running = slices.DeleteFunc(p.running, func(k int) bool { return k == i })
	p.left--
	p.costLeft -= p.costs[i]
	p.mu.Unlock()
}

// skip says that the input at place i takes no time, which tells nothing of the others.
func (p *progress) skip(i int) {
	p.mu.Lock()
	p.left--
	p.cost -= p.costs[i]
	p.costLeft -= p.costs[i]
	p.mu.Unlock()
}

// telling prints what words say every second in one line of w; nil: nowhere. The function that it returns wipes the line,
// and returns when nothing more will be written.
func telling(w io.Writer, words func() string) (end func()) {
	if w == nil {
		return func() {}
	}
	stop, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		tick := time.NewTicker(time.Second)
		defer tick.Stop()
		width := 0
		for {
			select {
			case <-tick.C:
				line := report.Shorten("busgauss: "+words(), 78)
				fmt.Fprintf(w, "\r%-*s", width, line)
				width = max(width, len([]rune(line)))
			case <-stop:
				if width > 0 {
					fmt.Fprintf(w, "\r%*s\r", width, "")
				}
				return
			}
		}
	}()
	return func() {
		close(stop)
		<-ended
	}
}
