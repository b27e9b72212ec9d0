package server

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/textproto"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/sourcegraph/jsonrpc2"
)

// FuzzStream takes any bytes for what a client sends: the stream ends, what it hands on is a message, and what it writes
// itself are whole answers that say an error.
func FuzzStream(f *testing.F) {
	for _, text := range []string{
		"Content-Length: 46\r\n\r\n{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"initialize\"}", "Content-Length: 2\n\n{}Content-Length: 4\n\nnull", "Content-Length: 9\r\n\r\n{}",
		"Content-Type: x\r\ncontent-length : 58\r\n\r\n{\"jsonrpc\":\"2.0\",\"method\":\"exit\",\"params\":{\"a\":[1e999]}}  ", "Content-Length: -1\r\n\r\n", "a\r\n\r\n",
		"Content-Length: 99999999999999999999\r\n\r\n", "\r\n", "Content-Length: 42\r\n\r\n{\"jsonrpc\":\"2.0\",\"id\":{},\"method\":\"a\"}    ", "Content-Length: 34\r\n\r\n{\"jsonrpc\":\"2.0\",\"id\":1,\"error\":3}",
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, sent []byte) {
		if len(sent) > 4000 {
			return
		}
		var out bytes.Buffer
		s := newStream(bytes.NewReader(sent), &out)
		for n := 0; ; n++ {
			if n > len(sent) {
				t.Fatal("more messages than bytes")
			}
			var m jsonrpc2.Request
			if s.ReadObject(&m) != nil {
				break
			}
		}
		s.end() // says again why the stream ended
		for rest := out.String(); rest != ""; {
			var length int
			if n, err := fmt.Sscanf(rest, "Content-Length: %d\r\n\r\n", &length); n != 1 || err != nil {
				t.Fatalf("answer %q", rest)
			}
			_, rest, _ = strings.Cut(rest, "\r\n\r\n")
			var a struct {
				Version string          `json:"jsonrpc"`
				ID      json.RawMessage `json:"id"`
				Error   *struct {
					Code    int
					Message string
				}
			}
			if length > len(rest) || json.Unmarshal([]byte(rest[:length]), &a) != nil {
				t.Fatalf("answer %q", rest)
			}
			if a.Version != "2.0" || a.Error == nil || a.Error.Message == "" || len(a.ID) == 0 {
				t.Fatalf("answer %q", rest[:length])
			}
			rest = rest[length:]
		}
	})
}

// FuzzChanged edits any text as a client does: the same as a second way to count gives, which splits lines and
// encodes them whole.
func FuzzChanged(f *testing.F) {
	f.Add("x: 😀y\nz: 1\n", "é", 0, 5, 0, 6)
	f.Add("a\r\nb\rc", "\n", 1, 0, 2, 9)
	f.Add("", "a", -1, 3, 7, -2)
	f.Add("\xff😀", "", 0, 2, 0, 3)
	f.Fuzz(func(t *testing.T, text, with string, line1, character1, line2, character2 int) {
		if len(text)+len(with) > 2000 {
			return
		}
		c := contentChange{Range: &stretch{position{line1, character1}, position{line2, character2}}, Text: with}
		from, to := byteBySplitting(text, line1, character1), byteBySplitting(text, line2, character2)
		if to < from {
			from, to = to, from
		}
		want := text[:from] + with + text[to:]
		got := linesOf(text).changed([]contentChange{c}, utf16Units)
		if got.text != want {
			t.Fatalf("%q with %+v is %q, want %q", text, *c.Range, got.text, want)
		}
		for n := range got.start {
			if from, to := got.line(n); from > to || strings.ContainsAny(got.text[from:to], "\r\n") {
				t.Fatalf("line %d of %q is %d to %d", n, got.text, from, to)
			}
		}
	})
}

