package cli

import (
	"bytes"
	"context"
	"encoding/gob"
	"fmt"
	"path/filepath"

	"github.com/spf13/pflag"

	"busgauss/cmd/busgauss/internal/store"
	"busgauss/model/fem"
	"busgauss/model/finding"
	"busgauss/rules/engine"
	"busgauss/rules/report"
)

// storeOptions say where results are kept.
type storeOptions struct {
	dir  string
	none bool
	mb   int
}

func (o *storeOptions) flags(f *pflag.FlagSet) {
	f.StringVar(&o.dir, "store", "", "`FOLDER` in which results are kept, outside of the repository (default: busgauss in the cache folder of the user)")
	f.BoolVar(&o.none, "no-store", false, "keep no results and take none that were kept")
	f.IntVar(&o.mb, "store-size", 256, "the most that is kept, in `MB`; what was used longest ago goes first")
}

// results are what was computed before, by this program or one of the same build. A nil one holds nothing.
type results struct {
	store   *store.Store
	program string
}

// open opens the store. It must not stand in a folder of checked, in the repository of one of them, or in that of the
// working directory: whoever writes a layout there could write what is found in it as well. Where no folder is named and
// that of the user cannot be had there is none.
func (o *storeOptions) open(s *Streams, checked ...string) (*results, error) {
	switch {
	case o.none && o.dir != "":
		return nil, usage("--no-store with --store %s: one of them alone", o.dir)
	case o.mb < 1:
		return nil, usage("--store-size %d: at least 1 MB; --no-store keeps nothing", o.mb)
	case o.none || o.dir == "" && s.Cache == "":
		return nil, nil
	}
	dir := filepath.Join(s.Cache, "busgauss")
	if o.dir != "" {
		dir = resolve(s.Dir, o.dir)
	}
	dir = filepath.Clean(dir)
	for _, path := range append(checked, s.Dir) {
		root := repositoryRoot(path)
		if !stands(dir, root) && !stands(dir, path) {
			continue
		}
		const why = "it stands in the folder that is checked, where a change could bring its own results"
		if o.dir != "" {
			return nil, usage("--store %s: %s: name one outside of %s", o.dir, why, root)
		}
		fmt.Fprintf(s.Err, "busgauss: results are not kept in %s: %s\n", finding.Clean(dir), why)
		return nil, nil
	}
	program, err := store.Program()
	if err != nil {
		fmt.Fprintf(s.Err, "busgauss: results are not kept: read this program: %v\n", plain(err))
		return nil, nil
	}
	return &results{store.New(dir, int64(o.mb)<<20), program}, nil
}

// stands reports whether a folder, which need not be there yet, stands below a root, by its name or really.
func stands(dir, root string) bool {
	if _, inside := below(root, dir); inside {
		return true
	}
	home, err := filepath.EvalSymlinks(root)
	if err != nil {
		home = root
	}
	_, inside := below(home, realPath(dir))
	return inside
}

// realPath returns a path without links, as far as it is there.
func realPath(path string) string {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		return real
	}
	up := filepath.Dir(path)
	if up == path {
		return path
	}
	return filepath.Join(realPath(up), filepath.Base(path))
}

// foldersOf returns the folders in which inputs stand.
func foldersOf(inputs []input) []string {
	var out []string
	seen := map[string]bool{}
	for i := range inputs {
		if dir := filepath.Dir(inputs[i].key); inputs[i].key != "" && !seen[dir] {
			seen[dir] = true
			out = append(out, dir)
		}
	}
	return out
}

// close keeps nothing from here on, and says so once where something was not kept.
func (r *results) close(s *Streams) {
	if r == nil {
		return
	}
	r.store.End()
	if err := r.store.Err(); err != nil {
		fmt.Fprintf(s.Err, "busgauss: results are not kept: %s\n", finding.Clean(err.Error()))
	}
}

