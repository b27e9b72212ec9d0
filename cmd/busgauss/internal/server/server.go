// Package server speaks the Language Server Protocol, version 3.17, for layout files: findings as they are
// typed, completion, hover, definition and references of names, changes that mend findings, and the field per
// ampere behind each sensor. What is found it asks of a Judge.
//
// Two goroutines serve each open document: one says at once what takes no solution of a field, the other waits for a
// pause and has the rest computed. What a newer text overtakes is dropped.
package server

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"runtime/debug"
	"sync"
	"time"

	"github.com/sourcegraph/jsonrpc2"

	"busgauss/model/finding"
)

// Options steer a server. Judge must be set.
type Options struct {
	Judge         Judge
	Name, Version string
	Log           io.Writer     // what goes wrong is told there; nil: nowhere
	Pause         time.Duration // after the last key, before fields are solved; 0: 300 ms
	Patience      time.Duration // the most that a request waits for numbers; 0: 2 s
}

// Server serves one client.
type Server struct {
	opt      Options
	conn     *jsonrpc2.Conn
	encoding encoding
	client   initializeParams

	mu        sync.Mutex
	state     state
	documents map[string]*document // by URI
	running   map[jsonrpc2.ID]context.CancelFunc
	board     board

	logging sync.Mutex
	over    bool // nothing is told any more
}

// state is where the server stands between its first and its last message.
type state int

const (
	fresh state = iota
	ready
	shut
)

// Run serves until the client leaves, and reports whether it did so in order: with a shutdown before (LSP 3.17,
// "exit notification"). The error is that of a stream that cannot be read or written, or that of ctx.
func Run(ctx context.Context, in io.Reader, out io.Writer, o Options) (inOrder bool, err error) {
	if o.Pause == 0 {
		o.Pause = 300 * time.Millisecond
	}
	if o.Patience == 0 {
		o.Patience = 2 * time.Second
	}
	if o.Log == nil {
		o.Log = io.Discard
	}
	s := &Server{opt: o, encoding: utf16Units, documents: map[string]*document{}, running: map[jsonrpc2.ID]context.CancelFunc{}}
	s.board.posts = map[string]map[string][]diagnostic{}
	both := newStream(in, out)
	s.mu.Lock() // until the connection is known, which may bring a message before
	s.conn = jsonrpc2.NewConn(ctx, both, s, jsonrpc2.SetLogger(silent{}))
	s.mu.Unlock()
	<-s.conn.DisconnectNotify()
	s.mu.Lock()
	inOrder = s.state == shut
	for _, d := range s.documents {
		d.close()
	}
	s.mu.Unlock()
	s.logging.Lock()
	s.over = true
	s.logging.Unlock()
	err = both.end()
	if ctx.Err() != nil {
		return false, ctx.Err()
	}
	return inOrder, err
}

// silent keeps the library from saying what Run returns.
type silent struct{}

// Printf implements jsonrpc2.Logger.
func (silent) Printf(string, ...any) {}

// log tells what goes wrong, as long as the session lasts.
func (s *Server) log(format string, args ...any) {
	s.logging.Lock()
	defer s.logging.Unlock()
	if s.over {
		return
	}
	fmt.Fprintf(s.opt.Log, "busgauss: %s\n", finding.Clean(fmt.Sprintf(format, args...)))
}

// methods are the requests of an initialized server. Each answers from what is known when it comes.
var methods = map[string]func(*Server, context.Context, *placeParams) (any, error){
	"textDocument/completion": (*Server).completion,
	"textDocument/hover":      (*Server).hover,
	"textDocument/definition": (*Server).definition,
	"textDocument/references": (*Server).references,
	"textDocument/codeAction": (*Server).codeActions,
	"textDocument/inlayHint":  (*Server).inlayHints,
}

// notifications are taken one after the other, in the order in which they come.
var notifications = map[string]func(*Server, []byte) error{
	"initialized":                     (*Server).initialized,
	"textDocument/didOpen":            (*Server).didOpen,
	"textDocument/didChange":          (*Server).didChange,
	"textDocument/didClose":           (*Server).didClose,
	"workspace/didChangeWatchedFiles": (*Server).changedOnDisk,
	"$/cancelRequest":                 (*Server).cancel,
}

