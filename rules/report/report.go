// Package report holds what the writers below it are given: the outcome of one
// run as plain data. Writers print it; they do not sort, filter or decide.
package report

import "busgauss/model/finding"

// File is one file that was read. Path is what the user gave, with forward
// slashes; RootPath is the same file relative to the root of the repository
// (or to the working directory when there is none), never absolute and never
// with "..". Data is its content as read.
type File struct {
	Path, RootPath string
	Data           []byte
}

// Tool names the program that made a report.
type Tool struct {
	Name, Version, InformationURI string
}

// Result is the outcome of a run. All slices are in the order to print:
// by path, position, rule and object. Findings holds failures and undecided
// verdicts; Passed and NotApplicable hold the rest, with their margins.
type Result struct {
	Tool          Tool
	Rules         []finding.Description // every enabled rule, sorted by ID
	Files         []File                // every file read, sorted by Path
	Findings      []finding.Finding
	Passed        []finding.Finding
	NotApplicable []finding.Finding
	Assumed       []finding.Assumption
}
