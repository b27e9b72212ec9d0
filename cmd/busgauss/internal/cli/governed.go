package cli

import (
	"context"
	"maps"
	"path/filepath"
	"slices"

	"busgauss/model/policy"
	"busgauss/schema/policyfile"
)

// governed returns the layouts that the files of a standard among named govern, themselves or by what extends them, and
// that are not among named: who changes a limit is told what it does to all that is judged by it. It reads below the roots of
// those files alone.
func (e *standardFinder) governed(ctx context.Context, named []input) ([]input, error) {
	changed := map[string]map[string]bool{} // by root, the files below it
	g, err := newGathering(e.s)
	if err != nil {
		return nil, err
	}
	for i := range named {
		in := &named[i]
		g.seen[in.key] = true
		if !in.Governs {
			continue
		}
		root, name := e.rooted(in.key)
		if changed[root] == nil {
			changed[root] = map[string]bool{}
		}
		changed[root][name] = true
	}
	for _, root := range slices.Sorted(maps.Keys(changed)) {
		t, err := e.tree(root)
		if err != nil {
			return nil, err
		}
		paths, err := walk(ctx, e.shown(root), e.s.Dir)
		if err != nil {
			return nil, err
		}
		for _, path := range paths {
			if ctx.Err() != nil {
				return nil, ctx.Err()
			}
			_, name := e.rooted(filepath.Clean(resolve(e.s.Dir, path)))
			if !policyfile.IsName(name) && t.load(t.paths(name)).has(changed[root]) {
				if err := g.add(ctx, path, false); err != nil {
					return nil, err
				}
			}
		}
	}
	return g.list, nil
}

// has reports whether the set is made of one of the files, those that cannot be read among them.
func (set *standardSet) has(files map[string]bool) bool {
	return files[set.paths.Standard] || files[set.paths.Deviations] || files[set.paths.Baseline] ||
		slices.ContainsFunc(set.files.Sources, func(s policy.Source) bool { return files[s.RootPath] })
}
