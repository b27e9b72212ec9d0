package cli

import (
	"context"
	"io/fs"
	"path/filepath"
	"slices"
	"sync"

	"busgauss/cmd/busgauss/internal/server"
	"busgauss/model/channel"
	"busgauss/model/fem"
	"busgauss/model/field"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/policy"
	"busgauss/model/probe"
	"busgauss/model/span"
	"busgauss/rules"
	"busgauss/rules/engine"
	"busgauss/rules/report"
	"busgauss/schema/load"
	"busgauss/schema/policyfile"
)

// editorJudge judges texts as check does files, one at a time by itself.
type editorJudge struct {
	s      *Streams
	o      *standardOptions
	finder *standardFinder
	known  recentAnswers

	mu     sync.Mutex        // of what is below, and of the finder
	unsent map[string][]byte // texts that are open, by absolute path
	inUse  map[string]bool   // paths of the files of house standards that were read
}

func newEditorJudge(ctx context.Context, s *Streams, o *standardOptions) (*editorJudge, error) {
	j := &editorJudge{s: s, o: o, unsent: map[string][]byte{}, inUse: map[string]bool{}}
	finder, err := openStandards(ctx, s, o)
	if err != nil {
		return nil, err
	}
	finder.over = func(root string, under fs.FS) fs.FS { return &unsavedFS{under, root, j} }
	j.finder = finder
	if _, err := finder.tree(finder.here); err != nil { // a standard that is named must be there
		finder.close()
		return nil, err
	}
	return j, nil
}

// Hold implements server.Judge.
func (j *editorJudge) Hold(path, text string, open bool) bool {
	path = filepath.Clean(path)
	j.mu.Lock()
	defer j.mu.Unlock()
	if open {
		j.unsent[path] = []byte(text)
	} else {
		delete(j.unsent, path)
	}
	return j.governs(path)
}

// Governs implements server.Judge.
func (j *editorJudge) Governs(path string) bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.governs(filepath.Clean(path))
}

func (j *editorJudge) governs(path string) bool {
	return policyfile.IsName(filepath.ToSlash(path)) || j.inUse[path]
}

// Check implements server.Judge.
func (j *editorJudge) Check(q server.Question) server.Answer {
	full := filepath.Clean(q.Path)
	shown := j.finder.shown(full)
	in := input{File: report.File{Path: shown, RootPath: underRoot(j.finder.here, full), Data: []byte(q.Text)}, key: full}
	if policyfile.IsName(shown) {
		in.Governs = true
		return j.told(q, server.Answer{Depth: server.Remedied}, nil, nil, nil, j.ofStandard(in))
	}
	if !load.Recognize(in.Data) {
		return server.Answer{Depth: q.Depth, Foreign: true}
	}
	standard, err := j.standard(&in)
	if err != nil {
		first := span.Pos{Line: 1, Column: 1}
		return server.Answer{Depth: q.Depth, Shown: []finding.Finding{{Rule: "standard-file", Verdict: finding.Undecided, Level: finding.Error,
			Span: span.Span{File: full, Start: first, End: first}, Message: "its house standard cannot be read: " + err.Error()}}}
	}
	var a server.Answer
	o := j.outcome(&in, &standard, q, &a)
	a.Layout, a.Model, a.Said = o.layout, o.model, o.said
	return j.told(q, a, []input{in}, []layoutStandard{standard}, []outcome{o}, nil)
}

// outcome judges a layout as deep as q asks, and says in a how deep that was.
func (j *editorJudge) outcome(in *input, standard *layoutStandard, q server.Question, a *server.Answer) outcome {
	list := rules.All()
	opt := engine.Options{NoRemedies: q.Depth < server.Remedied, Stop: q.Stop}
	a.Depth = q.Depth
	l, problems := load.Load(in.Path, in.Data)
	if l == nil {
		return outcome{said: engine.Sorted(problems)}
	}
	if q.Depth == server.AtOnce {
		if field.NewModel(l).Cost() > 1 {
			list = slices.DeleteFunc(list, func(r engine.Rule) bool { return !slices.Contains(withoutFields, r.ID) })
			return partOf(l, problems, standard, list, opt)
		}
		a.Depth = server.Solved
	}
	known, m := fem.NewAnswers(j.known.get), q.Earlier.Model
	if earlier, ok := q.Earlier.State.(*fem.Answers); ok {
		known = earlier
	} else {
		m = &probe.Model{Model: field.NewModelWithin((&workOptions{}).budget(standard), l).Knowing(known)}
	}
	a.State = known
	o := judgeModel(m, problems, &in.File, standard, list, opt)
	keys, of := known.Changed()
	for _, key := range keys {
		j.known.put(key, of[key])
	}
	return o
}

