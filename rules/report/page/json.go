package page

import (
	"io"

	"busgauss/rules/audit"
	"busgauss/rules/report"
	"busgauss/rules/report/figure"
)

// Format is the number of the JSON format. Fields are only ever added under one
// number.
const Format = 1

type jsonPage struct {
	Format   int           `json:"format"`
	Cover    jsonCover     `json:"cover"`
	Caution  string        `json:"caution"`
	Outcome  string        `json:"outcome"`
	Sentence string        `json:"sentence"`
	Totals   jsonTotals    `json:"totals"`
	Changes  []jsonChange  `json:"changes"`
	Verdicts []jsonVerdict `json:"verdicts"`
	Assumed  []jsonAssumed `json:"assumed"`
	NotSeen  []jsonNotSeen `json:"not_seen"`
	Frames   []jsonFrame   `json:"frames"`
	Channels []jsonChannel `json:"channels"`
	Shields  []jsonShield  `json:"shields"`
	Sources  []jsonSource  `json:"sources"`
}

type jsonCover struct {
	Title    string      `json:"title"`
	Customer string      `json:"customer,omitempty"`
	Drawing  string      `json:"drawing,omitempty"`
	Author   string      `json:"author,omitempty"`
	Reviewer string      `json:"reviewed_by,omitempty"`
	Layout   string      `json:"layout,omitempty"`
	Digest   string      `json:"sha256,omitempty"`
	Revision string      `json:"revision,omitempty"`
	Standard string      `json:"standard,omitempty"`
	Tool     string      `json:"tool"`
	Date     string      `json:"date,omitempty"`
	History  []jsonIssue `json:"history,omitempty"`
}

type jsonIssue struct {
	Mark string `json:"mark"`
	Date string `json:"date"`
	What string `json:"what"`
	By   string `json:"by"`
}

// jsonTotals counts verdicts; a failure of the level note is noted and is no failure.
type jsonTotals struct {
	Fail          int `json:"fail"`
	Noted         int `json:"noted"`
	Undecided     int `json:"undecided"`
	Permitted     int `json:"permitted"`
	Pass          int `json:"pass"`
	NotApplicable int `json:"not_applicable"`
}

type jsonChange struct {
	Title  string   `json:"title"`
	Effect string   `json:"effect,omitempty"`
	Clears []string `json:"clears"`
	Proven bool     `json:"checked"`
}

type jsonVerdict struct {
	Rule       string   `json:"rule"`
	Object     string   `json:"object"`
	Channel    string   `json:"channel,omitempty"`
	About      string   `json:"about"`
	Verdict    string   `json:"verdict"`
	Level      string   `json:"level"`
	Was        string   `json:"was"`
	Value      string   `json:"value,omitempty"`
	Limit      string   `json:"limit,omitempty"`
	Margin     *float64 `json:"margin"`
	Left       string   `json:"margin_amount,omitempty"` // in amperes, or in the unit of the rule
	Certainty  string   `json:"certainty,omitempty"`
	Amperes    string   `json:"amperes,omitempty"`
	Percent    string   `json:"percent,omitempty"`
	Origin     string   `json:"limit_origin,omitempty"`
	Message    string   `json:"message"`
	Remedy     string   `json:"remedy,omitempty"`
	Permission string   `json:"permission,omitempty"`
	Path       string   `json:"path"`
	Line       int      `json:"line"`
	Column     int      `json:"column"`
}

type jsonAssumed struct {
	Object string `json:"object"`
	Text   string `json:"text"`
	Line   int    `json:"line"`
}

type jsonNotSeen struct {
	Rule string `json:"rule"`
	Text string `json:"text"`
}

type jsonFrame struct {
	Duty      string       `json:"duty"`
	Kind      string       `json:"kind"`
	Role      string       `json:"role"`
	FreqHz    float64      `json:"frequency_hz"`
	Method    string       `json:"method,omitempty"`
	Undecided string       `json:"undecided,omitempty"`
	Certainty *float64     `json:"certainty"`
	Sensors   []jsonSensor `json:"sensors"`
}

type jsonSensor struct {
	Sensor     string   `json:"sensor"`
	Bar        string   `json:"bar"`
	AxisT      *float64 `json:"axis_t"`
	PhaseRad   *float64 `json:"phase_rad"`
	PerAmpereT *float64 `json:"own_t_per_a"`
	OwnA       *float64 `json:"own_a"`
	StrayA     *float64 `json:"stray_a"`
	StrayShare *float64 `json:"stray_share"`
	Certainty  *float64 `json:"certainty"`
	Undecided  string   `json:"undecided,omitempty"`
}

