package cli

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"busgauss/cmd/busgauss/internal/revision"
	"busgauss/model/finding"
	"busgauss/rules/compare"
	"busgauss/schema/load"
	"busgauss/schema/policyfile"
)

// side is one side of a comparison.
type side struct {
	compare.Side
	files fs.FS          // at the root of its paths
	tree  *revision.Tree // nil for a folder
	below string         // where files stands below the root of the tree
	dir   string         // the folder; empty for a revision
	root  *os.Root       // to be closed; nil for a revision
	// modules are the places, found by layouts, at which other repositories stand: what is below them is not known here.
	modules []string
}

func (d *side) close() {
	if d != nil && d.root != nil {
		d.root.Close() // nothing is written, so its error tells nothing
	}
}

// candidate is one file that may be a layout.
type candidate struct {
	path    string // below the root
	data    []byte
	hash    string // of the content and of all that verdicts on it depend on
	refused string
	// standard is what the layout is judged by. key stands for the content and all that
	// verdicts depend on before deviations and a baseline are applied.
	standard layoutStandard
	key      string
}

// layouts reads the files of a side, below a folder of it, that look like
// layouts, in the order of their paths. A link is never followed; one that is
// called like a layout, and a file that is too large, are refused by name.
func (d *side) layouts(ctx context.Context, under string) ([]candidate, error) {
	var names []string
	refused := map[string]string{}
	err := fs.WalkDir(d.files, under, func(name string, e fs.DirEntry, err error) error {
		switch {
		case errors.Is(err, fs.ErrNotExist) && name == under:
			return fs.SkipAll
		case err != nil:
			return err
		case ctx.Err() != nil:
			return ctx.Err()
		case e.IsDir() && e.Name() == ".git":
			return fs.SkipDir
		case d.tree != nil && e.Type()&fs.ModeIrregular != 0:
			d.modules = append(d.modules, name)
			return nil
		case e.IsDir(), !layoutName(name), policyfile.IsName(name):
			return nil
		case e.Type()&fs.ModeSymlink != 0:
			refused[name] = revision.ErrLink.Error()
		case !e.Type().IsRegular():
			refused[name] = refusedKind(e.Type()).Error()
		}
		names = append(names, name)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("search %s: %w", d.Name, err)
	}
	if d.tree != nil {
		all := make([]string, len(names))
		for i, name := range names {
			all[i] = path.Join(d.below, name)
		}
		if err := d.tree.Fetch(all); err != nil {
			return nil, fmt.Errorf("read revision %s: %w", d.Name, err)
		}
	}
	var out []candidate
	total := int64(0)
	for _, name := range names {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		c := candidate{path: name, refused: refused[name]}
		if c.refused == "" {
			data, err := readBelow(d.files, name, maxGlanced)
			switch {
			case err != nil:
				c.refused = plain(err).Error()
			case !load.Recognize(data):
				continue
			case len(data) > maxFileBytes:
				c.refused = tooLarge(maxFileBytes).Error()
			default:
				c.data = data
				total += int64(len(data))
			}
			if total > maxAllBytes || len(out) == maxInputs {
				return nil, fmt.Errorf("%s has more than %d layouts or %d bytes of them: compare parts of it with --under", d.Name, maxInputs, maxAllBytes)
			}
		}
		c.place(layoutStandard{})
		out = append(out, c)
	}
	return out, nil
}

// tellModules says on standard error where layouts of a revision may be that nobody compares.
func (d *side) tellModules(s *Streams) {
	if len(d.modules) == 0 {
		return
	}
	first := make([]string, min(3, len(d.modules)))
	for i := range first {
		first[i] = finding.Clean(d.modules[i])
	}
	more := ""
	if n := len(d.modules) - len(first); n > 0 {
		more = fmt.Sprintf(" and %d more", n)
	}
	fmt.Fprintf(s.Err, "busgauss: of %s not known, and not compared: what is below %s%s, where other repositories stand (submodules)\n",
		finding.Clean(d.Name), strings.Join(first, ", "), more)
}

// place gives a candidate its standard.
func (c *candidate) place(s layoutStandard) {
	c.standard = s
	c.key = contentHash(c.data, c.refused)
	if by := s.judging(); by != "" {
		c.key += " by " + by
	}
	c.hash = c.key
	if by := s.permitting(); by != "" {
		c.hash += " permitted " + by
	}
}

// placeAll gives candidates their standards in a tree, in which they stand below a
// folder.
func placeAll(list []candidate, t *standardTree, under string) {
	for i := range list {
		list[i].place(t.of(path.Join(under, list[i].path)))
	}
}

// contentHash returns a digest of a content, or of the reason why there is none.
func contentHash(data []byte, refused string) string {
	if refused != "" {
		return "refused: " + refused
	}
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// folderSide opens a folder. Nothing outside it is read, whatever links it holds.
func folderSide(s *Streams, name, dir string) (*side, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, &failure{statusTrouble, fmt.Errorf("open folder %s: %w", name, plain(err))}
	}
	return &side{Side: compare.Side{Name: filepath.ToSlash(name)}, files: root.FS(), dir: dir, root: root}, nil
}

// revisionSide lists a commit; below is the folder of it that is looked at.
func revisionSide(ctx context.Context, r *revision.Repository, c revision.Commit, below string, merged bool) (*side, error) {
	tree, err := r.Tree(ctx, c)
	if err != nil {
		return nil, err
	}
	out := &side{Side: compare.Side{Name: c.Name, Commit: c.ID, MergeBase: merged}, files: tree, tree: tree, below: below}
	if below != "." && below != "" {
		if out.files, err = fs.Sub(tree, below); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// named is one argument of compare: a folder, or else a revision.
type named struct {
	text string
	dir  string // absolute; empty for a revision
}

func nameOf(s *Streams, arg string) (named, error) {
	dir := resolve(s.Dir, arg)
	info, err := os.Stat(dir)
	switch {
	case err == nil && info.IsDir():
		return named{arg, dir}, nil
	case err == nil:
		return named{}, usage("compare: %s is a file: name two folders or revisions, and a part of them with --under", arg)
	}
	return named{text: arg}, nil
}

// sure refuses a name that a folder and a revision both have: a branch that holds a folder called main would say what it is
// compared with.
func (n named) sure(ctx context.Context, s *Streams) error {
	if n.dir == "" || filepath.IsAbs(n.text) || strings.HasPrefix(n.text, ".") {
		return nil
	}
	repository, err := revision.Open(ctx, s.Dir, s.Env, revision.Limits{})
	if err != nil {
		return nil // there are no revisions
	}
	if _, err := repository.Resolve(ctx, n.text); err == nil || errors.Is(err, revision.ErrAmbiguous) {
		return usage("compare: %s is ambiguous, a folder and a revision: write ./%[1]s for the folder, for the revision its full name, such as refs/heads/%[1]s", n.text)
	}
	return ctx.Err()
}

// openSides opens what the arguments name, and says which files git takes to be
// renamed. A revision on the side of the base stands for the commit where the
// other side parted from it, as hosts compare a request, unless exact says
// otherwise. With one argument the other side is the work tree.
func openSides(ctx context.Context, s *Streams, args []string, exact bool) (base, head *side, renamed map[string]string, err error) {
	defer func() {
		if err != nil {
			base.close()
			head.close()
			base, head = nil, nil
		}
	}()
	a, err := nameOf(s, args[0])
	if err != nil {
		return nil, nil, nil, err
	}
	b := named{}
	if len(args) == 2 {
		if b, err = nameOf(s, args[1]); err != nil {
			return nil, nil, nil, err
		}
	}
	for _, n := range []named{a, b} {
		if err := n.sure(ctx, s); err != nil {
			return nil, nil, nil, err
		}
	}
	if len(args) == 1 && a.dir != "" {
		return nil, nil, nil, usage("compare: name a second folder or revision to compare %s with (a revision alone is compared with the work tree)", args[0])
	}
	if a.dir != "" && b.dir != "" {
		if base, err = folderSide(s, a.text, a.dir); err == nil {
			head, err = folderSide(s, b.text, b.dir)
		}
		return base, head, nil, err
	}
	repository, err := revision.Open(ctx, s.Dir, s.Env, revision.Limits{})
	if err != nil {
		if errors.Is(err, revision.ErrNoGit) {
			return nil, nil, nil, err
		}
		return nil, nil, nil, fmt.Errorf("%s is no folder, so it should be a revision, but %w", args[0], err)
	}
	if len(args) == 1 {
		b = named{"the work tree", repository.Root()}
	}
	switch {
	case a.dir != "":
		c, err := repository.Resolve(ctx, b.text)
		if err != nil {
			return nil, nil, nil, err
		}
		if base, err = folderSide(s, a.text, a.dir); err != nil {
			return base, nil, nil, err
		}
		below, _ := underTree(repository, a.dir)
		head, err = revisionSide(ctx, repository, c, below, false)
		return base, head, nil, err
	case b.dir != "":
		below, inside := underTree(repository, b.dir)
		if base, err = baseSide(ctx, repository, a.text, "HEAD", below, exact || !inside); err == nil {
			head, err = folderSide(s, b.text, b.dir)
		}
		return base, head, nil, err
	}
	tip, err := repository.Resolve(ctx, b.text)
	if err != nil {
		return nil, nil, nil, err
	}
	if base, err = baseSide(ctx, repository, a.text, b.text, ".", exact); err != nil {
		return base, nil, nil, err
	}
	if head, err = revisionSide(ctx, repository, tip, ".", false); err != nil {
		return base, head, nil, err
	}
	renamed, err = repository.Renames(ctx, base.tree.Commit, tip)
	return base, head, renamed, err
}

// baseSide lists the revision called name, or the commit where other parted from
// it.
func baseSide(ctx context.Context, r *revision.Repository, name, other, below string, exact bool) (*side, error) {
	c, err := r.Resolve(ctx, name)
	if err != nil {
		return nil, err
	}
	merged := false
	if !exact {
		tip, err := r.Resolve(ctx, other)
		if err != nil {
			return nil, err
		}
		m, err := r.MergeBase(ctx, c, tip)
		if err != nil {
			return nil, err
		}
		merged = m.ID != c.ID
		c = m
	}
	return revisionSide(ctx, r, c, below, merged)
}

// underTree returns a folder relative to the work tree with forward slashes, "."
// and false for one that is not inside.
func underTree(r *revision.Repository, dir string) (string, bool) {
	real, err := filepath.EvalSymlinks(dir)
	if err != nil {
		real = dir
	}
	root, err := filepath.EvalSymlinks(r.Root())
	if err != nil {
		root = r.Root()
	}
	rel, ok := below(root, real)
	if !ok {
		return ".", false
	}
	return rel, true
}
