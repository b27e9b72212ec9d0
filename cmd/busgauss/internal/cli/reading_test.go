package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"
)

// restless is a file that somebody writes to while it is read.
type restless struct {
	*strings.Reader
	looks int
	sizes []int64
	times []int
}

func (r *restless) Close() error               { return nil }
func (r *restless) Name() string               { return "restless" }
func (r *restless) Mode() fs.FileMode          { return 0o644 }
func (r *restless) IsDir() bool                { return false }
func (r *restless) Sys() any                   { return nil }
func (r *restless) Size() int64                { return r.sizes[r.looks-1] }
func (r *restless) ModTime() time.Time         { return time.Unix(int64(r.times[r.looks-1]), 0) }
func (r *restless) Stat() (fs.FileInfo, error) { r.looks++; c := *r; return &c, nil }

// A file that changes while it is read is neither half old and half new nor cut short: it is not read.
func TestChangedWhileRead(t *testing.T) {
	for _, c := range []struct {
		text  string
		sizes []int64
		times []int
		ok    bool
	}{
		{"layout", []int64{6, 6}, []int{1, 1}, true}, {"layout", []int64{6, 6}, []int{1, 2}, false}, {"layout", []int64{6, 9}, []int{1, 1}, false},
		{"layout", []int64{9, 9}, []int{1, 1}, false}, {"layout", []int64{6, 3}, []int{1, 1}, false}, {"layout and more", []int64{6, 6}, []int{1, 1}, false},
	} {
		got, err := readOpened(&restless{Reader: strings.NewReader(c.text), sizes: c.sizes, times: c.times}, 100)
		if c.ok != (err == nil) || c.ok && string(got) != c.text {
			t.Errorf("%v: %q, %v", c, got, err)
		}
	}
}

