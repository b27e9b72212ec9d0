// Package report holds what the writers below it are given: the outcome of one
// run as plain data, and the words that several of them share. Writers print it;
// they do not sort, filter or decide.
package report

import (
	"iter"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/model/span"
)

// File is one file that was read. Path is what the user gave, with forward
// slashes; RootPath is the same file relative to the root of the repository
// (or to the working directory when there is none), never absolute and never
// with "..". Data is its content as read.
type File struct {
	Path, RootPath string
	Data           []byte
	// Governs says that the file is no layout but a standard, deviations or a
	// baseline, which says how layouts are judged.
	Governs bool
}

// Tool names the program that made a report.
type Tool struct {
	Name, Version, InformationURI string
}

// Permission is one finding that may stand, and what permits it.
type Permission struct {
	Finding finding.Finding // verdict permitted
	// Was and Level are what the finding would have without the permission: fail
	// or undecided, and its level. Left out, it was a failure of its rule's level.
	Was      finding.Verdict
	Level    finding.Level
	Reason   string      // one line
	Until    policy.Date // the last day; zero where there is none
	By       string      // who approved it; empty for a baseline
	Ticket   string
	Span     span.Span // of the deviation, or of the entry in the baseline
	Baseline bool      // recorded in the baseline
}

// Baseline is what comparing findings with a recorded baseline gave beyond those
// that it permits.
type Baseline struct {
	// Worse holds those of the findings that are recorded, but got worse.
	Worse []finding.Finding
	// Absent holds what is recorded and was not found any more: failures with the
	// recorded level, in the layout's file, without a message.
	Absent []finding.Finding
}

// Kept are verdicts that a run keeps out of the way until a writer asks for them.
type Kept interface {
	// Each yields those of a verdict in the order to print.
	Each(finding.Verdict) iter.Seq[*finding.Finding]
	// Count is their number, known without them.
	Count(finding.Verdict) int
}

// Result is the outcome of a run. All slices are in the order to print:
// by path, position, rule and object. Findings holds failures and undecided
// verdicts; Passed and NotApplicable hold the rest, with their margins, where Kept does not: see Each.
type Result struct {
	Tool          Tool
	Rules         []finding.Description // every enabled rule, sorted by ID
	Files         []File                // every file read, sorted by Path
	Findings      []finding.Finding
	Permitted     []Permission // findings that may stand; not among Findings
	Passed        []finding.Finding
	NotApplicable []finding.Finding
	Assumed       []finding.Assumption
	Kept          Kept      // what passed and what did not apply, in place of the slices; nil: the slices hold it
	Baseline      *Baseline // nil when no baseline was used
}

// Each yields what passed, or what did not apply, in the order to print.
func (r *Result) Each(v finding.Verdict) iter.Seq[*finding.Finding] {
	if r.Kept != nil {
		return r.Kept.Each(v)
	}
	return func(yield func(*finding.Finding) bool) {
		list := r.held(v)
		for i := range list {
			if !yield(&list[i]) {
				return
			}
		}
	}
}

// Count is the number of those that Each yields.
func (r *Result) Count(v finding.Verdict) int {
	if r.Kept != nil {
		return r.Kept.Count(v)
	}
	return len(r.held(v))
}

func (r *Result) held(v finding.Verdict) []finding.Finding {
	switch v {
	case finding.Pass:
		return r.Passed
	case finding.NotApplicable:
		return r.NotApplicable
	}
	panic("report: a verdict that is not kept apart")
}
