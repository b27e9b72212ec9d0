package server

import (
	"io"
	"strconv"
	"strings"
	"sync"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/span"
	"busgauss/schema/load"
)

// Codes are those of JSON-RPC 2.0, section 5.1, and of LSP 3.17, ErrorCodes. After each the server serves on.
func TestWrongMessages(t *testing.T) {
	w := start(t, &script{})
	ask := func(body, id string, code int) {
		t.Helper()
		w.send(body)
		if m := w.answer(id); m.Error == nil || m.Error.Code != code {
			t.Errorf("%s: %+v, want code %d", body, m.Error, code)
		}
	}
	ask(`{"jsonrpc":"2.0","id":1,"method":"textDocument/hover","params":{}}`, "1", -32002)
	ask(`{"jsonrpc":"2.0","id":2,"method":"initialize","params":[1]}`, "2", -32602)
	w.send(`{"jsonrpc":"2.0","method":"textDocument/didOpen","params":{}}`) // dropped
	w.send(`{"jsonrpc":"2.0","id":3,"method":"initialize","params":{"capabilities":{}}}`)
	if m := w.answer("3"); m.Error != nil || !strings.Contains(string(m.Result), `"positionEncoding":"utf-16"`) {
		t.Errorf("initialize: %+v %s", m.Error, m.Result)
	}
	ask(`{"jsonrpc":"2.0","id":4,"method":"initialize","params":{}}`, "4", -32600)
	ask(`{"jsonrpc":"2.0","id":5,"method":"textDocument/unheardOf","params":{}}`, "5", -32601)
	ask(`{"jsonrpc":"2.0","id":6,"method":"textDocument/hover","params":{"position":"here"}}`, "6", -32602)
	ask(`{"jsonrpc":"2.0","id":7,"method":"textDocument/hover","params":{"textDocument":{"uri":"file:///none"}}}`, "7", -32602)
	ask(`{"jsonrpc":"2.0","id":8,`, "null", -32700)
	ask(`[{"jsonrpc":"2.0","id":9,"method":"shutdown"}]`, "null", -32600)
	ask(`{"jsonrpc":"1.0","id":10,"method":"shutdown"}`, "10", -32600)
	ask(`{"jsonrpc":"2.0","id":11}`, "11", -32600)
	ask(`{"jsonrpc":"2.0","id":-12,"method":"shutdown"}`, "-12", -32600)
	ask(`{"jsonrpc":"2.0","id":{"a":1},"method":"shutdown"}`, `{"a":1}`, -32600)
	ask(`5`, "null", -32600)
	ask("\x00\xff", "null", -32700)
	for _, quiet := range []string{ // notifications and responses that nobody waits for
		`{"jsonrpc":"2.0","method":"textDocument/didChange","params":{"textDocument":{"uri":"file:///none"}}}`,
		`{"jsonrpc":"2.0","method":"textDocument/didOpen","params":7}`,
		`{"jsonrpc":"2.0","method":"$/unheardOf"}`,
		`{"jsonrpc":"2.0","method":"$/cancelRequest","params":{"id":99}}`,
		`{"jsonrpc":"2.0","id":77,"result":null}`,
		`{"jsonrpc":"2.0","id":77,"error":"text"}`,
	} {
		w.send(quiet)
	}
	w.raw("content-length:  2  \nContent-Type: text/plain\n\n{}") // another spelling of a header, and no message
	if m := w.answer("null"); m.Error.Code != -32600 {
		t.Errorf("%+v", m.Error)
	}
	ask(`{"jsonrpc":"2.0","id":"s","method":"textDocument/unheardOf"}`, `"s"`, -32601)
	w.send(`{"jsonrpc":"2.0","id":20,"method":"shutdown"}`)
	w.answer("20")
	ask(`{"jsonrpc":"2.0","id":21,"method":"textDocument/hover","params":{}}`, "21", -32600)
	w.send(`{"jsonrpc":"2.0","method":"exit"}`)
	<-w.done
	if !w.inOrder || w.err != nil {
		t.Errorf("left in order: %v, %v", w.inOrder, w.err)
	}
}

