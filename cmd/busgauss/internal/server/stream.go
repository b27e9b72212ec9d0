package server

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"

	"github.com/sourcegraph/jsonrpc2"
)

// The most that a client may send: bytes of all header fields of a message, and bytes of its content. A layout has far less.
const (
	mostHeader  = 4 << 10
	mostContent = 32 << 20
)

// stream reads and writes messages with the header part of the base protocol: LSP 3.17, section "Base Protocol". A content
// that is no message is answered with an error and passed over; a header that is none ends the stream, since nobody
// knows where the next one begins.
type stream struct {
	in     *bufio.Reader
	out    *outbox
	closed atomic.Bool
	mu     sync.Mutex
	err    error // why the input cannot be read
}

func newStream(in io.Reader, out io.Writer) *stream {
	return &stream{in: bufio.NewReader(in), out: newOutbox(out)}
}

// ReadObject reads the next message into v.
func (s *stream) ReadObject(v any) error {
	err := s.next(v)
	if err != nil && err != io.EOF {
		s.mu.Lock()
		s.err = fmt.Errorf("read standard input: %w", err)
		s.mu.Unlock()
	}
	return err
}

// end ends the output, and returns why the stream could not be used; nil where it could.
func (s *stream) end() error {
	err := s.out.end()
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.err == nil && err != nil {
		return fmt.Errorf("write standard output: %w", err)
	}
	return s.err
}

func (s *stream) next(v any) error {
	for {
		if s.closed.Load() {
			return io.EOF
		}
		length, err := s.header()
		if err != nil {
			if err != io.EOF && !errors.Is(err, io.ErrUnexpectedEOF) {
				s.refuse(nil, jsonrpc2.CodeParseError, err.Error())
			}
			return err
		}
		// What is promised is not taken at its word: memory is used for what comes.
		body, err := io.ReadAll(io.LimitReader(s.in, int64(length)))
		if err != nil {
			return err
		}
		if len(body) < length {
			return io.ErrUnexpectedEOF
		}
		id, asks, code, err := form(body)
		if err == nil {
			fresh := reflect.New(reflect.TypeOf(v).Elem())
			if err = json.Unmarshal(body, fresh.Interface()); err == nil {
				reflect.ValueOf(v).Elem().Set(fresh.Elem())
				return nil
			}
			code = jsonrpc2.CodeInvalidRequest
		}
		if !asks {
			continue // nobody answers an answer
		}
		if err := s.refuse(id, code, err.Error()); err != nil {
			return err
		}
	}
}

// form holds a content to the form of a message of JSON-RPC 2.0, and returns its id where it has one. asks
// is false of what seems to be an answer.
func form(body []byte) (id json.RawMessage, asks bool, code int64, err error) {
	var m struct {
		Version string          `json:"jsonrpc"`
		ID      json.RawMessage `json:"id"`
		Method  *string         `json:"method"`
		Result  json.RawMessage `json:"result"`
		Error   json.RawMessage `json:"error"`
	}
	if !json.Valid(body) {
		return nil, true, jsonrpc2.CodeParseError, errors.New("the content is no JSON")
	}
	if err := json.Unmarshal(body, &m); err != nil {
		return nil, true, jsonrpc2.CodeInvalidRequest, errors.New("the content is no single message of JSON-RPC 2.0")
	}
	switch {
	case m.Version != "2.0":
		err = errors.New(`"jsonrpc" must be "2.0"`)
	case m.Method == nil && m.Result == nil && m.Error == nil:
		err = errors.New("the message is neither a request nor a response")
	case len(m.ID) > 0 && m.ID[0] != '"':
		if _, bad := strconv.ParseUint(string(m.ID), 10, 64); bad != nil {
			err = errors.New("an id must be a text or a whole number from 0")
		}
	}
	return m.ID, m.Method != nil || m.Result == nil && m.Error == nil, jsonrpc2.CodeInvalidRequest, err
}

// header reads the fields before a content and returns its length.
func (s *stream) header() (length int, err error) {
	length = -1
	for left, first := mostHeader, true; ; first = false {
		line, err := s.line(&left)
		switch {
		case err == io.EOF && !first:
			return 0, io.ErrUnexpectedEOF
		case err != nil:
			return 0, err
		case line == "" && length < 0:
			return 0, errors.New("a header without Content-Length")
		case line == "":
			return length, nil
		}
		name, value, ok := strings.Cut(line, ":")
		if !ok {
			return 0, errors.New("a line of a header without a colon")
		}
		if !strings.EqualFold(strings.TrimSpace(name), "Content-Length") {
			continue // Content-Type is utf-8 whatever it says
		}
		n, err := strconv.ParseUint(strings.TrimSpace(value), 10, 63)
		switch {
		case err != nil || length >= 0:
			return 0, errors.New("Content-Length must be one whole number")
		case n > mostContent:
			return 0, fmt.Errorf("a content of more than %d bytes", mostContent)
		}
		length = int(n)
	}
}

// line reads a line of a header, without its end; it may use left bytes at most.
func (s *stream) line(left *int) (string, error) {
	var line []byte
	for {
		c, err := s.in.ReadByte()
		if err == io.EOF && len(line) > 0 {
			err = io.ErrUnexpectedEOF
		}
		if err != nil {
			return "", err
		}
		if *left--; *left < 0 {
			return "", fmt.Errorf("a header of more than %d bytes", mostHeader)
		}
		if c == '\n' {
			return strings.TrimSuffix(string(line), "\r"), nil
		}
		line = append(line, c)
	}
}

// refuse answers what is no message. Where its id is not known that of the answer is null: JSON-RPC 2.0, section 5.
func (s *stream) refuse(id json.RawMessage, code int64, why string) error {
	if id == nil {
		id = json.RawMessage("null")
	}
	return s.WriteObject(struct {
		Version string          `json:"jsonrpc"`
		ID      json.RawMessage `json:"id"`
		Error   *jsonrpc2.Error `json:"error"`
	}{"2.0", id, &jsonrpc2.Error{Code: code, Message: why}})
}

// WriteObject writes one message, in its turn.
func (s *stream) WriteObject(v any) error {
	body, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return s.out.put(body)
}

// Close has nothing read any more. Whoever opened the two ends closes them.
func (s *stream) Close() error {
	s.closed.Store(true)
	return nil
}
