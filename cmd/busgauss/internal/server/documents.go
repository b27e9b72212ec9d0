package server

import (
	"context"
	"encoding/json"
	"net/url"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"time"

	"github.com/sourcegraph/jsonrpc2"

	"busgauss/schema/load"
)

// document is one open file.
type document struct {
	uri, path string
	quick     chan struct{} // has a value while a check at once is wanted
	slow      chan struct{} // has one since the last change, until the pause is over
	done      chan struct{} // closed with the document

	telling sync.Mutex // held while findings go out, so that older ones never come last

	mu      sync.Mutex
	now     snapshot
	closed  bool
	answer  Answer        // to the text of generation answered
	of      snapshot      // the text that it is of; its generation is 0 before the first
	news    chan struct{} // closed when the next answer has come
	index   *load.Index   // of generation indexed
	indexed uint64
	last    *load.Index // of the last text that had a tree
}

// snapshot is one text of a document. Generations count all changes of it and of what it is judged by, from 1.
type snapshot struct {
	*lines
	version    int
	generation uint64
}

func (d *document) snapshot() snapshot {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.now
}

// kept returns the last answer, and the text that it is of.
func (d *document) kept() (Answer, snapshot) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.answer, d.of
}

// current reports whether a generation is that of the document still.
func (d *document) current(generation uint64) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return !d.closed && d.now.generation == generation
}

func (d *document) close() {
	d.mu.Lock()
	defer d.mu.Unlock()
	if !d.closed {
		d.closed = true
		close(d.done)
	}
}

// indexOf returns the index of the document as it stands, nil where it has no tree, and the last one that there was.
func (d *document) indexOf() (now, last *load.Index) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.indexed != d.now.generation {
		d.index, d.indexed = load.IndexOf(filepath.ToSlash(d.path), []byte(d.now.text)), d.now.generation
		if d.index != nil {
			d.last = d.index
		}
	}
	return d.index, d.last
}

// await returns the answer to the text of s at a depth or beyond, once it is there; false where ctx or the
// patience ends before, or a newer text comes.
func (d *document) await(ctx context.Context, s snapshot, depth Depth, patience time.Duration) (Answer, bool) {
	limit := time.NewTimer(patience)
	defer limit.Stop()
	for {
		d.mu.Lock()
		answer, of, now, news := d.answer, d.of.generation, d.now.generation, d.news
		d.mu.Unlock()
		switch {
		case of == s.generation && (answer.Depth >= depth || answer.Foreign || answer.Layout == nil):
			return answer, true
		case now != s.generation:
			return answer, false
		}
		select {
		case <-news:
		case <-d.done:
			return answer, false
		case <-ctx.Done():
			return answer, false
		case <-limit.C:
			return answer, false
		}
	}
}

// document returns an open document.
func (s *Server) document(uri string) (*document, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if d := s.documents[uri]; d != nil {
		return d, nil
	}
	return nil, &jsonrpc2.Error{Code: jsonrpc2.CodeInvalidParams, Message: "the document is not open"}
}

func (s *Server) didOpen(params []byte) error {
	var p didOpenParams
	if err := json.Unmarshal(params, &p); err != nil {
		return err
	}
	s.closeDocument(p.TextDocument.URI) // one that is open already begins anew
	d := &document{
		uri: p.TextDocument.URI, path: pathOf(p.TextDocument.URI), quick: make(chan struct{}, 1), slow: make(chan struct{}, 1),
		done: make(chan struct{}), news: make(chan struct{}), now: snapshot{linesOf(""), 0, 0},
	}
	s.mu.Lock()
	s.documents[d.uri] = d
	s.mu.Unlock()
	go s.atOnce(d)
	go s.afterPause(d)
	s.takes(d, linesOf(p.TextDocument.Text), p.TextDocument.Version)
	return nil
}

func (s *Server) didChange(params []byte) error {
	var p didChangeParams
	if err := json.Unmarshal(params, &p); err != nil {
		return err
	}
	d, err := s.document(p.TextDocument.URI)
	if err != nil {
		return err
	}
	s.takes(d, d.snapshot().changed(p.ContentChanges, s.encoding), p.TextDocument.Version)
	return nil
}

func (s *Server) didClose(params []byte) error {
	var p didOpenParams
	if err := json.Unmarshal(params, &p); err != nil {
		return err
	}
	s.closeDocument(p.TextDocument.URI)
	return nil
}

func (s *Server) closeDocument(uri string) {
	s.mu.Lock()
	d := s.documents[uri]
	delete(s.documents, uri)
	s.mu.Unlock()
	if d == nil {
		return
	}
	d.close()
	if s.opt.Judge.Hold(d.path, "", false) {
		s.again(d)
	}
	d.telling.Lock()
	defer d.telling.Unlock()
	s.tell(d, nil, nil, false)
}

// takes gives d a new text.
func (s *Server) takes(d *document, text *lines, version int) {
	governs := s.opt.Judge.Hold(d.path, text.text, true)
	d.mu.Lock()
	d.now = snapshot{text, version, d.now.generation + 1}
	d.mu.Unlock()
	d.wake()
	if governs {
		s.again(d)
	}
}

// again has every open document but one checked once more.
func (s *Server) again(but *document) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, d := range s.documents {
		if d == but {
			continue
		}
		d.mu.Lock()
		d.now.generation++
		d.mu.Unlock()
		d.wake()
	}
}

// changedOnDisk has all documents checked again where a file changed that they are judged by.
func (s *Server) changedOnDisk(params []byte) error {
	var p struct {
		Changes []location `json:"changes"`
	}
	if err := json.Unmarshal(params, &p); err != nil {
		return err
	}
	for _, c := range p.Changes {
		if s.opt.Judge.Governs(pathOf(c.URI)) {
			s.again(nil)
			break
		}
	}
	return nil
}

// wake asks for a check at once, and for another after the pause.
func (d *document) wake() {
	for _, c := range []chan struct{}{d.quick, d.slow} {
		select {
		case c <- struct{}{}:
		default:
		}
	}
}

// pathOf returns the path that a URI names. A document that is no file is taken as one of that name in the working directory.
func pathOf(uri string) string {
	u, err := url.Parse(uri)
	if err != nil || u.Scheme != "file" {
		name := strings.Map(func(r rune) rune {
			if strings.ContainsRune(`/\:*?"<>|`, r) || r < ' ' {
				return '_'
			}
			return r
		}, uri)
		if full, err := filepath.Abs(name); err == nil {
			return full
		}
		return name
	}
	path := u.Path
	if runtime.GOOS == "windows" && len(path) > 2 && path[0] == '/' && path[2] == ':' {
		path = path[1:]
	}
	if u.Host != "" && u.Host != "localhost" {
		path = "//" + u.Host + path
	}
	return filepath.FromSlash(path)
}

// samePath reports whether two absolute paths name one file.
func samePath(a, b string) bool { return filepath.Clean(filepath.FromSlash(a)) == filepath.Clean(b) }

// uriOf returns the URI of a path.
func uriOf(path string) string {
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path
	}
	return (&url.URL{Scheme: "file", Path: path}).String()
}
