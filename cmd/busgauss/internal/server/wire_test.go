package server

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/textproto"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
)

// script is a judge that says what a test wants.
type script struct {
	mu     sync.Mutex
	asked  []Question
	answer func(Question) Answer // nil: nothing is found
}

func (j *script) Hold(path, _ string, _ bool) bool { return strings.HasSuffix(path, "governs.yaml") }
func (j *script) Governs(path string) bool         { return j.Hold(path, "", true) }

func (j *script) Check(q Question) Answer {
	j.mu.Lock()
	j.asked = append(j.asked, q)
	j.mu.Unlock()
	if j.answer == nil {
		return Answer{Depth: q.Depth}
	}
	return j.answer(q)
}

func (j *script) questions() []Question {
	j.mu.Lock()
	defer j.mu.Unlock()
	return append([]Question(nil), j.asked...)
}

// wire is the client's end of a server, byte by byte: it has nothing of the server's own framing.
type wire struct {
	t    *testing.T
	to   *io.PipeWriter
	from *textproto.Reader
	done chan struct{}
	// What Run returned; valid once done is closed.
	inOrder bool
	err     error
	kept    []message // read while waiting for another one
	log     *safeBuffer
}

type message struct {
	ID     json.RawMessage
	Method string
	Params json.RawMessage
	Result json.RawMessage
	Error  *struct {
		Code    int
		Message string
	}
}

// safeBuffer is a buffer that two goroutines may use.
type safeBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (b *safeBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.Write(p)
}

func (b *safeBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.String()
}

func start(t *testing.T, j Judge) *wire {
	t.Helper()
	in, to := io.Pipe()
	from, out := io.Pipe()
	w := &wire{t: t, to: to, from: textproto.NewReader(bufio.NewReader(from)), done: make(chan struct{}), log: &safeBuffer{}}
	go func() {
		w.inOrder, w.err = Run(context.Background(), in, out, Options{Judge: j, Name: "test", Log: w.log, Pause: 20 * time.Millisecond, Patience: 10 * time.Second})
		out.Close()
		close(w.done)
	}()
	t.Cleanup(func() { to.Close() })
	return w
}

// begun is start with an initialize of these capabilities.
func begun(t *testing.T, j Judge, capabilities string) *wire {
	w := start(t, j)
	w.send(`{"jsonrpc":"2.0","id":0,"method":"initialize","params":{"capabilities":` + capabilities + `}}`)
	if m := w.answer("0"); m.Error != nil {
		t.Fatalf("initialize: %+v", m.Error)
	}
	w.send(`{"jsonrpc":"2.0","method":"initialized","params":{}}`)
	return w
}

func (w *wire) send(body string) { w.raw(fmt.Sprintf("Content-Length: %d\r\n\r\n%s", len(body), body)) }

func (w *wire) raw(text string) {
	w.t.Helper()
	if _, err := io.WriteString(w.to, text); err != nil {
		w.t.Fatalf("the server reads no more: %v", err)
	}
}

// read returns the next message; false at the end.
func (w *wire) read() (message, bool) {
	w.t.Helper()
	header, err := w.from.ReadMIMEHeader()
	if err != nil {
		return message{}, false
	}
	n, err := strconv.Atoi(header.Get("Content-Length"))
	if err != nil {
		w.t.Fatalf("header %v", header)
	}
	body := make([]byte, n)
	if _, err := io.ReadFull(w.from.R, body); err != nil {
		w.t.Fatal(err)
	}
	var m message
	if err := json.Unmarshal(body, &m); err != nil {
		w.t.Fatalf("%v in %s", err, body)
	}
	return m, true
}

// next returns the next message that is wanted and keeps the others.
func (w *wire) next(what string, wanted func(*message) bool) message {
	w.t.Helper()
	for i := range w.kept {
		if m := w.kept[i]; wanted(&m) {
			w.kept = append(w.kept[:i:i], w.kept[i+1:]...)
			return m
		}
	}
	for {
		m, ok := w.read()
		if !ok {
			w.t.Fatalf("the server ended before %s came: %v\n%s", what, w.err, w.log)
		}
		if wanted(&m) {
			return m
		}
		w.kept = append(w.kept, m)
	}
}

func (w *wire) answer(id string) message {
	w.t.Helper()
	return w.next("the answer to "+id, func(m *message) bool { return m.Method == "" && string(m.ID) == id })
}

// published returns the next diagnostics of a version of a document.
func (w *wire) published(uri string, version int) publishDiagnosticsParams {
	w.t.Helper()
	var p publishDiagnosticsParams
	w.next(fmt.Sprintf("what is found in version %d of %s", version, uri), func(m *message) bool {
		if m.Method != "textDocument/publishDiagnostics" {
			return false
		}
		p = publishDiagnosticsParams{}
		if err := json.Unmarshal(m.Params, &p); err != nil {
			w.t.Fatal(err)
		}
		return p.URI == uri && (version == 0 || p.Version != nil && *p.Version == version)
	})
	return p
}

func (w *wire) open(uri string, version int, text string) {
	body, err := json.Marshal(text)
	if err != nil {
		w.t.Fatal(err)
	}
	w.send(fmt.Sprintf(`{"jsonrpc":"2.0","method":"textDocument/didOpen","params":{"textDocument":{"uri":%q,"languageId":"yaml","version":%d,"text":%s}}}`, uri, version, body))
}

func (w *wire) change(uri string, version int, text string) {
	body, err := json.Marshal(text)
	if err != nil {
		w.t.Fatal(err)
	}
	w.send(fmt.Sprintf(`{"jsonrpc":"2.0","method":"textDocument/didChange","params":{"textDocument":{"uri":%q,"version":%d},"contentChanges":[{"text":%s}]}}`, uri, version, body))
}

// leave ends the session as the protocol has it.
func (w *wire) leave() {
	w.t.Helper()
	w.send(`{"jsonrpc":"2.0","id":"bye","method":"shutdown"}`)
	if m := w.answer(`"bye"`); m.Error != nil || string(m.Result) != "null" {
		w.t.Errorf("shutdown: %+v", m)
	}
	w.send(`{"jsonrpc":"2.0","method":"exit"}`)
	<-w.done
	if !w.inOrder || w.err != nil {
		w.t.Errorf("left in order: %v, %v", w.inOrder, w.err)
	}
}

const a = "file:///layouts/a.yaml"