// key names what one layout gives under a standard: see checkOne. ok is false where that is not kept, since it
// takes no time.
func (r *results) key(f *report.File, s *layoutStandard, opt engine.Options) (key store.Key, ok bool) {
	if r == nil || s.set != nil && s.view == nil {
		return store.Key{}, false
	}
	texts := []string{"outcome", r.program, f.Path, sha256Of(f.Data), fmt.Sprint(opt.AllRemedies, opt.NoRemedies, s.set != nil, opt.Work.Most()), s.judging()}
	return store.KeyOf(append(texts, s.named()...)...), true
}

// outcome returns what is kept of a layout.
func (r *results) outcome(key store.Key) (outcome, bool) {
	body, ok := r.store.Get(key)
	if !ok {
		return outcome{}, false
	}
	return outcomeIn(body)
}

// outcomeIn reads what keep wrote.
func outcomeIn(body []byte) (outcome, bool) {
	var p partFile
	if err := gob.NewDecoder(bytes.NewReader(body)).Decode(&p); err != nil || len(p.Outcomes) != 1 {
		return outcome{}, false
	}
	o := p.Outcomes[0].outcome()
	o.known = true
	return o, true
}

// keep keeps what a layout gave, as a part with nothing else in it: gob numbers types by the order in which a program comes to
// them, so that a part that is written later would have other bytes if they came in another.
func (r *results) keep(key store.Key, o *outcome) {
	var body bytes.Buffer
	if err := gob.NewEncoder(&body).Encode(&partFile{Outcomes: []partOutcome{o.kept()}}); err != nil {
		panic("cli: an outcome that cannot be written")
	}
	r.store.Put(key, body.Bytes())
}

// mostAnswers is the most bytes of answers about one plane section that are kept: searches ask without end.
const mostAnswers = 4 << 20

// checkOne is checkOne with what plane sections answered in earlier runs, so that a layout of which the title, a limit, a part or the
// size of a current has changed is not solved again.
func (r *results) checkOne(f *report.File, s *layoutStandard, list []engine.Rule, opt engine.Options) outcome {
	if r == nil {
		return checkOne(f, s, list, opt)
	}
	known := fem.NewAnswers(func(key string) ([]byte, bool) { return r.store.Get(r.answersKey(key)) })
	o := checkKnowing(known, f, s, list, opt)
	keys, of := known.Changed()
	for _, key := range keys {
		if len(of[key]) <= mostAnswers {
			r.store.Put(r.answersKey(key), of[key])
		}
	}
	return o
}

func (r *results) answersKey(key string) store.Key { return store.KeyOf("answers", r.program, key) }

// printed returns the text that texts name: what is kept, or what make makes of it, which is then kept. After an
// interrupt nobody waits for it.
func (r *results) printed(ctx context.Context, make func() ([]byte, error), texts ...string) ([]byte, error) {
	var key store.Key
	if r != nil {
		key = store.KeyOf(append([]string{"printed", r.program}, texts...)...)
		if body, ok := r.store.Get(key); ok {
			return body, nil
		}
	}
	type made struct {
		body []byte
		err  error
	}
	m, done := untilDone(ctx, func() made {
		body, err := make()
		return made{body, err}
	})
	if !done {
		return nil, ctx.Err()
	}
	if r != nil && m.err == nil {
		r.store.Put(key, m.body)
	}
	return m.body, m.err
}

// untilDone waits for f, not beyond the end of ctx.
func untilDone[T any](ctx context.Context, f func() T) (v T, done bool) {
	ch := make(chan T, 1)
	go func() { ch <- f() }()
	select {
	case v = <-ch:
		return v, true
	case <-ctx.Done():
		return v, false
	}
}

// interrupted says how many of all were done, each a noun, before an interrupt; the interrupt alone where none was.
func (r *results) interrupted(ctx context.Context, verb string, done, all int, noun string) error {
	if done == 0 {
		return ctx.Err()
	}
	what := fmt.Sprintf("%d of %s %s", done, report.Count(all, noun), verb)
	if r != nil && r.store.Err() == nil {
		what += ", and kept for the next run"
	}
	return &interrupt{what}
}
