package revision

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"regexp"
	"strings"
	"sync"

	"busgauss/model/finding"
	"busgauss/model/word"
)

// Repository is a work tree of git and what stands behind it.
type Repository struct {
	git     *git
	root    string
	shallow bool

	mu    sync.Mutex
	blobs map[string]blob // by name of the object
	taken int64
}

// Open finds the repository whose work tree holds dir. env gives the variables
// of the process.
func Open(ctx context.Context, dir string, env func(string) string, l Limits) (*Repository, error) {
	g, err := newGit(dir, env, l)
	if err != nil {
		return nil, err
	}
	out, err := g.run(ctx, 1<<16, nil, "rev-parse", "--is-shallow-repository", "--show-toplevel")
	if err != nil {
		return nil, openError(dir, err)
	}
	lines := strings.Split(strings.TrimSuffix(string(out), "\n"), "\n")
	if len(lines) != 2 || lines[1] == "" {
		return nil, fmt.Errorf("%s is not in the work tree of a git repository", finding.Clean(filepath.ToSlash(dir)))
	}
	r := &Repository{git: g, root: filepath.FromSlash(lines[1]), shallow: lines[0] == "true", blobs: map[string]blob{}}
	g.dir = r.root
	return r, nil
}

func openError(dir string, err error) error {
	var f *failure
	switch {
	case !errors.As(err, &f):
		return err
	case strings.Contains(f.said, "dubious ownership"):
		return fmt.Errorf("git refuses the repository, for its files belong to somebody else: if you trust it, run git config --global --add safe.directory DIR")
	case strings.Contains(f.said, "not a git repository"), strings.Contains(f.said, "must be run in a work tree"), strings.Contains(f.said, "bare repository"):
		return fmt.Errorf("%s is not in the work tree of a git repository", finding.Clean(filepath.ToSlash(dir)))
	}
	return err
}

// Root returns the folder of the work tree.
func (r *Repository) Root() string { return r.root }

// Commit is a revision that was found. Name is what the user calls it.
type Commit struct {
	Name string
	ID   string // of the commit, in hexadecimal
}

// Short returns the first characters of the name of the commit.
func (c Commit) Short() string { return c.ID[:min(12, len(c.ID))] }

var objectID = regexp.MustCompile(`^(?:[0-9a-f]{40}|[0-9a-f]{64})$`)

// Resolve returns the commit that rev names: a branch, a tag, a commit or
// anything else that git takes for one commit.
func (r *Repository) Resolve(ctx context.Context, rev string) (Commit, error) {
	shown := quote(rev)
	switch {
	case rev == "", strings.HasPrefix(rev, "-"), len(rev) > 1024, finding.Clean(rev) != rev:
		return Commit{}, fmt.Errorf("%s is no name of a revision", shown)
	case strings.Contains(rev, ".."):
		return Commit{}, fmt.Errorf("%s is a range: name the two revisions apart", shown)
	}
	if err := r.unambiguous(ctx, rev); err != nil {
		return Commit{}, err
	}
	out, err := r.git.run(ctx, 1<<16, nil, "rev-parse", "--verify", "--quiet", "--end-of-options", rev+"^{commit}")
	var f *failure
	if errors.As(err, &f) {
		hint := ": there is no such branch, tag or commit here"
		switch {
		case r.shallow:
			hint += "; this clone is shallow, so fetch it first (git fetch origin NAME, or fetch-depth: 0 in the job's checkout)"
		case !strings.Contains(rev, "/"):
			hint += "; a branch that was only fetched is called origin/" + finding.Clean(rev)
		}
		return Commit{}, fmt.Errorf("revision %s is not known%s", shown, hint)
	}
	if err != nil {
		return Commit{}, err
	}
	id := strings.TrimSpace(string(out))
	if !objectID.MatchString(id) {
		return Commit{}, fmt.Errorf("revision %s: git gives no commit for it", shown)
	}
	return Commit{Name: rev, ID: id}, nil
}

// places are where git looks for a name, the first first (gitrevisions); %s stands for the name. The folder of git itself, in
// which nothing is written by a branch or a tag, is left out.
var places = []string{"refs/%s", "refs/tags/%s", "refs/heads/%s", "refs/remotes/%s", "refs/remotes/%s/HEAD"}

var shortID = regexp.MustCompile(`^[0-9a-f]{4,64}$`)

