package cli

import (
	"bytes"
	"context"
	"encoding/gob"
	"fmt"
	"io"
	"slices"

	"busgauss/cmd/busgauss/internal/store"
	"busgauss/model/digest"
	"busgauss/model/finding"
	"busgauss/rules/audit"
	"busgauss/rules/engine"
	"busgauss/rules/report"
	"busgauss/rules/report/page"
)

// madePage is an audit page as it is printed, and what an index says of it.
type madePage struct {
	Text  []byte
	Entry page.Entry // without its file
}

func (p *madePage) print(w io.Writer) error {
	_, err := w.Write(p.Text)
	return err
}

// page checks a layout and makes its page; without one the findings say why. What it takes from an earlier run is the
// whole page: fields that rules asked for before a page is gathered may differ in their last digits from fields
// that a page asks for alone.
func (r *auditRun) page(ctx context.Context, i int) (*madePage, []finding.Finding, error) {
	in := &r.inputs[i]
	r.tell.say(in.Path + ": checking")
	cover := r.cover(ctx, i)
	key, keeps := r.results.key(&in.File, &r.standards[i], r.options(i))
	var out outcome
	if keeps {
		out, _ = r.results.outcome(key)
	}
	if out.known {
		result := r.settled(i, out)
		if !out.understood {
			r.worst = append(r.worst, result.Findings...)
			return nil, result.Findings, nil
		}
		if p, ok := r.results.page(r.pageTexts(i, &out, result, cover)); ok {
			r.worst = append(r.worst, result.Findings...)
			return p, nil, nil
		}
	}
	made, done := untilDone(ctx, func() madeAudit { return r.make(i, cover) })
	if !done {
		return nil, nil, ctx.Err()
	}
	if made.err != nil {
		return nil, nil, made.err
	}
	if keeps {
		r.results.keep(key, &made.out)
		if made.page != nil {
			r.results.keepPage(made.page, r.pageTexts(i, &made.out, made.result, cover))
		}
	}
	r.worst = append(r.worst, made.result.Findings...)
	return made.page, made.result.Findings, nil
}

// options are those of the check of a layout.
func (r *auditRun) options(i int) engine.Options {
	return engine.Options{Work: r.o.budget(&r.standards[i])}
}

// madeAudit is what one layout gave to an audit; it has no page where the layout was not understood.
type madeAudit struct {
	out    outcome
	result *report.Result
	page   *madePage
	err    error
}

func (r *auditRun) make(i int, cover audit.Cover) madeAudit {
	in := &r.inputs[i]
	m := madeAudit{out: checkOne(&in.File, &r.standards[i], r.list, r.options(i))}
	m.result = r.settled(i, m.out)
	if m.out.layout == nil {
		return m
	}
	model := m.out.model
	if r.o.precise {
		model = model.Precise()
	}
	p := audit.Build(audit.Input{
		Model: model, Findings: judged(m.result), Permitted: m.result.Permitted, Assumed: m.out.assumed, Rules: m.result.Rules, Cover: cover,
		Progress: func(what string) { r.tell.say(in.Path + ": " + what) },
	})
	var text bytes.Buffer
	if m.err = pageIn(&text, r.o.format, p); m.err == nil {
		m.page = &madePage{Text: text.Bytes(), Entry: page.EntryOf(p, "")}
		for k := range m.page.Entry.Rules {
			m.page.Entry.Rules[k].Margin += 0 // a store takes −0 for 0
		}
	}
	return m
}

// settled applies what the standard of a layout permits to what the layout gave.
func (r *auditRun) settled(i int, out outcome) *report.Result {
	settled := settle(r.inputs[i:i+1], r.standards[i:i+1], []outcome{out}, nil, &r.o.standardOptions, false)
	result := &report.Result{}
	settled.fill(result)
	return result
}

func judged(r *report.Result) []finding.Finding {
	return slices.Concat(r.Findings, r.Passed, r.NotApplicable)
}

// pageTexts names a page: all that audit.Build and the writer are given.
func (r *auditRun) pageTexts(i int, out *outcome, result *report.Result, cover audit.Cover) []string {
	precise := "as the rules asked"
	if r.o.precise {
		precise = "precise"
	}
	in := &r.inputs[i]
	return []string{"page", in.Path, sha256Of(in.Data), r.o.format, precise, fmt.Sprint(r.options(i).Work.Most()),
		digest.Of(judged(result), result.Permitted, out.assumed, result.Rules, cover)}
}

// page returns the page that texts name.
func (r *results) page(texts []string) (*madePage, bool) {
	body, ok := r.store.Get(store.KeyOf(append(texts, r.program)...))
	if !ok {
		return nil, false
	}
	p := &madePage{}
	return p, gob.NewDecoder(bytes.NewReader(body)).Decode(p) == nil
}

func (r *results) keepPage(p *madePage, texts []string) {
	var body bytes.Buffer
	if err := gob.NewEncoder(&body).Encode(p); err != nil {
		panic("cli: a page that cannot be kept")
	}
	r.store.Put(store.KeyOf(append(texts, r.program)...), body.Bytes())
}
