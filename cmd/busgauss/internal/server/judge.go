package server

import (
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
)

// Depth is how much of a check is asked for, from less to more.
type Depth int

// The depths. At once is what takes no solution of a field; of a layout whose fields are closed forms
// that is every rule. The last also searches what would help.
const (
	AtOnce Depth = iota
	Solved
	Remedied
)

// Question is what a judge is asked.
type Question struct {
	Path  string // absolute, with the separators of the system
	Text  string
	Depth Depth
	// Earlier is the answer to the same text at a lesser depth, where there is one: what was solved for it need not be
	// solved again.
	Earlier Answer
	// Stop is true once nobody waits for the answer any more.
	Stop func() bool
}

// Answer is what a judge says of one text.
type Answer struct {
	// Depth is that of what was done, which may be more than was asked.
	Depth Depth
	// Foreign says that the text is nothing to judge: no layout, and no file of a house standard.
	Foreign bool
	Layout  *layout.Layout // nil where it is not understood
	Model   *probe.Model   // with the fields that the rules had it compute
	State   any            // what the judge wants to be given with Earlier
	// Said are all verdicts, passes too; Shown are the findings to tell, which
	// may stand in other files. The files of both are absolute paths.
	Said, Shown []finding.Finding
}

// Judge checks texts. It may be asked by several goroutines.
type Judge interface {
	// Hold takes the unsaved text of the file at an absolute path, or that it is closed, and
	// returns whether others are judged by it.
	Hold(path, text string, open bool) (governs bool)
	// Governs reports whether others are judged by what stands in the file at a path.
	Governs(path string) bool
	Check(Question) Answer
}