type jsonChannel struct {
	Sensor   string         `json:"sensor"`
	Bar      string         `json:"bar"`
	Part     string         `json:"part,omitempty"`
	Facts    []jsonFact     `json:"facts"`
	Hand     []jsonEstimate `json:"estimates"`
	Worked   []jsonStep     `json:"worked"`
	Curves   []jsonCurve    `json:"curves"`
	Ranked   []jsonItem     `json:"contributors"`
	NoBudget string         `json:"no_budget,omitempty"`
}

type jsonFact struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

type jsonEstimate struct {
	Name    string `json:"name"`
	Formula string `json:"formula"`
	Numbers string `json:"numbers"`
	Result  string `json:"result"`
	Against string `json:"against_computed"`
	Reason  string `json:"reason"`
	Source  string `json:"source"`
}

type jsonStep struct {
	What    string `json:"step"`
	Formula string `json:"formula"`
	Numbers string `json:"numbers"`
	Result  string `json:"result"`
	Source  string `json:"source"`
}

type jsonCurve struct {
	Name   string       `json:"name"`
	Text   string       `json:"text"`
	Across string       `json:"across"`
	Unit   string       `json:"unit"`
	Series []jsonSeries `json:"series"`
}

type jsonSeries struct {
	Name string     `json:"name"`
	Of   string     `json:"of"`
	Unit string     `json:"unit"`
	X    []*float64 `json:"x"`
	Y    []*float64 `json:"y"`
}

type jsonItem struct {
	Name string `json:"name"`
	Text string `json:"amount"`
}

type jsonShield struct {
	Shield   string     `json:"shield"`
	Material string     `json:"material"`
	Facts    []jsonFact `json:"facts"`
	Text     string     `json:"text,omitempty"`
	Curve    *jsonCurve `json:"curve"`
}

type jsonSource struct {
	For  string `json:"for"`
	Text string `json:"source"`
}

// WriteJSON writes p as JSON and returns the first error. Text is cleaned as on the
// page; numbers have at most six significant digits, and are null where there is none.
func WriteJSON(w io.Writer, p *audit.Page) error {
	p = cleaned(p)
	out := jsonPage{
		Format: Format, Cover: coverJSON(&p.Cover), Caution: audit.Caution, Outcome: p.Glance.Verdict, Sentence: p.Glance.Sentence,
		Totals: jsonTotals(audit.Count(p.Verdicts)), Changes: []jsonChange{},
		Verdicts: []jsonVerdict{}, Assumed: []jsonAssumed{}, NotSeen: []jsonNotSeen{}, Frames: []jsonFrame{}, Channels: []jsonChannel{}, Shields: []jsonShield{}, Sources: []jsonSource{},
	}
	for _, c := range p.Glance.Changes {
		out.Changes = append(out.Changes, jsonChange(c))
	}
	for i := range p.Verdicts {
		v := &p.Verdicts[i]
		out.Verdicts = append(out.Verdicts, jsonVerdict{
			Rule: v.Rule, Object: v.Object, Channel: v.Channel, About: v.About, Verdict: v.Verdict.String(), Level: v.Level.String(), Was: v.Was.String(),
			Value: v.Value, Limit: v.Limit, Margin: report.Number(v.MarginShare), Left: v.MarginAmount, Certainty: v.Certainty, Amperes: v.Amperes, Percent: v.Percent,
			Origin: v.Origin, Message: v.Message, Remedy: v.Remedy, Permission: v.Permission, Path: v.Path, Line: v.Line, Column: v.Column,
		})
	}
	for _, a := range p.Assumed {
		out.Assumed = append(out.Assumed, jsonAssumed{a.Object, a.Text, a.Line})
	}
	for _, n := range p.NotSeen {
		out.NotSeen = append(out.NotSeen, jsonNotSeen{n.Rule, n.Text})
	}
	for i := range p.Section.Frames {
		out.Frames = append(out.Frames, frameJSON(&p.Section.Frames[i]))
	}
	for i := range p.Channels {
		out.Channels = append(out.Channels, channelJSON(&p.Channels[i]))
	}
	for i := range p.Shields {
		s := &p.Shields[i]
		j := jsonShield{Shield: s.Name, Material: s.Material, Facts: factsJSON(s.Facts), Text: s.Text}
		if s.Curve != nil {
			c := curveJSON(s.Curve)
			j.Curve = &c
		}
		out.Shields = append(out.Shields, j)
	}
	for _, s := range p.Sources {
		out.Sources = append(out.Sources, jsonSource{s.For, s.Text})
	}
	return report.EncodeJSON(w, out)
}

func coverJSON(c *audit.Cover) jsonCover {
	out := jsonCover{Title: c.Title, Customer: c.Customer, Drawing: c.Drawing, Author: c.Author, Reviewer: c.Reviewer,
		Layout: c.Path, Digest: c.Digest, Revision: c.Revision, Standard: c.Standard, Tool: c.Tool, Date: c.Date}
	for _, i := range c.History {
		out.History = append(out.History, jsonIssue(i))
	}
	return out
}