// A header that cannot be followed ends the session with an error, whatever it promises.
func TestHostileHeaders(t *testing.T) {
	for _, header := range []string{
		"Content-Length: 99999999999999999999\r\n\r\n",
		"Content-Length: 9223372036854775807\r\n\r\n",
		"Content-Length: 1000000000000\r\n\r\n{}",
		"Content-Length: -5\r\n\r\n",
		"Content-Length: 2\r\nContent-Length: 3\r\n\r\n{}",
		"Content-Length: 0x10\r\n\r\n",
		"Content-Type: text\r\n\r\n{}",
		"no colon\r\n\r\n",
		"\r\n\r\n",
		strings.Repeat("X", 1<<20),
		strings.Repeat("X-Field: 1\r\n", 1<<16),
	} {
		w := start(t, &script{})
		go io.WriteString(w.to, header) // which the server need not read to its end
		m, ok := w.read()
		if !ok || m.Error == nil || m.Error.Code != -32700 {
			t.Errorf("%.40q: %+v", header, m)
		}
		<-w.done
		if w.inOrder || w.err == nil {
			t.Errorf("%.40q: left in order: %v, %v", header, w.inOrder, w.err)
		}
	}
}

// The session ends out of order where the stream ends, or exit comes, without a shutdown.
func TestEndWithoutShutdown(t *testing.T) {
	for name, end := range map[string]func(*wire){
		"end of input":        func(w *wire) { w.to.Close() },
		"exit":                func(w *wire) { w.send(`{"jsonrpc":"2.0","method":"exit"}`) },
		"within a message":    func(w *wire) { w.raw("Content-Length: 100\r\n\r\n{"); w.to.Close() },
		"within a header":     func(w *wire) { w.raw("Content-Le"); w.to.Close() },
		"before a blank line": func(w *wire) { w.raw("Content-Length: 2\r\n"); w.to.Close() },
	} {
		w := begun(t, &script{}, "{}")
		end(w)
		<-w.done
		if w.inOrder {
			t.Errorf("%s: left in order", name)
		}
	}
}

// found is a finding of level at a line of a.
func found(message string, line int) finding.Finding {
	at := span.Pos{Line: line, Column: 1}
	return finding.Finding{Rule: "some-rule", Verdict: finding.Fail, Level: finding.Warning, Message: message,
		Span: span.Span{File: "/layouts/a.yaml", Start: at, End: span.Pos{Line: line, Column: 5}}}
}

// A panic of a check is told as a finding of the file, and all else goes on.
func TestPanicOfACheck(t *testing.T) {
	j := &script{answer: func(q Question) Answer {
		if q.Text == "break" {
			panic("no such \x1b[31m luck")
		}
		return Answer{Depth: q.Depth, Shown: []finding.Finding{found("fine", 1)}}
	}}
	w := begun(t, j, "{}")
	w.open(a, 1, "break")
	p := w.published(a, 1)
	if len(p.Diagnostics) != 1 || p.Diagnostics[0].Code != ruleFailed || p.Diagnostics[0].Severity != severityError ||
		!strings.Contains(p.Diagnostics[0].Message, `no such \x1b[31m luck`) {
		t.Errorf("%+v", p.Diagnostics)
	}
	w.change(a, 2, "mended")
	if p := w.published(a, 2); len(p.Diagnostics) != 1 || p.Diagnostics[0].Message != "fine" {
		t.Errorf("%+v", p.Diagnostics)
	}
	if !strings.Contains(w.log.String(), "no such") {
		t.Errorf("the log says %q", w.log)
	}
	w.leave()
}