// The limits of one file at their edge.
func TestOneFile(t *testing.T) {
	dir := t.TempDir()
	layout := "layout: 1\n# "
	for _, c := range []struct {
		n    int
		sure bool
		key  bool
		want string // of input, skipped or the error
	}{
		{maxFileBytes - 1, true, true, "input"}, {maxFileBytes, true, true, "input"}, {maxFileBytes + 1, true, true, "it has more than 4194304 bytes"},
		{maxFileBytes - 1, false, true, "input"}, {maxFileBytes, false, true, "input"}, {maxFileBytes + 1, false, true, "it has more than 4194304 bytes"},
		{maxFileBytes + 1, false, false, "skipped"}, {maxGlanced, false, false, "skipped"}, {maxGlanced + 1, false, false, "it has more than 4194304 bytes"},
		{maxFileBytes + 1, true, false, "it has more than 4194304 bytes"},
	} {
		text := "# "
		if c.key {
			text = layout
		}
		path := filepath.Join(dir, "a.yaml")
		write(t, path, text+strings.Repeat("x", c.n-len(text)))
		arg := "."
		if c.sure {
			arg = "a.yaml"
		}
		list, skipped, err := gather(context.Background(), []string{arg}, &Streams{Dir: dir}, "")
		got := ""
		switch {
		case len(list) == 1 && list[0].err != nil:
			got = list[0].err.Error()
		case len(list) == 1 && len(list[0].Data) == c.n:
			got = "input"
		case len(skipped) == 1 && err != nil:
			got = "skipped"
		}
		if got != c.want {
			t.Errorf("%d bytes, named %v, a layout %v: %q, want %q (%v)", c.n, c.sure, c.key, got, c.want, err)
		}
	}
	in := strings.NewReader(strings.Repeat("x", maxFileBytes))
	if data, err := readAll(context.Background(), in); err != nil || len(data) != maxFileBytes {
		t.Errorf("standard input at its limit: %d bytes, %v", len(data), err)
	}
	if _, err := readAll(context.Background(), io.LimitReader(zeros{}, maxFileBytes+1)); err == nil {
		t.Error("standard input above its limit")
	}
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// The limits of one run at their edge. Files are refused by their sizes, before they are read: those here are holes,
// of which none takes room on a disk.
func TestOneRun(t *testing.T) {
	dir := t.TempDir()
	hole := func(name string, size int64) string {
		path := filepath.Join(dir, name)
		write(t, path, "")
		if err := os.Truncate(path, size); err != nil {
			t.Fatal(err)
		}
		return path
	}
	is := func(data []byte) bool { return true }
	full := hole("full.yaml", maxFileBytes)
	for _, c := range []struct {
		kept int64
		ok   bool
	}{{maxAllBytes - maxFileBytes - 1, true}, {maxAllBytes - maxFileBytes, true}, {maxAllBytes - maxFileBytes + 1, false}} {
		s := shelf{kept: c.kept}
		_, stop := s.read(full, true, is)
		if c.ok != (stop == nil) || stop != nil && !strings.Contains(stop.Error(), fmt.Sprintf("%d bytes of layouts in all", maxAllBytes)) {
			t.Errorf("with %d bytes: %v", c.kept, stop)
		}
	}
	for _, c := range []struct {
		lookedAt int64
		ok       bool
	}{{maxLookedAt - maxFileBytes, true}, {maxLookedAt - maxFileBytes + 1, false}} {
		s := shelf{lookedAt: c.lookedAt}
		if _, stop := s.read(full, false, func([]byte) bool { return false }); c.ok != (stop == nil) {
			t.Errorf("after %d bytes: %v", c.lookedAt, stop)
		}
	}
	// However many links lead to one file, it is read once, and again only where a user names what was passed over.
	s, reads := shelf{}, 0
	for range 150 {
		f, stop := s.read(full, false, func([]byte) bool { reads++; return false })
		if stop != nil || !f.passed || f.data != nil {
			t.Fatalf("%v, %v", f.err, stop)
		}
	}
	if f, stop := s.read(full, true, is); reads != 1 || stop != nil || len(f.data) != maxFileBytes {
		t.Errorf("%d reads, %d bytes, %v", reads, len(f.data), stop)
	}
	// One file more than a run takes.
	g, err := newGathering(&Streams{Dir: dir})
	if err != nil {
		t.Fatal(err)
	}
	g.list = make([]input, maxInputs-1)
	small := hole("small.yaml", 10)
	if err := g.add(context.Background(), small, true); err != nil {
		t.Errorf("the last that a run takes: %v", err)
	}
	if err := g.add(context.Background(), full, true); err == nil || !strings.Contains(err.Error(), "more than 50000 layouts") {
		t.Errorf("one more: %v", err)
	}
}

// One side of a comparison has the limits of a run.
func TestOneSide(t *testing.T) {
	files := fstest.MapFS{}
	text := []byte("layout: 1\n" + strings.Repeat("#", maxFileBytes-10))
	for i := range maxAllBytes / maxFileBytes {
		files[fmt.Sprintf("%03d.yaml", i)] = &fstest.MapFile{Data: text}
	}
	d := &side{files: files}
	list, err := d.layouts(context.Background(), ".")
	if err != nil || len(list) != maxAllBytes/maxFileBytes {
		t.Errorf("at the limit: %d, %v", len(list), err)
	}
	files["one.yaml"] = &fstest.MapFile{Data: text}
	if _, err := d.layouts(context.Background(), "."); err == nil {
		t.Error("above the limit")
	}
	over := fstest.MapFS{"a.yaml": {Data: append(text, '#')}, "b.yaml": {Data: make([]byte, maxFileBytes+1)}, "c.yaml": {Data: make([]byte, maxGlanced+1)}}
	list, err = (&side{files: over}).layouts(context.Background(), ".")
	if err != nil || len(list) != 2 || list[0].refused != "it has more than 4194304 bytes" || list[1].path != "c.yaml" || list[1].refused == "" {
		t.Errorf("%v, %v", list, err)
	}
}

// A search ends with the interrupt, not with the folders.
func TestSearchStops(t *testing.T) {
	dir := withFixtures(t)
	ctx, stop := context.WithCancel(context.Background())
	stop()
	for _, arg := range []string{".", "**/*.yaml", "{clean,failing}/*"} {
		if _, _, err := gather(ctx, []string{arg}, &Streams{Dir: dir}, ""); !errors.Is(err, context.Canceled) {
			t.Errorf("%s: %v", arg, err)
		}
	}
}
