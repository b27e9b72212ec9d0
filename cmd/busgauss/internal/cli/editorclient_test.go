package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/sourcegraph/jsonrpc2"
)

// client is an editor at the other end of two pipes. Its framing is the library's and not the server's.
type client struct {
	t      testing.TB
	conn   *jsonrpc2.Conn
	to     io.Closer
	ended  chan said
	counts string // position encoding that it offers; empty: none

	mu    sync.Mutex
	found map[string][]published // by URI
	asked []string               // methods that the server called
	came  chan struct{}
	log   strings.Builder
}

type place struct{ Line, Character int }

type published struct {
	URI         string
	Version     *int
	Diagnostics []struct {
		Range         struct{ Start, End place }
		Severity      int
		Code, Message string
	}
}

// codes returns what was published as "code line:character", sorted as it came.
func (p *published) codes() string {
	var out []string
	for _, d := range p.Diagnostics {
		out = append(out, fmt.Sprintf("%s %d:%d", d.Code, d.Range.Start.Line, d.Range.Start.Character))
	}
	return strings.Join(out, ", ")
}

type pipeEnds struct {
	io.Reader
	io.WriteCloser
}

// startEditor starts a language server in dir and the client of it.
func startEditor(t testing.TB, dir string, offers []string, args ...string) *client {
	t.Helper()
	fromClient, toServer := io.Pipe()
	fromServer, toClient := io.Pipe()
	c := &client{t: t, to: toServer, ended: make(chan said, 1), found: map[string][]published{}, came: make(chan struct{}, 1)}
	errs := &c.log
	go func() {
		s := Streams{In: fromClient, Out: toClient, Err: errs, Env: func(string) string { return "" }, Dir: dir}
		status := run(context.Background(), append([]string{"language-server"}, args...), s)
		toClient.Close()
		c.ended <- said{status, "", errs.String()}
	}()
	c.conn = jsonrpc2.NewConn(context.Background(), jsonrpc2.NewBufferedStream(pipeEnds{fromServer, toServer}, jsonrpc2.VSCodeObjectCodec{}), c,
		jsonrpc2.SetLogger(quiet{}))
	t.Cleanup(func() { c.conn.Close() })
	var answer struct {
		Capabilities struct{ PositionEncoding string }
	}
	c.call("initialize", map[string]any{"processId": nil, "rootUri": nil, "capabilities": map[string]any{
		"general":      map[string]any{"positionEncodings": offers},
		"textDocument": map[string]any{"publishDiagnostics": map[string]any{"relatedInformation": true}},
		"workspace": map[string]any{"workspaceEdit": map[string]any{"documentChanges": true}, "inlayHint": map[string]any{"refreshSupport": true},
			"didChangeWatchedFiles": map[string]any{"dynamicRegistration": true}},
	}}, &answer)
	c.counts = answer.Capabilities.PositionEncoding
	c.notify("initialized", map[string]any{})
	return c
}

type quiet struct{}

func (quiet) Printf(string, ...any) {}

// Handle takes what the server sends.
func (c *client) Handle(ctx context.Context, conn *jsonrpc2.Conn, r *jsonrpc2.Request) {
	c.mu.Lock()
	if r.Method == "textDocument/publishDiagnostics" {
		var p published
		if err := json.Unmarshal(*r.Params, &p); err != nil {
			c.t.Errorf("diagnostics: %v", err)
		}
		c.found[p.URI] = append(c.found[p.URI], p)
	} else {
		c.asked = append(c.asked, r.Method)
	}
	c.mu.Unlock()
	if !r.Notif {
		go conn.Reply(ctx, r.ID, nil)
	}
	select {
	case c.came <- struct{}{}:
	default:
	}
}

func (c *client) call(method string, params, result any) {
	c.t.Helper()
	ctx, stop := context.WithTimeout(context.Background(), time.Minute)
	defer stop()
	if err := c.conn.Call(ctx, method, params, result); err != nil {
		c.t.Fatalf("%s: %v\n%s", method, err, c.log.String())
	}
}

func (c *client) notify(method string, params any) {
	c.t.Helper()
	if err := c.conn.Notify(context.Background(), method, params); err != nil {
		c.t.Fatalf("%s: %v", method, err)
	}
}

func uri(path string) string { return "file://" + filepath.ToSlash(path) }

func (c *client) open(path, text string) {
	c.notify("textDocument/didOpen", map[string]any{"textDocument": map[string]any{"uri": uri(path), "languageId": "yaml", "version": 1, "text": text}})
}

// replaces gives the whole of a document anew.
func (c *client) replaces(path string, version int, text string) {
	c.change(path, version, map[string]any{"text": text})
}

func (c *client) change(path string, version int, changes ...map[string]any) {
	c.notify("textDocument/didChange", map[string]any{"textDocument": map[string]any{"uri": uri(path), "version": version}, "contentChanges": changes})
}

// until waits for findings in a file that are as they should be, and returns them.
func (c *client) until(path string, ok func(*published) bool) *published {
	c.t.Helper()
	limit := time.After(time.Minute)
	for {
		c.mu.Lock()
		list := c.found[uri(path)]
		var last *published
		if len(list) > 0 {
			last = &list[len(list)-1]
		}
		c.mu.Unlock()
		if last != nil && ok(last) {
			return last
		}
		select {
		case <-c.came:
		case <-limit:
			if last == nil {
				c.t.Fatalf("nothing was published of %s", path)
			}
			c.t.Fatalf("the last that was published of %s: %+v", path, *last)
		}
	}
}

// at returns the parameters of a request about a place.
func at(path string, line, character int) map[string]any {
	return map[string]any{"textDocument": map[string]any{"uri": uri(path)}, "position": map[string]any{"line": line, "character": character}}
}

// leave ends the session in order.
func (c *client) leave() {
	c.t.Helper()
	c.call("shutdown", nil, nil)
	c.notify("exit", nil)
	select {
	case g := <-c.ended:
		if g.status != 0 || g.err != "" {
			c.t.Errorf("the server ended with status %d and said %q", g.status, g.err)
		}
	case <-time.After(time.Minute):
		c.t.Fatal("the server did not end")
	}
}

func mkdir(t testing.TB, paths ...string) {
	t.Helper()
	for _, path := range paths {
		if err := os.MkdirAll(path, 0o755); err != nil {
			t.Fatal(err)
		}
	}
}

// callWith is call with text on standard input.
func callWith(dir, input string, args ...string) said {
	var out, errs strings.Builder
	status := run(context.Background(), args, Streams{In: strings.NewReader(input), Out: &out, Err: &errs, Env: func(string) string { return "" }, Dir: dir})
	return said{status, out.String(), errs.String()}
}
