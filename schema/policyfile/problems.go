package policyfile

import "busgauss/model/finding"

// The rules of the reader. The first three are those of layouts: what they ask
// is the same in every file.
const (
	ruleUnknownKey = "key-unknown"
	ruleMissing    = "key-missing"
	ruleForm       = "value-form"
	ruleFile       = "standard-file"
	ruleExtends    = "standard-extends"
	rulePath       = "standard-path"
	ruleName       = "standard-name"
)

// Problems describes every rule of the reader that layouts do not have, sorted
// by identifier.
func Problems() []finding.Description {
	return []finding.Description{
		{
			ID: ruleExtends, Level: finding.Error,
			Title: "standard that cannot be followed to what it extends",
			Full:  "A standard extends a preset that does not exist, itself over others, a path outside the root, or too many files. Nothing is judged by such a standard.",
			Help:  "Built-in presets are named by a bare word, files by a path with its ending, relative to the file that names them. 32 files and 8 levels at most (common practice).",
		},
		{
			ID: ruleFile, Level: finding.Error,
			Title: "file of the house standard that cannot be read",
			Full:  "A standard, a file of deviations or a baseline does not exist, is no plain file, is too large, or is a link that leads out of the root.",
			Help:  "Standards up to 256 KiB, deviations up to 4 MiB, baselines up to 16 MiB (common practice). Links must stay inside the root of the repository.",
		},
		{
			ID: ruleName, Level: finding.Error,
			Title: "file that is called nearly like one of a house standard",
			Full:  "A file in the folder of a layout, or above it up to the root, has nearly the name of a standard, of deviations or of a baseline. It is not read, so that what it says does not count.",
			Help:  "The names are busgauss-standard.yaml, busgauss-deviations.yaml and busgauss-baseline.yaml, in small letters. Nearly is: another ending (.yml, .json), another sign between the words, or up to three other letters (common practice). A file that a standard extends is read and may be called so.",
		},
		{
			ID: rulePath, Level: finding.Error,
			Title: "path or pattern that leads nowhere",
			Full:  "A path or a pattern of a standard, a deviation or a baseline is absolute, leads out of the root, has backslashes, or has a bracket that is not closed.",
			Help:  "Paths have forward slashes and are relative to the folder of their file. Patterns know *, ?, [...], {a,b} and ** for any depth; there is no negation.",
		},
	}
}
