package sarif

import (
	"strings"

	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules/report"
)

// results turns findings into results, in their order.
func results(findings []finding.Finding, c catalogue, files *files, states *states) []result {
	out := make([]result, 0, len(findings)) // never null
	prints := newFingerprints(files)
	for i := range findings {
		one := newResult(&findings[i], c, files, prints)
		one.BaselineState = states.of(&findings[i])
		out = append(out, one)
	}
	return out
}

// newResult makes the result that hosts are given.
func newResult(f *finding.Finding, c catalogue, files *files, prints *fingerprints) result {
	id, kind := f.Rule, "fail"
	if f.Verdict == finding.Undecided {
		id = undecidedID
	}
	if report.ShownLevel(f) == finding.None {
		// A house standard may take a rule's weight away without silencing it.
		kind = "informational"
	}
	return assemble(f, id, kind, report.ShownLevel(f), c, files, prints)
}

// assemble is the only place that makes a result, so that kind and level agree:
// the level is "none" whenever the kind is not "fail" and never otherwise
// (section 3.27.10).
func assemble(f *finding.Finding, id, kind string, level finding.Level, c catalogue, files *files, prints *fingerprints) result {
	switch {
	case kind != "fail":
		level = finding.None
	case level == finding.None:
		level = finding.Warning // what the standard takes for granted
	}
	primary := files.location(f.Span)
	if f.Object != "" {
		primary.LogicalLocations = []logicalLocation{{FullyQualifiedName: f.Object, Kind: "object"}}
	}
	return result{
		RuleID:              id,
		RuleIndex:           c.index[id],
		Kind:                kind,
		Level:               level.String(),
		Message:             text{Text: messageText(f)},
		Locations:           []location{primary},
		RelatedLocations:    relatedLocations(f.Related, files),
		PartialFingerprints: prints.of(f),
		Fixes:               fixes(f.Changes, files),
		Properties:          newProperties(f, id),
	}
}

func relatedLocations(related []finding.Related, files *files) []location {
	var out []location
	for i, r := range related {
		l := files.location(r.Span)
		l.ID = i + 1
		l.Message = &text{Text: escaped(sentence(relatedText(r)), maxMessage)}
		out = append(out, l)
	}
	return out
}

// fixes turns the changes that a finding offers into proposals; their edits are all of one file.
func fixes(changes []finding.Change, files *files) []fix {
	var out []fix
	for _, c := range changes {
		if len(c.Edits) == 0 {
			continue
		}
		words := c.Title
		if c.Effect != "" {
			words += ": " + strings.TrimPrefix(c.Effect, "; ")
		}
		one := artifactChange{ArtifactLocation: files.location(c.Edits[0].Span).PhysicalLocation.ArtifactLocation}
		for _, e := range c.Edits {
			one.Replacements = append(one.Replacements, replacement{regionOf(e.Span), content{e.Text}})
		}
		out = append(out, fix{Description: text{Text: escaped(sentence(words), maxMessage)}, ArtifactChanges: []artifactChange{one}})
	}
	return out
}

func newProperties(f *finding.Finding, id string) properties {
	p := properties{Verdict: f.Verdict.String(), Object: f.Object, Others: f.Others, Cause: f.Cause}
	if id != f.Rule {
		p.Rule = f.Rule
	}
	if m := f.Measure; m != nil {
		atLeast := m.AtLeast
		p.Measured, p.Limit, p.AtLeast = report.Number(m.Value), report.Number(m.Limit), &atLeast
		p.Unit, p.LimitOrigin = m.Unit, m.Origin
		p.Margin, p.Certainty = report.Number(m.Margin()), report.Number(m.Certainty)
	}
	for _, line := range f.Details {
		p.Details = append(p.Details, finding.Clean(line))
	}
	return p
}

func regionOf(s span.Span) region {
	start, end := report.Place(s)
	return region{StartLine: start.Line, StartColumn: start.Column, EndLine: end.Line, EndColumn: end.Column}
}
