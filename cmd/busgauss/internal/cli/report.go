package cli

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"busgauss/cmd/busgauss/internal/revision"
	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/audit"
	"busgauss/rules/engine"
	"busgauss/rules/report"
	"busgauss/rules/report/page"
	"busgauss/rules/report/text"
)

// reportFormats are the formats of audit pages, with the endings of their files.
var reportFormats = []string{"html", "markdown", "json"}

func reportEnding(format string) string {
	if format == "markdown" {
		return ".md"
	}
	return "." + format
}

type reportOptions struct {
	format, output, title, revision, failLevel, stdinName string
	precise, quiet                                        bool
	outputSaid                                            bool // --output was given
	cover                                                 coverOptions
	standardOptions
	storeOptions
	workOptions
}

func newReport(s *Streams) *cobra.Command {
	var o reportOptions
	c := &cobra.Command{
		Use:   "report [flags] LAYOUT...",
		Short: "write an audit page that can be kept and checked by hand",
		Long: `Report writes one self-contained page for a layout: the verdict in a sentence, the worst
margin of each rule on each channel, the section to scale with its field, the changes that
clear most, then what fails channel by channel; what holds, curves and worked calculations
stand in an annex. It needs no network, and no script to be read, and prints on paper.

Several layouts, or an output that is a folder, give a page each and an index with the
margins of all of them. What stands on the cover is taken from flags, or from a file that
--cover names, with the keys customer, drawing, author, reviewed-by and history; all of it
may be left out, and flags win. The same input gives the same bytes; a page has a date only
where --date gives one. Hovering and sliding show what field and coupling print to within
the certainty that stands on the page; --precise computes every field as finely as they do.`,
		Example: `  busgauss report --output page.html drive.yaml
  busgauss report --date 2026-11-25 --output audit/ hardware/
  busgauss report --cover cover.yaml --drawing FT-1042 --output page.html drive.yaml`,
		RunE: func(c *cobra.Command, args []string) error {
			o.outputSaid = c.Flags().Changed("output")
			return writeAudit(c.Context(), s, &o, args)
		},
	}
	f := c.Flags()
	f.StringVarP(&o.format, "format", "f", "html", "`FORMAT` of the page: "+strings.Join(reportFormats, ", "))
	f.StringVarP(&o.output, "output", "o", "-", "`FILE` or folder to write to; - is standard output")
	f.StringVar(&o.title, "title", "", "`TEXT` of the cover (default: the title of the layout)")
	o.cover.flags(f)
	f.StringVar(&o.revision, "revision", "", "`TEXT` that names the revision on the cover (default: the commit that is checked out, if git knows it)")
	f.StringVar(&o.failLevel, "fail-level", "none", "lowest `LEVEL` that gives exit status 1: none (never), note, warning, error")
	f.StringVar(&o.stdinName, "stdin-name", "stdin.yaml", "`NAME` to report for standard input")
	f.BoolVar(&o.precise, "precise", false, "compute every field as finely as field and coupling do; takes several times as long")
	f.BoolVarP(&o.quiet, "quiet", "q", false, "show no progress")
	o.standardOptions.flags(f)
	o.storeOptions.flags(f)
	o.workOptions.flag(f)
	complete(c, "format", reportFormats)
	complete(c, "fail-level", []string{"none", "note", "warning", "error"})
	return c
}

// auditRun is one run of report.
type auditRun struct {
	s         *Streams
	o         *reportOptions
	inputs    []input
	standards []layoutStandard
	list      []engine.Rule
	tell      *teller
	// worst are the findings that the exit status goes by.
	worst []finding.Finding
	// broken, unread and unwritten count layouts that gave no page.
	broken, unread, unwritten int
	checkouts                 map[string]*checkout // by root; nil where there is none
	results                   *results             // of earlier runs
}

func writeAudit(ctx context.Context, s *Streams, o *reportOptions, args []string) error {
	if len(args) == 0 {
		return usage("report: name a layout, a folder or a pattern (- reads standard input)")
	}
	level, ok := finding.ParseLevel(o.failLevel)
	if !ok {
		return usage("--fail-level %q: none, note, warning or error would do", o.failLevel)
	}
	if !slices.Contains(reportFormats, o.format) {
		return unknownFormat("--format", o.format, reportFormats)
	}
	if o.output == "" {
		return usage("--output: name a file or a folder")
	}
	if o.format == "html" && !o.outputSaid && s.OutIsTerminal {
		return usage("report: a page of HTML is nothing for a terminal; name a file with --output page.html, or --format markdown (--output - prints it all the same)")
	}
	if err := o.standardOptions.parse(s); err != nil {
		return err
	}
	if err := o.cover.read(s, o.output); err != nil {
		return err
	}
	inputs, _, err := gather(ctx, args, s, o.stdinName)
	if err != nil {
		return err
	}
	finder, err := openStandards(ctx, s, &o.standardOptions)
	if err != nil {
		return stopped(ctx, err)
	}
	defer finder.close()
	if inputs, _, err = finder.split(inputs); err != nil {
		return err
	}
	if len(inputs) == 0 {
		return usage("report: there is no layout among what was named")
	}
	folder, err := auditFolder(s, o, inputs)
	if err != nil {
		return err
	}
	run := &auditRun{s: s, o: o, inputs: inputs, list: rules.All(), checkouts: map[string]*checkout{}}
	if run.standards, err = finder.standards(inputs); err != nil {
		return err
	}
	if err := engine.Validate(run.list); err != nil {
		return fmt.Errorf("rules: %w", err)
	}
	if run.results, err = o.storeOptions.open(s, foldersOf(inputs)...); err != nil {
		return err
	}
	defer run.results.close(s)
	var watch io.Writer
	if !o.quiet {
		watch = s.terminal
	}
	run.tell = startTelling(watch)
	if folder {
		err = run.folder(ctx)
	} else {
		err = run.single(ctx)
	}
	run.tell.end()
	if err != nil {
		return err
	}
	switch {
	case run.unread+run.unwritten > 0:
		return &failure{status: statusTrouble}
	case run.broken > 0:
		return &failure{status: statusFindings}
	}
	if status := statusOf(run.worst, level); status != statusClean {
		return &failure{status: status}
	}
	return nil
}

