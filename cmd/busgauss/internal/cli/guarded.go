package cli

import (
	"bytes"
	"io"
	"sync"

	"busgauss/model/finding"
)

// guarded is the way out for lines that may hold text of files, names and options: whatever wrote them, none moves a terminal or
// is a command to a build host. It prints whole lines; flush prints what is left.
type guarded struct {
	w    io.Writer
	mu   sync.Mutex
	line []byte
}

// Write implements io.Writer.
func (g *guarded) Write(p []byte) (int, error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.line = append(g.line, p...)
	end := bytes.LastIndexByte(g.line, '\n') + 1
	if end == 0 {
		return len(p), nil
	}
	out := guardedText(g.line[:end])
	g.line = append(g.line[:0], g.line[end:]...)
	if _, err := g.w.Write(out); err != nil {
		return 0, err
	}
	return len(p), nil
}

func (g *guarded) flush() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if len(g.line) == 0 {
		return nil
	}
	_, err := g.w.Write(guardedText(g.line))
	g.line = nil
	return err
}

// guardedText returns text with each of its lines fit for a log.
func guardedText(text []byte) []byte {
	var out bytes.Buffer
	for line := range bytes.Lines(text) {
		body, broken := bytes.CutSuffix(line, []byte("\n"))
		out.WriteString(finding.WholeLine(string(body)))
		if broken {
			out.WriteByte('\n')
		}
	}
	return out.Bytes()
}
