package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"busgauss/model/glob"
	"busgauss/rules/report"
	"busgauss/schema/load"
	"busgauss/schema/policyfile"
)

// input is one file to check. Governs of it says that the file is a house
// standard, deviations or a baseline, which the user named; in folders those are
// passed over.
type input struct {
	report.File
	key string // absolute path; empty for standard input
	err error  // the file could not be read
}

// gather reads the files that the arguments name: files, folders (searched to
// any depth, as DIR/... is too), globs with ** (which this program expands, for
// not every shell does), and - for standard input. In folders and behind globs
// only files that look like layouts count; skipped names the others. A file
// named twice is read once. The order is that of the paths.
func gather(ctx context.Context, args []string, s *Streams, stdinName string) (list []input, skipped []string, err error) {
	g, err := newGathering(s)
	if err != nil {
		return nil, nil, err
	}
	for _, arg := range args {
		if arg == "-" {
			if g.seen["-"] {
				continue
			}
			g.seen["-"] = true
			data, err := readAll(ctx, s.In)
			if ctx.Err() != nil {
				return nil, nil, ctx.Err()
			}
			name := filepath.ToSlash(stdinName)
			g.list = append(g.list, input{File: report.File{Path: name, RootPath: underRoot(g.root, filepath.Clean(resolve(s.Dir, name))), Data: data}, err: plain(err)})
			continue
		}
		found, sure, err := expand(ctx, arg, s.Dir)
		if err != nil {
			return nil, nil, err
		}
		for _, path := range found {
			if err := g.add(ctx, path, sure); err != nil {
				return nil, nil, err
			}
		}
	}
	if len(g.list) == 0 {
		return nil, g.skipped, usage("no layout under %s: a layout is a .yaml, .yml or .json file with a key such as \"layout\" or \"bars\"", strings.Join(args, " "))
	}
	g.sort()
	return g.list, g.skipped, nil
}

// gathering collects the files that arguments name, each once.
type gathering struct {
	s          *Streams
	root, home string // of the working directory; home without links
	seen       map[string]bool
	list       []input
	skipped    []string
	shelf      shelf
}

func newGathering(s *Streams) (*gathering, error) {
	root := repositoryRoot(s.Dir)
	home, err := filepath.EvalSymlinks(root)
	if err != nil {
		return nil, &failure{statusTrouble, fmt.Errorf("find the root of the layouts: %w", plain(err))}
	}
	return &gathering{s: s, root: root, home: home, seen: map[string]bool{}}, nil
}

// add reads a file; sure says that the user named it, so that it counts whatever it holds.
func (g *gathering) add(ctx context.Context, path string, sure bool) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	shown := filepath.ToSlash(path)
	key := filepath.Clean(resolve(g.s.Dir, path))
	if g.seen[key] {
		return nil
	}
	g.seen[key] = true
	if policyfile.IsName(shown) {
		if sure {
			g.list = append(g.list, input{File: report.File{Path: shown, RootPath: underRoot(g.root, key), Governs: true}, key: key})
		}
		return nil
	}
	in := input{File: report.File{Path: shown, RootPath: underRoot(g.root, key)}, key: key}
	real, err := realLayout(g.root, g.home, key)
	if err == nil {
		f, stop := g.shelf.read(real, sure, load.Recognize)
		if stop != nil {
			return usage("%v", stop)
		}
		if f.passed {
			g.skipped = append(g.skipped, shown)
			return nil
		}
		in.Data, err = f.data, f.err
	}
	in.err = plain(err)
	if g.list = append(g.list, in); len(g.list) > maxInputs {
		return usage("%v", &beyond{fmt.Sprintf("%d layouts", maxInputs)})
	}
	return nil
}

func (g *gathering) sort() {
	slices.SortFunc(g.list, func(a, b input) int { return strings.Compare(a.Path, b.Path) })
}

// realLayout returns the path of a layout without links. One below the root may be a
// link to another one there, and to nothing else: what a stranger links to from a
// branch must not come out in a report. home is the root without links.
func realLayout(root, home, path string) (string, error) {
	if err := strangerLink(root, home, path); err != nil {
		return "", err
	}
	return filepath.EvalSymlinks(path)
}

// strangerLink says why a file below a root is not read: it is a link, or stands behind one, to a place out of the root or
// into what belongs to git. nil where it is read.
func strangerLink(root, home, path string) error {
	if _, inside := below(root, path); !inside {
		return nil
	}
	real, err := filepath.EvalSymlinks(path)
	if err != nil {
		return err
	}
	switch rel, inside := below(home, real); {
	case !inside:
		return errors.New("it is a link that leads out of the root, which is not followed")
	case belongsToGit(home, real) && !belongsToGit(root, path):
		return fmt.Errorf("it is a link to %s, which belongs to git and is not read", rel)
	}
	return nil
}

