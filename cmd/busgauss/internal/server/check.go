package server

import (
	"context"
	"fmt"
	"runtime/debug"
	"time"

	"busgauss/model/finding"
	"busgauss/model/span"
)

// atOnce says of every text of d what takes no solution of a field.
func (s *Server) atOnce(d *document) {
	for {
		select {
		case <-d.done:
			return
		case <-d.quick:
			at := d.snapshot()
			if _, of := d.kept(); of.generation != at.generation { // else two keys came before one look
				s.check(d, at, AtOnce)
			}
		}
	}
}

// afterPause has the whole of a text checked once no key was pressed for a while, and then what would help searched.
// One text of a document is checked at a time; of those that come meanwhile the newest is next.
func (s *Server) afterPause(d *document) {
	pause := time.NewTimer(0)
	defer pause.Stop()
	for {
		select {
		case <-d.done:
			return
		case <-d.slow:
		}
		pause.Reset(s.opt.Pause)
	quiet:
		for {
			select {
			case <-d.done:
				return
			case <-d.slow:
				pause.Reset(s.opt.Pause)
			case <-pause.C:
				break quiet
			}
		}
		at := d.snapshot()
		if answer, of := d.kept(); of.generation == at.generation && answer.Layout == nil {
			continue // there is nothing to solve
		}
		for _, depth := range []Depth{Solved, Remedied} {
			if answer, of := d.kept(); d.current(at.generation) && (of.generation != at.generation || answer.Depth < depth) {
				s.check(d, at, depth)
			}
		}
	}
}

// check has one text judged, keeps the answer and tells it, unless the text is overtaken.
func (s *Server) check(d *document, at snapshot, depth Depth) {
	q := Question{Path: d.path, Text: at.text, Depth: depth, Stop: func() bool { return !d.current(at.generation) }}
	if answer, of := d.kept(); of.generation == at.generation {
		q.Earlier = answer
	}
	answer := s.judged(q)
	d.telling.Lock()
	defer d.telling.Unlock()
	d.mu.Lock()
	if d.closed || d.now.generation != at.generation || d.of.generation == at.generation && d.answer.Depth > answer.Depth {
		d.mu.Unlock()
		return
	}
	d.answer, d.of = answer, at
	close(d.news)
	d.news = make(chan struct{})
	d.mu.Unlock()
	s.tell(d, &at, answer.Shown, answer.Depth == AtOnce && answer.Layout != nil)
	if answer.Depth > AtOnce && q.Earlier.Depth == AtOnce && s.client.Capabilities.Workspace.InlayHint.RefreshSupport {
		s.ask("workspace/inlayHint/refresh", nil)
	}
}

// judged asks the judge. A panic of a check is told as a finding, and the server lives on.
func (s *Server) judged(q Question) (answer Answer) {
	defer func() {
		v := recover()
		if v == nil {
			return
		}
		s.log("the check of %s failed: %v\n%s", q.Path, v, debug.Stack())
		first := span.Pos{Line: 1, Column: 1}
		answer = Answer{Depth: q.Depth, Shown: []finding.Finding{{
			Rule: ruleFailed, Verdict: finding.Undecided, Level: finding.Error,
			Span:    span.Span{File: q.Path, Start: first, End: first},
			Message: fmt.Sprintf("the check of this file failed in the program itself, so nothing is said of it: %.200v", v),
		}}}
	}()
	return s.opt.Judge.Check(q)
}

// ruleFailed is the name under which a failure of the program stands beside findings.
const ruleFailed = "check-failed"

// ask sends a request of which the answer does not matter, without waiting for it.
func (s *Server) ask(method string, params any) {
	go func() {
		ctx, stop := context.WithTimeout(context.Background(), time.Minute)
		defer stop()
		s.connection().Call(ctx, method, params, nil) // a client that refuses does without
	}()
}
