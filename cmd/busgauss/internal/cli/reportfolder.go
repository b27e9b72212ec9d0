package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"busgauss/model/finding"
	"busgauss/rules/audit"
	"busgauss/rules/report"
	"busgauss/rules/report/page"
)

// folder writes a page for each layout, and last the index, so that an index never
// names a page that is not there.
func (r *auditRun) folder(ctx context.Context) error {
	dir := r.o.output
	if why := trapped(r.s, resolve(r.s.Dir, dir)); why != "" {
		return &failure{statusTrouble, fmt.Errorf("make folder %s: %s", dir, why)}
	}
	if err := os.MkdirAll(resolve(r.s.Dir, dir), 0o755); err != nil {
		return &failure{statusTrouble, fmt.Errorf("make folder %s: %w", dir, plain(err))}
	}
	names := pageNames(r.inputs, reportEnding(r.o.format))
	index := page.Index{}
	var covers []audit.Cover
	written := 0
	for i := range r.inputs {
		in := &r.inputs[i]
		if in.err != nil {
			fmt.Fprintf(r.s.Err, "busgauss: read %s: %v\n", finding.Clean(in.Path), in.err)
			r.unread++
			continue
		}
		p, problems, err := r.page(ctx, i)
		if ctx.Err() != nil && written > 0 {
			return &interrupt{fmt.Sprintf("%d of %s written to %s, and no index", written, report.Count(len(r.inputs), "page"), dir)}
		}
		if err != nil {
			return err
		}
		if p == nil {
			r.broken++
			index.Entries = append(index.Entries, page.Entry{Path: in.RootPath, Broken: problems[0].Message})
			continue
		}
		if err := r.write(ctx, filepath.Join(dir, names[i]), p.print); err != nil && ctx.Err() == nil {
			fmt.Fprintf(r.s.Err, "busgauss: %s\n", finding.Clean(err.Error()))
			r.unwritten++
			continue
		} else if err != nil {
			return err
		}
		written++
		p.Entry.Href = names[i]
		index.Entries = append(index.Entries, p.Entry)
		covers = append(covers, r.cover(ctx, i))
	}
	index.Cover = r.indexCover(covers)
	return r.write(ctx, filepath.Join(dir, "index"+reportEnding(r.o.format)), func(w io.Writer) error { return indexIn(w, r.o.format, &index) })
}

// indexCover holds what all pages have in common.
func (r *auditRun) indexCover(covers []audit.Cover) audit.Cover {
	out := audit.Cover{Title: r.o.title, Revision: r.o.revision, Date: r.o.date, Tool: tool().Name + " " + version()}
	r.o.cover.fill(&out)
	for i := range covers {
		commit, _, _ := strings.Cut(covers[i].Revision, ",")
		switch {
		case i == 0:
			out.Standard = covers[i].Standard
			if r.o.revision == "" {
				out.Revision = commit
			}
		case out.Standard != covers[i].Standard:
			out.Standard = "several; see each page"
		}
		if r.o.revision == "" && out.Revision != commit {
			out.Revision = "several; see each page"
		}
	}
	return out
}

func indexIn(w io.Writer, format string, x *page.Index) error {
	switch format {
	case "html":
		return page.WriteIndex(w, x)
	case "markdown":
		return page.WriteIndexMarkdown(w, x)
	case "json":
		return page.WriteIndexJSON(w, x)
	}
	return fmt.Errorf("no writer of %q", format)
}

// maxName is how long the name of a page's file may be, its ending and number left
// out.
const maxName = 80

// pageNames returns the name of the file of each page: the path of its layout in
// letters, digits, hyphens and underscores, with a number where two would be alike.
func pageNames(inputs []input, ending string) []string {
	taken := map[string]bool{"index" + ending: true}
	out := make([]string, len(inputs))
	for i := range inputs {
		path := inputs[i].RootPath
		path = strings.TrimSuffix(path, filepath.Ext(path))
		name := strings.Trim(strings.Map(func(r rune) rune {
			switch {
			case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '_':
				return r
			}
			return '-'
		}, path), "-")
		if name == "" {
			name = "layout"
		}
		name = name[:min(len(name), maxName)]
		full := name + ending
		// Some file systems take upper and lower case for the same.
		for n := 2; taken[strings.ToLower(full)]; n++ {
			full = fmt.Sprintf("%s-%d%s", name, n, ending)
		}
		taken[strings.ToLower(full)] = true
		out[i] = full
	}
	return out
}