// readAll reads standard input to its end or until an interrupt, for a terminal
// can keep a reader waiting for ever.
func readAll(ctx context.Context, r io.Reader) ([]byte, error) {
	type answer struct {
		data []byte
		err  error
	}
	done := make(chan answer, 1)
	go func() {
		data, err := io.ReadAll(io.LimitReader(r, maxFileBytes+1))
		if err == nil && len(data) > maxFileBytes {
			err = tooLarge(maxFileBytes)
		}
		done <- answer{data, err}
	}()
	select {
	case a := <-done:
		return a.data, a.err
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// plain drops the path from a file error; the caller names it.
func plain(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

func resolve(dir, path string) string {
	if filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(dir, path)
}

// expand returns the files behind one argument; sure says that the user named the file itself. A file or a folder that is
// called like a pattern hides nothing of what the pattern matches: a branch may hold one.
func expand(ctx context.Context, arg, dir string) (paths []string, sure bool, err error) {
	base, deep := strings.CutSuffix(filepath.ToSlash(arg), "/...")
	if deep {
		arg = filepath.FromSlash(base)
	}
	info, err := os.Stat(resolve(dir, arg))
	there := err == nil
	switch {
	case there && info.IsDir():
		if paths, err = walk(ctx, arg, dir); err != nil {
			return nil, false, err
		}
	case deep && there:
		return nil, false, usage("%s/... asks for a folder, %s is a file", arg, arg)
	case there, !glob.Special(arg):
		// A file that is not there is reported when it is read: the others
		// that were named still deserve their verdicts.
		paths, sure = []string{arg}, true
	}
	if !glob.Special(arg) {
		return paths, sure, nil
	}
	matched, err := match(ctx, arg, dir)
	switch {
	case ctx.Err() != nil:
		return nil, false, ctx.Err()
	case there && (err != nil || len(matched) == 0 || sure && slices.Equal(matched, paths)):
		return paths, sure, nil
	case err != nil:
		return nil, false, usage("pattern %s: %v", arg, err)
	case len(matched) == 0:
		return nil, false, usage("pattern %s matches no .yaml, .yml or .json file", arg)
	}
	return append(paths, matched...), false, nil
}

// match lists the files behind a glob that may be layouts, by the rules of walk. Folders in which none can be are not
// looked into.
func match(ctx context.Context, pattern, dir string) ([]string, error) {
	// Only what stands behind the last plain folder is a pattern: a bracket in
	// the name of the working directory is none.
	base, rest := glob.Split(filepath.ToSlash(pattern))
	base = filepath.FromSlash(base)
	fits, err := glob.Compile(rest)
	if err != nil {
		return nil, err
	}
	if _, err := os.Stat(resolve(dir, base)); errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	var paths []string
	err = fs.WalkDir(os.DirFS(resolve(dir, base)), ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == ".git" || name != "." && !fits.Below(name)):
			return fs.SkipDir
		}
		path := filepath.Join(base, filepath.FromSlash(name))
		if !d.IsDir() && layoutName(name) && fits.Match(name) && !linkToFolder(resolve(dir, path), d) {
			paths = append(paths, path)
		}
		return nil
	})
	return paths, err
}

// linkToFolder reports whether an entry is a link to a folder; such a link is
// not followed, whatever its name.
func linkToFolder(path string, d fs.DirEntry) bool {
	if d.Type()&fs.ModeSymlink == 0 {
		return false
	}
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

func layoutName(path string) bool {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".yaml", ".yml", ".json":
		return true
	}
	return false
}

// walk lists the files under a folder that may be layouts. It does not follow
// links to folders and passes .git over.
func walk(ctx context.Context, arg, dir string) ([]string, error) {
	var paths []string
	err := filepath.WalkDir(resolve(dir, arg), func(path string, d fs.DirEntry, err error) error {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			return err
		}
		if d.IsDir() {
			if d.Name() == ".git" {
				return filepath.SkipDir
			}
			return nil
		}
		if !layoutName(path) || linkToFolder(path, d) {
			return nil
		}
		rel, err := filepath.Rel(resolve(dir, arg), path)
		if err != nil {
			return err
		}
		paths = append(paths, filepath.Join(arg, rel))
		return nil
	})
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err != nil {
		return nil, &failure{statusTrouble, fmt.Errorf("search %s: %w", arg, err)}
	}
	return paths, nil
}

// repositoryRoot returns the nearest folder at or above dir that holds .git;
// dir itself when there is none.
func repositoryRoot(dir string) string {
	for at := dir; ; {
		if _, err := os.Stat(filepath.Join(at, ".git")); err == nil {
			return at
		}
		up := filepath.Dir(at)
		if up == at {
			return dir
		}
		at = up
	}
}

// underRoot returns path relative to root with forward slashes. A file outside
// the root is known by its name alone, since hosts refuse a path with "..".
func underRoot(root, path string) string {
	if rel, ok := below(root, path); ok {
		return rel
	}
	return filepath.Base(path)
}

// below returns a path relative to a root with forward slashes, and false for one
// that is not below it.
func below(root, path string) (string, bool) {
	rel, err := filepath.Rel(root, path)
	if err != nil || rel == ".." || strings.HasPrefix(rel, ".."+string(filepath.Separator)) {
		return "", false
	}
	return filepath.ToSlash(rel), true
}