// auditFolder reports whether pages go into a folder: several layouts, a path that
// ends in a slash, or one that is a folder. Nothing that was read is written over.
func auditFolder(s *Streams, o *reportOptions, inputs []input) (bool, error) {
	full := resolve(s.Dir, o.output)
	info, err := os.Stat(full)
	isDir := err == nil && info.IsDir()
	if isDir || o.output != "-" && strings.HasSuffix(filepath.ToSlash(o.output), "/") {
		return true, nil
	}
	if len(inputs) > 1 {
		if o.output == "-" {
			return false, usage("report: %d layouts give several pages; name a folder with --output FOLDER/", len(inputs))
		}
		if err == nil {
			return false, usage("--output %s: %d layouts give several pages, and this is a file; name a folder", o.output, len(inputs))
		}
		return true, nil
	}
	for _, in := range inputs {
		if o.output != "-" && in.key == filepath.Clean(full) {
			return false, usage("--output %s: the page would overwrite the layout", o.output)
		}
	}
	return false, nil
}

// single writes the page of the one layout.
func (r *auditRun) single(ctx context.Context) error {
	in := &r.inputs[0]
	if in.err != nil {
		return &failure{statusTrouble, fmt.Errorf("read %s: %w", in.Path, in.err)}
	}
	p, problems, err := r.page(ctx, 0)
	if err != nil {
		return err
	}
	if p == nil {
		r.tell.end()
		result := &report.Result{Tool: tool(), Files: []report.File{in.File}, Findings: problems}
		if err := text.Write(r.s.Err, result, text.Options{Quiet: true}); err != nil {
			return err
		}
		return &failure{statusFindings, fmt.Errorf("%s cannot be understood: %s", in.Path, count(problems))}
	}
	return r.write(ctx, r.o.output, p.print)
}

// write writes a file unless the run was interrupted.
func (r *auditRun) write(ctx context.Context, path string, print func(io.Writer) error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if path == "-" {
		print = forLog(r.o.format, print)
	}
	if err := writeFile(r.s, path, print); err != nil {
		return &failure{statusTrouble, err}
	}
	return nil
}

func pageIn(w io.Writer, format string, p *audit.Page) error {
	switch format {
	case "html":
		return page.Write(w, p)
	case "markdown":
		return page.WriteMarkdown(w, p)
	case "json":
		return page.WriteJSON(w, p)
	}
	return fmt.Errorf("no writer of %q", format)
}

// cover identifies a page.
func (r *auditRun) cover(ctx context.Context, i int) audit.Cover {
	in := &r.inputs[i]
	sum := sha256.Sum256(in.Data)
	c := audit.Cover{Title: r.o.title, Path: in.RootPath, Digest: hex.EncodeToString(sum[:]),
		Tool: tool().Name + " " + version(), Date: r.o.date, Standard: standardOf(r.standards[i].set)}
	r.o.cover.fill(&c)
	if c.Revision = r.o.revision; c.Revision == "" {
		c.Revision = r.checkedOut(ctx, in)
	}
	return c
}

// standardOf names the files of a house standard with their editions.
func standardOf(set *standardSet) string {
	if set == nil || set.files == nil {
		return ""
	}
	var names []string
	for _, f := range set.files.Files {
		name := f.Path
		if f.Title.Given() {
			name = f.Title.Value
		}
		if f.Edition.Given() {
			name += ", edition " + f.Edition.Value
		}
		names = append(names, name)
	}
	return strings.Join(names, "; ")
}

// checkout is what git has checked out in a repository.
type checkout struct {
	repository *revision.Repository
	commit     revision.Commit
	tree       *revision.Tree // nil where it cannot be listed
}

// checkedOut returns the commit of the repository that holds a layout, and whether the
// layout differs from it; empty where git knows nothing of it.
func (r *auditRun) checkedOut(ctx context.Context, in *input) string {
	if in.key == "" {
		return ""
	}
	dir := filepath.Dir(in.key)
	c, ok := r.checkouts[repositoryRoot(dir)]
	if !ok {
		c = openCheckout(ctx, r.s, dir)
		r.checkouts[repositoryRoot(dir)] = c
	}
	if c == nil {
		return ""
	}
	name, ok := below(c.repository.Root(), in.key)
	if !ok || c.tree == nil {
		return c.commit.ID
	}
	switch was, err := c.tree.ReadFile(name); {
	case err != nil:
		return c.commit.ID + ", which does not hold this layout"
	case string(was) != string(in.Data):
		return c.commit.ID + ", and the layout has changed since"
	}
	return c.commit.ID
}

func openCheckout(ctx context.Context, s *Streams, dir string) *checkout {
	repository, err := revision.Open(ctx, dir, s.Env, revision.Limits{})
	if err != nil {
		return nil
	}
	commit, err := repository.Resolve(ctx, "HEAD")
	if err != nil {
		return nil
	}
	tree, err := repository.Tree(ctx, commit)
	if err != nil {
		tree = nil
	}
	return &checkout{repository, commit, tree}
}
