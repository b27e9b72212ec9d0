package compare

import (
	_ "embed"
	"io"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// Schema is the published JSON Schema of what WriteJSON writes. Callers must not
// change it.
//
//go:embed compare.schema.json
var Schema []byte

// Format is the number of the format that WriteJSON writes.
const Format = 1

type document struct {
	Format    int          `json:"format"`
	Base      jsonSide     `json:"base"`
	Head      jsonSide     `json:"head"`
	Unchanged int          `json:"unchanged"`
	FailLevel string       `json:"fail_level"`
	Failures  int          `json:"failures"`
	Counts    jsonCounts   `json:"counts"`
	Weaker    []jsonWeaker `json:"weaker"`
	Layouts   []jsonLayout `json:"layouts"`
}

// jsonWeaker is a finding on what the change takes from the checks of a layout.
type jsonWeaker struct {
	Rule      string   `json:"rule"`
	Level     string   `json:"level"`
	Path      string   `json:"path"`
	Object    string   `json:"object"`
	Message   string   `json:"message"`
	Remedy    string   `json:"remedy"`
	Details   []string `json:"details"`
	Fails     bool     `json:"fails"`
	Permitted bool     `json:"permitted"`
}

type jsonSide struct {
	Name      string `json:"name"`
	Commit    string `json:"commit"`
	MergeBase bool   `json:"merge_base"`
}

type jsonCounts struct {
	Worse  int `json:"worse"`
	New    int `json:"new"`
	Better int `json:"better"`
	Gone   int `json:"gone"`
	Same   int `json:"same"`
}

type jsonLayout struct {
	Before  string       `json:"path_before"`
	After   string       `json:"path_after"`
	Match   string       `json:"match"`
	Class   string       `json:"class"`
	Broken  bool         `json:"broken"`
	Was     bool         `json:"broken_before"`
	Refused string       `json:"refused"`
	Fails   bool         `json:"fails"`
	Changes []jsonChange `json:"changes"`
	Objects []jsonObject `json:"objects"`
}

type jsonChange struct {
	Kind string `json:"kind"`
	Name string `json:"name"`
	What string `json:"what"`
	Part string `json:"part"`
	From string `json:"from"`
	To   string `json:"to"`
	Text string `json:"text"`
}

type jsonObject struct {
	Kind   string      `json:"kind"`
	Before string      `json:"name_before"`
	After  string      `json:"name_after"`
	Class  string      `json:"class"`
	Own    bool        `json:"changed_itself"`
	Causes []string    `json:"causes"`
	Checks []jsonCheck `json:"checks"`
}

type jsonCheck struct {
	Rule   string    `json:"rule"`
	Cause  string    `json:"cause"`
	Class  string    `json:"class"`
	Fails  bool      `json:"fails"`
	Before *jsonSaid `json:"before"`
	After  *jsonSaid `json:"after"`
}

// jsonSaid is a verdict. MarginA is the margin in amperes.
type jsonSaid struct {
	Verdict   string   `json:"verdict"`
	Level     string   `json:"level"`
	Value     *float64 `json:"value"`
	Limit     *float64 `json:"limit"`
	AtLeast   bool     `json:"at_least"`
	Unit      string   `json:"unit"`
	Margin    *float64 `json:"margin"`
	MarginA   *float64 `json:"margin_a"`
	Certainty *float64 `json:"certainty"`
	Path      string   `json:"path"`
	Line      int      `json:"line"`
	Column    int      `json:"column"`
	Message   string   `json:"message"`
}

// WriteJSON writes r for other programs, in the format that the schema describes,
// and returns the first error of w. The level is the one from which on findings
// that are new or worse count as failures.
func WriteJSON(w io.Writer, r *Report, level finding.Level) error {
	n := r.Counts()
	d := document{
		Format: Format, Base: jsonSide(r.Base), Head: jsonSide(r.Head), Unchanged: r.Unchanged,
		FailLevel: level.String(), Failures: r.Failures(level),
		Counts: jsonCounts{Worse: n[Worse], New: n[New], Better: n[Better], Gone: n[Gone], Same: n[Same]},
		Weaker: make([]jsonWeaker, 0, len(r.Weaker)), Layouts: make([]jsonLayout, 0, len(r.Pairs)),
	}
	for _, list := range [][]finding.Finding{r.Weaker, r.WeakerPermitted} {
		for i := range list {
			f := &list[i]
			d.Weaker = append(d.Weaker, jsonWeaker{f.Rule, f.Level.String(), f.Span.File, f.Object, finding.Clean(f.Message), finding.Clean(f.Remedy),
				append([]string{}, f.Details...), level != finding.None && f.Level >= level, f.Verdict == finding.Permitted})
		}
	}
	for i := range r.Pairs {
		d.Layouts = append(d.Layouts, layoutOf(&r.Pairs[i], level))
	}
	return report.EncodeJSON(w, d)
}

func layoutOf(p *Pair, level finding.Level) jsonLayout {
	out := jsonLayout{
		Before: p.Before, After: p.After, Match: string(p.Match), Class: p.Class.String(), Broken: p.Broken, Was: p.WasBroken,
		Refused: finding.Clean(p.Refused), Fails: p.Fails(level),
		Changes: make([]jsonChange, 0, len(p.Changes)), Objects: make([]jsonObject, 0, len(p.Objects)),
	}
	for _, c := range p.Changes {
		out.Changes = append(out.Changes, jsonChange{c.Kind, c.Name, string(c.What), c.Part, c.From, c.To, finding.Clean(c.String())})
	}
	for i := range p.Objects {
		o := &p.Objects[i]
		j := jsonObject{
			Kind: o.Kind, Before: o.Before, After: o.After, Class: o.Class.String(), Own: o.Own,
			Causes: make([]string, 0, len(o.Causes)), Checks: make([]jsonCheck, 0, len(o.Checks)),
		}
		for _, c := range o.Causes {
			j.Causes = append(j.Causes, finding.Clean(c.String()))
		}
		for k := range o.Checks {
			c := &o.Checks[k]
			j.Checks = append(j.Checks, jsonCheck{
				Rule: c.Rule, Cause: c.cause(), Class: c.Class.String(), Fails: c.Fails(level),
				Before: saidOf(c.Before), After: saidOf(c.After),
			})
		}
		out.Objects = append(out.Objects, j)
	}
	return out
}

func saidOf(f *finding.Finding) *jsonSaid {
	if f == nil {
		return nil
	}
	start, _ := report.Place(f.Span)
	out := &jsonSaid{
		Verdict: f.Verdict.String(), Level: f.Level.String(), Message: finding.Clean(f.Message),
		Path: f.Span.File, Line: start.Line, Column: start.Column,
	}
	if m := f.Measure; m != nil {
		out.Value, out.Limit, out.AtLeast, out.Unit = report.Number(m.Value), report.Number(m.Limit), m.AtLeast, m.Unit
		out.Certainty = report.Number(m.Certainty)
		if m.Limit != 0 {
			out.Margin = report.Number(m.Margin())
		}
		if m.Unit == "A" {
			out.MarginA = report.Number(slack(m))
		}
	}
	return out
}
