package cli

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"busgauss/rules/audit"
	"busgauss/rules/report"
	"busgauss/rules/report/text"
	"busgauss/schema/coverfile"
)

// coverOptions are the flags that say what stands on the cover of an audit page.
type coverOptions struct {
	file, customer, drawing, author, reviewer string
	history                                   []string

	said coverfile.Cover // what the flags say, and where they are silent the file
}

func (o *coverOptions) flags(f *pflag.FlagSet) {
	f.StringVar(&o.file, "cover", "", "`FILE` with what stands on the cover; a flag wins over what it says")
	f.StringVar(&o.customer, "customer", "", "`TEXT` of the cover: for whom the audit is")
	f.StringVar(&o.drawing, "drawing", "", "`NUMBER` of the drawing on the cover")
	f.StringVar(&o.author, "author", "", "`NAME` of the author on the cover")
	f.StringVar(&o.reviewer, "reviewed-by", "", "`NAME` of the reviewer on the cover")
	f.StringArrayVar(&o.history, "history", nil, "`ISSUE` of the document, as 'B; 2026-11-20; taller shield; A. Holm': mark, day, what, by (may be repeated)")
}

// read takes the file and the flags over it.
func (o *coverOptions) read(s *Streams, output string) error {
	o.said = coverfile.Cover{}
	if o.file != "" {
		full := resolve(s.Dir, o.file)
		if output != "-" && filepath.Clean(full) == filepath.Clean(resolve(s.Dir, output)) {
			return usage("--output %s: the page would overwrite the file of the cover", output)
		}
		root := repositoryRoot(s.Dir)
		home, err := filepath.EvalSymlinks(root)
		if err == nil {
			err = strangerLink(root, home, filepath.Clean(full))
		}
		if err != nil {
			return &failure{statusTrouble, fmt.Errorf("read cover %s: %w", o.file, plain(err))}
		}
		data, err := readPlain(full, coverfile.MostBytes)
		if err != nil {
			return &failure{statusTrouble, fmt.Errorf("read cover %s: %w", o.file, plain(err))}
		}
		said, problems := coverfile.Read(o.file, data)
		if len(problems) > 0 {
			result := &report.Result{Tool: tool(), Files: []report.File{{Path: o.file, RootPath: o.file, Data: data}}, Findings: problems}
			if err := text.Write(s.Err, result, text.Options{Quiet: true}); err != nil {
				return err
			}
			return &failure{statusTrouble, fmt.Errorf("--cover %s cannot be understood: %s", o.file, count(problems))}
		}
		o.said = said
	}
	for _, f := range []struct {
		flag string
		into *string
	}{{o.customer, &o.said.Customer}, {o.drawing, &o.said.Drawing}, {o.author, &o.said.Author}, {o.reviewer, &o.said.Reviewer}} {
		if f.flag != "" {
			*f.into = f.flag
		}
	}
	if len(o.history) > 0 {
		o.said.History = nil
	}
	for _, line := range o.history {
		parts := strings.Split(line, ";")
		if len(parts) > 4 || strings.TrimSpace(strings.Join(parts, "")) == "" {
			return usage("--history %q: mark; day; what; by would do", line)
		}
		for k := range parts {
			parts[k] = strings.TrimSpace(parts[k])
		}
		parts = append(parts, "", "", "")
		o.said.History = append(o.said.History, coverfile.Issue{Mark: parts[0], Date: parts[1], What: parts[2], By: parts[3]})
	}
	return nil
}

// fill puts what was said on a cover.
func (o *coverOptions) fill(c *audit.Cover) {
	c.Customer, c.Drawing, c.Author, c.Reviewer = o.said.Customer, o.said.Drawing, o.said.Author, o.said.Reviewer
	for _, i := range o.said.History {
		c.History = append(c.History, audit.Issue(i))
	}
}