// unambiguous refuses a name that more than one branch, tag or commit has: git takes the first that it finds, so that who may
// push a tag called origin/main says what the branch of that name is.
func (r *Repository) unambiguous(ctx context.Context, rev string) error {
	name := rev
	if end := strings.IndexAny(rev, "~^:@"); end >= 0 {
		name = rev[:end]
		if rev[end] == '@' && !strings.HasPrefix(rev[end:], "@{") {
			name = rev // a name with an at sign
		}
	}
	if name == "" || name == "HEAD" {
		return nil
	}
	args := []string{"for-each-ref", "--format=%(refname)"}
	wanted := map[string]bool{}
	for _, p := range places {
		full := strings.ReplaceAll(p, "%s", name)
		wanted[full] = true
		args = append(args, full)
	}
	out, err := r.git.run(ctx, r.git.limits.ListBytes, nil, args...)
	if err != nil {
		return err
	}
	var found []string
	for line := range strings.Lines(string(out)) {
		if full := strings.TrimSuffix(line, "\n"); wanted[full] {
			found = append(found, full)
		}
	}
	if len(found) > 0 && shortID.MatchString(name) {
		// A branch or a tag that is called like a commit.
		ids, err := r.git.run(ctx, 1<<16, nil, "rev-parse", "--disambiguate="+name)
		if err != nil {
			return err
		}
		found = append(found, strings.Fields(string(ids))...)
	}
	if len(found) < 2 {
		return nil
	}
	most := min(len(found), 5)
	for i := range found[:most] {
		found[i] = finding.Clean(found[i])
	}
	return fmt.Errorf("revision %s is %w: write which one is meant, %s", quote(rev), ErrAmbiguous, word.Or(found[:most]))
}

// ErrAmbiguous says that more than one branch, tag or commit has a name.
var ErrAmbiguous = errors.New("ambiguous")

// Names returns the short names of all branches, those of other repositories that were fetched, and tags, in the order
// of git. Names that a terminal would not show are left out.
func (r *Repository) Names(ctx context.Context) ([]string, error) {
	out, err := r.git.run(ctx, r.git.limits.ListBytes, nil, "for-each-ref", "--format=%(refname:short)", "refs/heads", "refs/remotes", "refs/tags")
	if err != nil {
		return nil, err
	}
	var names []string
	for name := range strings.Lines(string(out)) {
		if name = strings.TrimSuffix(name, "\n"); name != "" && finding.Clean(name) == name {
			names = append(names, name)
		}
	}
	return names, nil
}

// ErrNoCommon says that two revisions have nothing behind them that is the same.
var ErrNoCommon = errors.New("no common commit")

// MergeBase returns the newest commit that both revisions have behind them:
// what hosts compare a pull request with. In a shallow clone that may be cut
// off; then it says how to get it, and never takes another commit instead: ErrNoCommon.
//
// Not seen: in a shallow clone, a newer common commit behind the cut where an
// older one is there too.
func (r *Repository) MergeBase(ctx context.Context, a, b Commit) (Commit, error) {
	out, err := r.git.run(ctx, 1<<16, nil, "merge-base", "--end-of-options", a.ID, b.ID)
	var f *failure
	switch {
	case errors.As(err, &f) && f.status == 1 && r.shallow:
		return Commit{}, fmt.Errorf("%s and %s have %w in this shallow clone: run git fetch --unshallow (in a job: fetch-depth: 0)",
			quote(a.Name), quote(b.Name), ErrNoCommon)
	case errors.As(err, &f) && f.status == 1:
		return Commit{}, fmt.Errorf("%s and %s have %w", quote(a.Name), quote(b.Name), ErrNoCommon)
	case err != nil:
		return Commit{}, err
	}
	id, _, _ := strings.Cut(strings.TrimSpace(string(out)), "\n")
	if !objectID.MatchString(id) {
		return Commit{}, errors.New("git gives no common commit")
	}
	return Commit{Name: a.Name, ID: id}, nil
}

// Renames returns, for files that git takes to be renamed between two
// revisions, the old path by the new one. Git compares their text.
func (r *Repository) Renames(ctx context.Context, a, b Commit) (map[string]string, error) {
	out, err := r.git.run(ctx, r.git.limits.ListBytes, nil, "diff-tree", "-r", "-z", "--no-commit-id", "--no-ext-diff", "--no-textconv",
		"--ignore-submodules=all", "-M", "--diff-filter=R", "--name-status", "--end-of-options", a.ID, b.ID)
	if err != nil {
		return nil, err
	}
	return renamesIn(out)
}

// renamesIn reads what git lists as status, old path and new path, each with a zero byte behind it.
func renamesIn(out []byte) (map[string]string, error) {
	renamed := map[string]string{}
	if len(out) == 0 {
		return renamed, nil
	}
	fields := bytes.Split(bytes.TrimSuffix(out, []byte{0}), []byte{0})
	if len(fields)%3 != 0 {
		return nil, errRenames
	}
	for i := 0; i < len(fields); i += 3 {
		if len(fields[i]) == 0 || fields[i][0] != 'R' {
			return nil, errRenames
		}
		renamed[string(fields[i+2])] = string(fields[i+1])
	}
	return renamed, nil
}

var errRenames = errors.New("git lists renamed files in a form that is not known")

func quote(s string) string {
	if len(s) > 80 {
		s = s[:77] + "..."
	}
	return `"` + finding.Clean(s) + `"`
}
