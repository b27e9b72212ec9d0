// Package policy holds a house standard as its files say it: data only, in
// the words of the files, with the place of each. What the words mean for a
// layout is decided in rules/standard.
package policy

import "busgauss/model/span"

// Text is one text of a file. A text that the file does not have has no place.
type Text struct {
	Value string
	Span  span.Span
	// Places holds the place of each character of Value, for texts inside which
	// messages point; nil for all others.
	Places []span.Pos
}

// Given reports whether the file has the text.
func (t Text) Given() bool { return t.Span.Valid() }

// At returns the place of the characters from start to end of Value, counted in
// code points from 0; the whole text where the place of a character is not known.
func (t Text) At(start, end int) span.Span {
	if len(t.Places) == 0 {
		return t.Span
	}
	last := len(t.Places) - 1
	start = min(max(start, 0), last)
	at := span.Span{File: t.Span.File, Start: t.Places[start], End: t.Places[start]}
	if end > start {
		at.End = t.Places[min(end-1, last)]
		at.End.Column++
	}
	if !at.Valid() {
		at.End = at.Start
	}
	return at
}

// Amount is a number with its unit as it is written; Bare says that it is a
// plain number without one.
type Amount struct {
	Text string
	Bare bool
	Span span.Span
}

// Given reports whether the file has the amount.
func (a Amount) Given() bool { return a.Span.Valid() }

// File is one standard file.
type File struct {
	Path    string // relative to the root, or the name of a built-in one
	BuiltIn bool
	Title   Text
	Edition Text
	// LeastVersion is the oldest version of the program that may judge by it.
	LeastVersion Text
	// RulesEdition pins the set of rules: later ones start as notes.
	RulesEdition     int
	RulesEditionSpan span.Span
	// Work is the most million steps of work that a layout may take; 0 where the file does not say it.
	Work    int
	Extends []Text
	// BaselineSlack is the share of a limit by which a finding may be worse than
	// recorded.
	BaselineSlack Amount
	Rules         []RuleSetting
	Paths         []Scope
	Classes       []Scope
	HouseRules    []HouseRule
}

// RuleSetting is what a standard says of one rule.
type RuleSetting struct {
	Rule   Text
	Level  Text
	Limits []LimitSetting
	Reason Text
}

// LimitSetting is a limit that a standard sets.
type LimitSetting struct {
	Key    Text
	Amount Amount
}

// Scope is a part of a standard that counts for some layouts or channels only.
// Files holds globs of layouts and Channels globs of the names of channels; an
// empty list is every one.
type Scope struct {
	Name     Text
	Preset   Text
	Files    []Text // relative to the root
	Channels []Text
	Rules    []RuleSetting
}

// HouseRule is a rule that a standard makes of an expression.
type HouseRule struct {
	ID      Text
	Title   Text
	For     Text
	When    Text
	Holds   Text
	Level   Text
	Message Text
	Remedy  Text
	Reason  Text
}

// Deviation permits one finding until a day.
type Deviation struct {
	Span     span.Span // the place to edit
	File     Text      // of the layout, relative to the root
	Rule     Text
	Object   Text
	Cause    Text
	Reason   Text
	Approver Text
	Until    Date
	UntilAt  span.Span
	Ticket   Text
	UpTo     Amount
	// Undecided says that a verdict that could not be reached is permitted too.
	Undecided bool
}

// Entry is one finding that a baseline records. Value and Limit are in Unit;
// they count only where HasValue is set.
type Entry struct {
	Span         span.Span
	File         string // of the layout, relative to the root
	Rule         string
	Object       string
	Others       []string
	Cause        string
	Undecided    bool
	Level        string
	HasValue     bool
	Value, Limit float64
	Unit         string
}

// Source is one file that was read. Path is what messages show, RootPath is
// relative to the root.
type Source struct {
	Path, RootPath string
	Data           []byte
}

// Set is all that governs a group of layouts.
type Set struct {
	Files      []*File // the most basic first; a later one wins
	Presets    []*File // what classes start from
	Deviations []Deviation
	Baseline   []Entry
	Sources    []Source // every file read, by path; built-in ones are not among them
	// Broken says that a file has an error: nothing may be judged by the set.
	Broken bool
}

// Preset returns the preset called name, nil when there is none.
func (s *Set) Preset(name string) *File {
	for _, p := range s.Presets {
		if p.Path == name {
			return p
		}
	}
	return nil
}