// While a text is solved newer ones come: its answer is dropped, it is told to stop, one is solved at a time, and of
// those that wait the newest is next. What is said at once is said meanwhile.
func TestOvertaken(t *testing.T) {
	began, release := make(chan string, 10), make(chan struct{})
	stopped := make(chan bool, 10)
	var busy, most int
	var mu sync.Mutex
	j := &script{answer: func(q Question) Answer {
		if q.Depth == AtOnce {
			return Answer{Depth: AtOnce, Layout: &layout.Layout{}, Shown: []finding.Finding{found("at once "+q.Text, 1)}}
		}
		mu.Lock()
		busy++
		most = max(most, busy)
		mu.Unlock()
		began <- q.Text
		<-release
		stopped <- q.Stop()
		mu.Lock()
		busy--
		mu.Unlock()
		return Answer{Depth: q.Depth, Layout: &layout.Layout{}, Shown: []finding.Finding{found("solved "+q.Text, 1)}}
	}}
	w := begun(t, j, "{}")
	w.open(a, 1, "one")
	w.published(a, 1)
	if got := <-began; got != "one" {
		t.Fatalf("solving %q", got)
	}
	for i, text := range []string{"two", "three", "four"} {
		w.change(a, i+2, text)
		if p := w.published(a, i+2); p.Diagnostics[0].Message != "at once "+text {
			t.Errorf("%+v", p.Diagnostics)
		}
	}
	release <- struct{}{}
	if !<-stopped {
		t.Error("what is overtaken is not told to stop")
	}
	if got := <-began; got != "four" {
		t.Errorf("after %q comes %q", "one", got)
	}
	release <- struct{}{}
	if <-stopped {
		t.Error("the newest is told to stop")
	}
	if p := w.published(a, 4); p.Diagnostics[0].Message != "solved four" {
		t.Errorf("%+v", p.Diagnostics)
	}
	close(release) // for the search of what helps
	w.leave()
	mu.Lock()
	defer mu.Unlock()
	if most != 1 {
		t.Errorf("%d were solved at a time", most)
	}
	for _, m := range w.kept {
		if strings.Contains(string(m.Params), "solved one") {
			t.Error("the answer to a text that was overtaken is told")
		}
	}
}

// A key that comes within the pause puts it off.
func TestPause(t *testing.T) {
	j := &script{answer: func(q Question) Answer { return Answer{Depth: q.Depth, Layout: &layout.Layout{}} }}
	w := begun(t, j, "{}")
	w.open(a, 1, "0")
	for i := range 40 {
		w.change(a, i+2, strconv.Itoa(i+1))
	}
	w.published(a, 41)
	w.published(a, 41)
	w.leave()
	deep := 0
	for _, q := range j.questions() {
		if q.Depth > AtOnce {
			deep++
			if deep == 1 && q.Text != "40" {
				t.Logf("the machine is slow: %q was solved first", q.Text)
			}
		}
	}
	if deep == 0 || deep > 5 {
		t.Errorf("%d of 41 texts were solved", deep)
	}
}

// Two documents have findings of their own; closing one clears its own, and what it said of a shared file.
func TestTwoDocuments(t *testing.T) {
	const b, shared = "file:///layouts/b%20c.yaml", "file:///layouts/shared.yaml"
	j := &script{answer: func(q Question) Answer {
		f := found("in "+q.Text, 1)
		f.Span.File = q.Path
		g := found("of both", 3)
		g.Span.File = "/layouts/shared.yaml"
		return Answer{Depth: q.Depth, Shown: []finding.Finding{f, g}}
	}}
	w := begun(t, j, "{}")
	w.open(a, 1, "a")
	w.published(shared, 0)
	w.open(b, 1, "b")
	if p := w.published(b, 1); len(p.Diagnostics) != 1 || p.Diagnostics[0].Message != "in b" {
		t.Errorf("%+v", p)
	}
	if p := w.published(shared, 0); len(p.Diagnostics) != 1 {
		t.Errorf("what both say of a file stands there %d times", len(p.Diagnostics))
	}
	w.kept = nil
	w.send(`{"jsonrpc":"2.0","method":"textDocument/didClose","params":{"textDocument":{"uri":"` + b + `"}}}`)
	if p := w.published(b, 0); len(p.Diagnostics) != 0 {
		t.Errorf("after the close: %+v", p)
	}
	if p := w.published(shared, 0); len(p.Diagnostics) != 1 {
		t.Errorf("the other document says it still: %+v", p)
	}
	w.kept = nil
	w.send(`{"jsonrpc":"2.0","method":"textDocument/didClose","params":{"textDocument":{"uri":"` + a + `"}}}`)
	if p := w.published(shared, 0); len(p.Diagnostics) != 0 {
		t.Errorf("nobody says it any more: %+v", p)
	}
	w.leave()
}