// withoutFields are the rules that ask a layout for nothing that must be solved.
var withoutFields = []string{"coverage", "geometry", "return-path", "creepage", "clearance"}

// partOf judges a layout by some rules alone, without house rules, which may ask for any field.
func partOf(l *layout.Layout, problems []finding.Finding, standard *layoutStandard, list []engine.Rule, opt engine.Options) outcome {
	m := probe.NewModel(l)
	out := outcome{understood: true, layout: l, model: m, assumed: channel.Assumed(l)}
	if standard.view != nil {
		opt.Limit = standard.view.Limit
		list = standard.view.Rules(list)
	} else if standard.set != nil {
		list = nil // by a broken standard nothing is judged, which the whole check says
	}
	found := engine.CheckWith(m, list, opt)
	if standard.view != nil {
		standard.view.Grade(found)
	}
	out.said = engine.Sorted(append(problems, found...))
	return out
}

// told settles an outcome by deviations and baseline, as check does, and gives its files absolute paths.
func (j *editorJudge) told(q server.Question, a server.Answer, inputs []input, standards []layoutStandard, outcomes []outcome, extra []*standardSet) server.Answer {
	var r report.Result
	j.mu.Lock()
	settled := settle(inputs, standards, outcomes, extra, j.o, false)
	j.mu.Unlock()
	settled.fill(&r)
	a.Said, a.Shown = j.absolute(q, a.Said), j.absolute(q, r.Findings)
	if a.Depth == server.AtOnce {
		// What an entry of a baseline or a deviation found nothing for may be found by the rules to come.
		a.Shown = slices.DeleteFunc(a.Shown, func(f finding.Finding) bool { return !sameFile(f.Span.File, q.Path) })
	}
	return a
}

// absolute returns findings with absolute paths.
func (j *editorJudge) absolute(q server.Question, list []finding.Finding) []finding.Finding {
	full := func(s *span.Span) {
		if s.File == "" {
			s.File = q.Path
		} else {
			s.File = filepath.ToSlash(filepath.Clean(resolve(j.s.Dir, filepath.FromSlash(s.File))))
		}
	}
	out := slices.Clone(list)
	for i := range out {
		f := &out[i]
		full(&f.Span)
		f.Related = slices.Clone(f.Related)
		for k := range f.Related {
			full(&f.Related[k].Span)
		}
		f.Changes = slices.Clone(f.Changes)
		for k := range f.Changes {
			c := &f.Changes[k]
			c.Edits = slices.Clone(c.Edits)
			for e := range c.Edits {
				full(&c.Edits[e].Span)
			}
		}
	}
	return out
}

func sameFile(a, b string) bool { return filepath.Clean(filepath.FromSlash(a)) == filepath.Clean(b) }

// standard returns what a layout is judged by as the files stand now, unsaved text first.
func (j *editorJudge) standard(in *input) (layoutStandard, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if err := j.refresh(); err != nil {
		return layoutStandard{}, err
	}
	s, err := j.finder.of(in)
	j.note(s.set)
	return s, err
}

// ofStandard returns the sets to which a file of a house standard belongs.
func (j *editorJudge) ofStandard(in input) []*standardSet {
	j.mu.Lock()
	defer j.mu.Unlock()
	if err := j.refresh(); err != nil {
		return nil
	}
	_, sets, err := j.finder.split([]input{in})
	if err != nil {
		return nil
	}
	for _, set := range sets {
		j.note(set)
	}
	return sets
}

// note remembers the files of a set.
func (j *editorJudge) note(set *standardSet) {
	if set == nil {
		return
	}
	for _, s := range set.files.Sources {
		j.inUse[filepath.Clean(resolve(j.s.Dir, filepath.FromSlash(s.Path)))] = true
	}
}

// refresh drops what was read of files that have changed since.
func (j *editorJudge) refresh() error {
	for root, t := range j.finder.trees {
		if !t.stale() {
			continue
		}
		clear(t.byDir)
		clear(t.byPaths)
		if j.o.file != "" {
			if err := j.finder.fix(t, root); err != nil {
				return err
			}
		}
	}
	return nil
}

// stale reports whether the files that t was read from are other ones now, or say something else.
func (t *standardTree) stale() bool {
	for dir, was := range t.byDir {
		now := policyfile.Find(t.root, dir+"/layout")
		if t.fixed != nil {
			now.Standard = ""
		}
		if now != was {
			return true
		}
	}
	differ := func(files *policy.Set) bool {
		return files.Broken || slices.ContainsFunc(files.Sources, func(s policy.Source) bool {
			now, err := readBelow(t.root, s.RootPath, maxGlanced)
			return err != nil || string(now) != string(s.Data)
		})
	}
	for _, set := range t.byPaths {
		if differ(set.files) {
			return true
		}
	}
	return false
}