func frameJSON(f *audit.Frame) jsonFrame {
	out := jsonFrame{Duty: f.Duty, Kind: f.Kind, Role: f.Role, FreqHz: f.FreqHz, Method: f.Method, Undecided: f.Undecided, Sensors: []jsonSensor{}}
	if f.Undecided == "" {
		out.Certainty = report.Number(f.Certainty)
	}
	for i := range f.Rows {
		r := &f.Rows[i]
		j := jsonSensor{Sensor: r.Sensor, Bar: r.Reads, Undecided: r.PerAmpereUnsaid}
		if r.PerAmpereUnsaid == "" {
			j.AxisT, j.PhaseRad, j.PerAmpereT = report.Number(r.AxisT), report.Number(r.PhaseRad), report.Number(r.PerAmpereT)
			j.OwnA, j.StrayA, j.StrayShare = report.Number(r.OwnA), report.Number(r.StrayA), report.Number(r.StrayShare)
			j.Certainty = report.Number(r.Certainty)
		}
		out.Sensors = append(out.Sensors, j)
	}
	return out
}

func channelJSON(c *audit.Channel) jsonChannel {
	out := jsonChannel{Sensor: c.Sensor, Bar: c.Reads, Part: c.Part, Facts: factsJSON(c.Facts), Hand: []jsonEstimate{},
		Worked: []jsonStep{}, Curves: []jsonCurve{}, Ranked: []jsonItem{}, NoBudget: c.NoBudget}
	for _, h := range c.Hand {
		out.Hand = append(out.Hand, jsonEstimate(h))
	}
	for _, s := range c.Worked {
		out.Worked = append(out.Worked, jsonStep(s))
	}
	for i := range c.Curves {
		out.Curves = append(out.Curves, curveJSON(&c.Curves[i]))
	}
	if c.Ranked != nil {
		for _, it := range c.Ranked.Ranking.Items {
			out.Ranked = append(out.Ranked, jsonItem{it.Name, it.Text})
		}
	}
	return out
}

func factsJSON(list []audit.Fact) []jsonFact {
	out := []jsonFact{}
	for _, f := range list {
		out = append(out, jsonFact(f))
	}
	return out
}

func curveJSON(c *audit.Curve) jsonCurve {
	out := jsonCurve{Name: c.Name, Text: c.Text, Across: c.Chart.X.Title, Unit: c.Chart.X.Unit, Series: []jsonSeries{}}
	for _, p := range c.Chart.Panels {
		for _, s := range p.Series {
			out.Series = append(out.Series, seriesJSON(&s, &p))
		}
	}
	return out
}

func seriesJSON(s *figure.Series, p *figure.Panel) jsonSeries {
	out := jsonSeries{Name: s.Name, Of: p.Y.Title, Unit: p.Y.Unit, X: []*float64{}, Y: []*float64{}}
	if out.Unit == "%" {
		out.Unit = "1" // shares; only the chart shows per cent
	}
	for i := range s.X {
		out.X, out.Y = append(out.X, report.Number(s.X[i])), append(out.Y, report.Number(s.Y[i]))
	}
	return out
}

// WriteIndexJSON writes an index as JSON and returns the first error.
func WriteIndexJSON(w io.Writer, x *Index) error {
	type margin struct {
		Rule    string   `json:"rule"`
		Verdict string   `json:"verdict"`
		Margin  *float64 `json:"margin"`
	}
	type entry struct {
		Layout  string `json:"layout"`
		Title   string `json:"title"`
		Page    string `json:"page,omitempty"`
		Broken  string `json:"broken,omitempty"`
		Outcome string `json:"outcome,omitempty"`
		jsonTotals
		Margins []margin `json:"margins"`
	}
	x = x.cleaned()
	total, _ := x.total()
	out := struct {
		Format  int        `json:"format"`
		Cover   jsonCover  `json:"cover"`
		Totals  jsonTotals `json:"totals"`
		Layouts []entry    `json:"layouts"`
	}{Format, coverJSON(&x.Cover), jsonTotals(total), []entry{}}
	out.Cover.Layout, out.Cover.Digest = "", ""
	for i := range x.Entries {
		e := &x.Entries[i]
		j := entry{Layout: e.Path, Title: e.Title, Page: e.Href, Broken: e.Broken, Outcome: e.Outcome, jsonTotals: jsonTotals(e.Tally), Margins: []margin{}}
		for _, r := range e.Rules {
			j.Margins = append(j.Margins, margin{r.Rule, r.Verdict.String(), report.Number(r.Margin)})
		}
		out.Layouts = append(out.Layouts, j)
	}
	return report.EncodeJSON(w, out)
}