// Where a file changes by which others are judged, they are judged again.
func TestJudgedAgain(t *testing.T) {
	j := &script{}
	w := begun(t, j, `{"workspace":{"didChangeWatchedFiles":{"dynamicRegistration":true}}}`)
	ask := w.next("a registration", func(m *message) bool { return m.Method == "client/registerCapability" })
	w.send(`{"jsonrpc":"2.0","id":` + string(ask.ID) + `,"result":null}`)
	count := func() int { return len(j.questions()) }
	w.open(a, 1, "a")
	w.published(a, 1)
	n := count()
	w.send(`{"jsonrpc":"2.0","method":"workspace/didChangeWatchedFiles","params":{"changes":[{"uri":"file:///layouts/other.yaml","type":2}]}}`)
	w.open("file:///layouts/b.yaml", 1, "b")
	w.published("file:///layouts/b.yaml", 1)
	for _, q := range j.questions()[n:] {
		if strings.HasSuffix(q.Path, "a.yaml") {
			t.Error("a file that governs nothing has others judged again")
		}
	}
	w.kept = nil
	w.send(`{"jsonrpc":"2.0","method":"workspace/didChangeWatchedFiles","params":{"changes":[{"uri":"file:///layouts/governs.yaml","type":2}]}}`)
	w.published(a, 1)
	w.kept = nil
	w.open("file:///layouts/governs.yaml", 1, "")
	w.published(a, 1)
	w.leave()
}

// A request that waits is answered with the code of a cancelled one once it is; others are served meanwhile.
func TestCancel(t *testing.T) {
	text := "layout: 1\nbars:\n  U: {}\nsensors:\n  S: {reads: U}\n"
	j := &script{answer: func(q Question) Answer { return Answer{Depth: AtOnce, Layout: &layout.Layout{}} }}
	w := begun(t, j, "{}")
	w.open(a, 1, text)
	w.published(a, 1)
	w.send(`{"jsonrpc":"2.0","id":5,"method":"textDocument/hover","params":{"textDocument":{"uri":"` + a + `"},"position":{"line":2,"character":2}}}`)
	w.send(`{"jsonrpc":"2.0","id":6,"method":"textDocument/definition","params":{"textDocument":{"uri":"` + a + `"},"position":{"line":4,"character":13}}}`)
	if m := w.answer("6"); !strings.Contains(string(m.Result), `"line":2`) {
		t.Errorf("definition: %s", m.Result)
	}
	w.send(`{"jsonrpc":"2.0","method":"$/cancelRequest","params":{"id":5}}`)
	if m := w.answer("5"); m.Error == nil || m.Error.Code != -32800 {
		t.Errorf("%+v", m)
	}
	w.leave()
}

// judged loads a text and finds in it what of says.
func judged(of func(*layout.Layout) []finding.Finding) func(Question) Answer {
	return func(q Question) Answer {
		l, _ := load.Load(q.Path, []byte(q.Text))
		a := Answer{Depth: q.Depth, Layout: l}
		if l != nil {
			a.Model = probe.NewModel(l)
			a.Shown = of(l)
			a.Said = a.Shown
		}
		return a
	}
}

// A client that only writes holds nobody up: what it is told waits for it.
func TestClientThatDoesNotRead(t *testing.T) {
	w := begun(t, &script{}, "{}")
	for i := range 300 {
		w.open(a, i, "x")
	}
	w.send(`{"jsonrpc":"2.0","id":1,"method":"textDocument/unheardOf"}`)
	if m := w.answer("1"); m.Error == nil {
		t.Error("no answer")
	}
	w.leave()
}
