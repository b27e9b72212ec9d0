package server

import (
	"errors"
	"fmt"
	"io"
	"sync"
	"time"
)

// The most bytes that wait for a client that does not read, and how long the end of a session waits for it.
const (
	mostWaiting = 64 << 20
	lastWait    = time.Second
)

// outbox writes messages in their order and keeps nobody waiting: whoever reads what a client sends must not
// stand still because the client does not read.
type outbox struct {
	out  io.Writer
	done chan struct{} // closed when all is written, or no more can be

	mu      sync.Mutex
	more    *sync.Cond
	waiting [][]byte
	bytes   int
	ended   bool
	err     error
}

func newOutbox(out io.Writer) *outbox {
	o := &outbox{out: out, done: make(chan struct{})}
	o.more = sync.NewCond(&o.mu)
	go o.write()
	return o
}

// put takes the content of a message. The error is that of an earlier one, which could not be written.
func (o *outbox) put(body []byte) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	switch {
	case o.err != nil:
		return o.err
	case o.ended:
		return io.ErrClosedPipe
	case o.bytes+len(body) > mostWaiting:
		o.err = errors.New("the client does not read")
		return o.err
	}
	o.waiting = append(o.waiting, append(fmt.Appendf(nil, "Content-Length: %d\r\n\r\n", len(body)), body...))
	o.bytes += len(body)
	o.more.Signal()
	return nil
}

func (o *outbox) write() {
	defer close(o.done)
	for {
		o.mu.Lock()
		for len(o.waiting) == 0 && !o.ended {
			o.more.Wait()
		}
		list := o.waiting
		o.waiting, o.bytes = nil, 0
		failed := o.err != nil
		o.mu.Unlock()
		if len(list) == 0 || failed {
			return
		}
		for _, text := range list {
			if _, err := o.out.Write(text); err != nil {
				o.mu.Lock()
				o.err = err
				o.mu.Unlock()
				return
			}
		}
	}
}

// end takes no more messages and waits, for a while, until those that wait are written.
func (o *outbox) end() error {
	o.mu.Lock()
	o.ended = true
	o.more.Signal()
	o.mu.Unlock()
	limit := time.NewTimer(lastWait)
	defer limit.Stop()
	select {
	case <-o.done:
	case <-limit.C:
	}
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.err
}