// byteBySplitting returns the byte of a place in units of UTF-16.
func byteBySplitting(text string, line, character int) int {
	if line < 0 {
		return 0
	}
	rest := text
	for range min(line, len(text)+1) {
		end := strings.IndexAny(rest, "\r\n")
		if end < 0 {
			return len(text)
		}
		if strings.HasPrefix(rest[end:], "\r\n") {
			end++
		}
		rest = rest[end+1:]
	}
	at := len(text) - len(rest)
	if end := strings.IndexAny(rest, "\r\n"); end >= 0 {
		rest = rest[:end]
	}
	for i, r := range rest { // a byte that is no character counts as one
		if character -= len(utf16.Encode([]rune{r})); character < 0 {
			return at + i
		}
	}
	return at + len(rest)
}

// FuzzSession sends a server messages made of any parameters and any text: it answers each request with its id, in messages
// that are whole, and ends when it is told to.
func FuzzSession(f *testing.F) {
	f.Add("layout: 1\nbars: {U: {}}\n", `{"textDocument":{"uri":"file:///a.yaml","version":2},"contentChanges":[{"text":"layout: 1\n"}]}`, `{"textDocument":{"uri":"file:///a.yaml"},"position":{"line":1,"character":3}}`, uint8(0))
	f.Add("a: [\n", `{"textDocument":{"uri":"file:///a.yaml"},"contentChanges":[{"range":{"start":{"line":9,"character":-1},"end":{"line":0}},"text":"x"}]}`, `{"position":{"line":-5}}`, uint8(1))
	f.Add("\xff", `[]`, `{"textDocument":{"uri":"file:///a.yaml"},"range":{"end":{"line":99}},"context":{"only":["quickfix"]}}`, uint8(4))
	f.Add("layout: 1\nsensors: {S: {reads: \n", `null`, `{"textDocument":{"uri":"%zz"}}`, uint8(2))
	requests := []string{"textDocument/completion", "textDocument/hover", "textDocument/definition", "textDocument/references", "textDocument/codeAction", "textDocument/inlayHint", "none"}
	f.Fuzz(func(t *testing.T, text, change, place string, which uint8) {
		if len(text)+len(change)+len(place) > 2000 {
			return
		}
		quoted, err := json.Marshal(text)
		if err != nil || !json.Valid([]byte(change)) || !json.Valid([]byte(place)) {
			return
		}
		var sent strings.Builder
		say := func(format string, args ...any) {
			body := fmt.Sprintf(format, args...)
			fmt.Fprintf(&sent, "Content-Length: %d\r\n\r\n%s", len(body), body)
		}
		say(`{"jsonrpc":"2.0","id":0,"method":"initialize","params":{"capabilities":{}}}`)
		say(`{"jsonrpc":"2.0","method":"initialized","params":{}}`)
		say(`{"jsonrpc":"2.0","method":"textDocument/didOpen","params":{"textDocument":{"uri":"file:///a.yaml","version":1,"text":%s}}}`, quoted)
		say(`{"jsonrpc":"2.0","method":"textDocument/didChange","params":%s}`, change)
		say(`{"jsonrpc":"2.0","id":1,"method":%q,"params":%s}`, requests[int(which)%len(requests)], place)
		say(`{"jsonrpc":"2.0","id":2,"method":"shutdown"}`)
		say(`{"jsonrpc":"2.0","method":"exit"}`)
		var out, log safeBuffer
		ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second) // far above what any takes: it catches what never ends
		defer cancel()
		inOrder, err := Run(ctx, strings.NewReader(sent.String()), &out, Options{Judge: &script{}, Log: &log, Pause: time.Millisecond, Patience: time.Millisecond})
		if !inOrder || err != nil {
			t.Fatalf("left in order: %v, %v\n%s", inOrder, err, log.String())
		}
		if strings.Contains(log.String(), "failed") {
			t.Fatal(log.String())
		}
		answered := map[string]int{}
		w := &wire{t: t, from: textproto.NewReader(bufio.NewReader(strings.NewReader(out.String())))}
		for m, ok := w.read(); ok; m, ok = w.read() {
			if m.Method == "" {
				answered[string(m.ID)]++
			}
			if m.Error != nil && m.Error.Code == jsonrpc2.CodeInternalError {
				t.Fatalf("%+v", m.Error)
			}
		}
		if answered["0"] != 1 || answered["2"] != 1 || answered["1"] > 1 {
			t.Fatalf("answers: %v", answered)
		}
	})
}