// Handle takes one message. The library calls it for one after the other.
func (s *Server) Handle(ctx context.Context, _ *jsonrpc2.Conn, r *jsonrpc2.Request) {
	s.mu.Lock()
	at := s.state
	s.mu.Unlock()
	params := []byte("{}")
	if r.Params != nil {
		params = *r.Params
	}
	if r.Notif {
		s.notified(at, r.Method, params)
		return
	}
	serve, known := methods[r.Method]
	switch {
	case at == fresh && r.Method == "initialize":
		s.reply(r.ID, func() (any, error) { return s.initialize(params) })
	case at == fresh:
		s.reply(r.ID, fails(codeNotInitialized, "the server is not initialized"))
	case at == shut:
		s.reply(r.ID, fails(jsonrpc2.CodeInvalidRequest, "the server is shut down"))
	case r.Method == "initialize":
		s.reply(r.ID, fails(jsonrpc2.CodeInvalidRequest, "the server is initialized already"))
	case r.Method == "shutdown":
		s.mu.Lock()
		s.state = shut
		s.mu.Unlock()
		s.reply(r.ID, func() (any, error) { return nil, nil })
	case !known:
		s.reply(r.ID, fails(jsonrpc2.CodeMethodNotFound, "no such method"))
	default:
		ctx, cancel := context.WithCancel(ctx)
		s.mu.Lock()
		s.running[r.ID] = cancel
		s.mu.Unlock()
		go func() {
			s.reply(r.ID, func() (any, error) { return s.served(ctx, serve, params) })
			s.mu.Lock()
			delete(s.running, r.ID)
			s.mu.Unlock()
			cancel()
		}()
	}
}

// served answers a request about a place of a document.
func (s *Server) served(ctx context.Context, serve func(*Server, context.Context, *placeParams) (any, error), params []byte) (any, error) {
	var p placeParams
	if err := json.Unmarshal(params, &p); err != nil {
		return nil, &jsonrpc2.Error{Code: jsonrpc2.CodeInvalidParams, Message: "the parameters are not those of the method"}
	}
	out, err := serve(s, ctx, &p)
	if ctx.Err() != nil {
		return nil, &jsonrpc2.Error{Code: codeRequestCancelled, Message: "cancelled"}
	}
	return out, err
}

func fails(code int64, why string) func() (any, error) {
	return func() (any, error) { return nil, &jsonrpc2.Error{Code: code, Message: why} }
}

// reply sends what of returns. A panic there is an error of that one request.
func (s *Server) reply(id jsonrpc2.ID, of func() (any, error)) {
	out := &jsonrpc2.Response{ID: id}
	func() {
		defer func() {
			if v := recover(); v != nil {
				s.log("a request failed: %v\n%s", v, debug.Stack())
				out.Error = &jsonrpc2.Error{Code: jsonrpc2.CodeInternalError, Message: "the server failed at this request"}
			}
		}()
		result, err := of()
		if err == nil {
			err = out.SetResult(result)
		}
		if e, ok := errors.AsType[*jsonrpc2.Error](err); ok {
			out.Error = e
		} else if err != nil {
			out.Error = &jsonrpc2.Error{Code: jsonrpc2.CodeInternalError, Message: finding.Clean(err.Error())}
		}
	}()
	if out.Error != nil {
		out.Result = nil
	}
	s.sent(s.connection().SendResponse(context.Background(), out))
}

// connection returns the connection, which may bring its first message before Run knows it.
func (s *Server) connection() *jsonrpc2.Conn {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.conn
}

// sent ends the connection where a message could not be written.
func (s *Server) sent(err error) {
	if err != nil && err != jsonrpc2.ErrClosed {
		s.connection().Close() // a second close is no fault
	}
}

func (s *Server) notify(method string, params any) {
	s.sent(s.connection().Notify(context.Background(), method, params))
}

func (s *Server) notified(at state, method string, params []byte) {
	if method == "exit" {
		s.connection().Close()
		return
	}
	do, known := notifications[method]
	if at != ready || !known {
		return // LSP 3.17, "initialize request": dropped before; and what is not known may be
	}
	defer func() {
		if v := recover(); v != nil {
			s.log("%s failed: %v\n%s", method, v, debug.Stack())
		}
	}()
	if err := do(s, params); err != nil {
		s.log("%s: %v", method, err)
	}
}

func (s *Server) cancel(params []byte) error {
	var p cancelParams
	var id jsonrpc2.ID
	if err := json.Unmarshal(params, &p); err != nil {
		return err
	}
	if err := json.Unmarshal(p.ID, &id); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if stop := s.running[id]; stop != nil {
		stop()
	}
	return nil
}
