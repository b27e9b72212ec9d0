package enforce

import (
	"fmt"

	"busgauss/model/finding"
	"busgauss/model/span"
)

// The rules about standards, deviations and baselines. The first four are those
// of layouts: what they ask is the same in every file.
const (
	ruleForm       = "value-form"
	ruleQuantity   = "value-quantity"
	ruleRange      = "value-range"
	ruleUnknown    = "standard-unknown"
	ruleLooser     = "standard-looser"
	ruleVersion    = "standard-version"
	ruleUnusable   = "standard-unusable"
	ruleChanged    = "standard-changed"
	ruleExpression = "standard-expression"
	ruleRepeated   = "deviation-repeated"
	ruleEnded      = "deviation-ended"
	ruleSoon       = "deviation-ends-soon"
	ruleUnused     = "deviation-unused"
	ruleLost       = "deviation-lost"
	ruleGone       = "baseline-gone"
)

// Unusable returns what is said of a layout whose standard has errors, which the
// first of them shows.
func Unusable(layout, first span.Span) finding.Finding {
	f := finding.Finding{Rule: ruleUnusable, Verdict: finding.Undecided, Level: finding.Warning, Span: layout,
		Message: "not judged: the standard that governs the layout has errors"}
	if first.Valid() {
		f.Message = "not judged: the standard that governs the layout has an error at " + where(first)
		f.Related = []finding.Related{{Span: first, Message: "the first error of the standard"}}
	}
	return f
}

// Changed returns what is said of a file of a standard that differs from the one
// of the revision by which layouts are judged. how says what became of it.
func Changed(at span.Span, path, how, revision string) finding.Finding {
	return finding.Finding{Rule: ruleChanged, Verdict: finding.Fail, Level: finding.Note, Span: at,
		Message: fmt.Sprintf("%s %s. Layouts are judged by what revision %s has", clip(path), how, quote(revision))}
}

// Problems describes every rule about standards, deviations and baselines that
// layouts do not have, sorted by identifier.
func Problems() []finding.Description {
	return []finding.Description{
		{
			ID: ruleGone, Level: finding.Note, Title: "line of the baseline that nothing matches",
			Full: "The baseline records a finding that its layout no longer has, or a layout that does not exist. The line would hide the finding if it came back.",
			Help: "Compared by layout, rule, object, other objects and cause; never by line or number. Only layouts that were checked are asked.",
		},
		{
			ID: ruleEnded, Level: finding.Warning, Title: "deviation that has ended",
			Full: "The last day of a deviation lies before the day of the run. The finding that it permitted is back with its own level.",
			Help: "The last day itself still counts. A deviation is approved anew by a person with a new day, not moved on by default (ISO 9000:2015, 3.12.4: a deviation permit is for a limited time).",
		},
		{
			ID: ruleSoon, Level: finding.Note, Title: "deviation that ends soon",
			Full: "A deviation that permits a finding ends within fourteen days.",
			Help: "Fourteen days: common practice.",
		},
		{
			ID: ruleLost, Level: finding.Warning, Title: "deviation for a layout that does not exist",
			Full: "A deviation names a layout that the root does not have, as after a rename.",
			Help: "Paths are relative to the folder of the file of deviations.",
		},
		{
			ID: ruleRepeated, Level: finding.Error, Title: "deviation that stands twice",
			Full: "Two deviations permit one finding of one object, so that nobody knows which day and which bound count.",
			Help: "Compared by layout, rule, object and cause. The first one is the related place.",
		},
		{
			ID: ruleUnused, Level: finding.Warning, Title: "deviation that permits nothing",
			Full: "The layout was judged and has no such finding. The deviation would hide it if it came back.",
			Help: "Only layouts that were checked are asked.",
		},
		{
			ID: ruleChanged, Level: finding.Note, Title: "standard, deviations or baseline that the change edits",
			Full: "The run takes the house standard, the deviations and the baseline from a revision, and the work tree has another version of one of their files. What the work tree says counts once it is part of that revision.",
			Help: "Whoever may change these files decides what every layout is judged by: let their owners approve the change. Files are compared byte by byte.",
		},
		{
			ID: ruleExpression, Level: finding.Error, Title: "house rule whose expression or message is wrong",
			Full: "An expression of a house rule names a quantity that does not exist, mixes units or types, compares computed numbers for equality, or gives no true or false; or a message has a placeholder that does not exist. The place inside the text is named.",
			Help: "Expressions are in the Common Expression Language (CEL, language definition of the cel-spec project) without its loops, with amount(\"5 mT\"), abs, min and max beside it. At most 2000 characters, 40 levels and 6 numbers an expression.",
		},
		{
			ID: ruleLooser, Level: finding.Error, Title: "setting that is looser than the one it replaces, without a reason",
			Full: "A standard sets a limit or a level that lets more pass than the default, the standard that it extends, or the setting for all layouts, and does not say why.",
			Help: "Tightening needs no reason. A preset that is extended after a file never loosens what that file sets. A class is held against the tightest setting of any path and of every class before it that may share a channel with it.",
		},
		{
			ID: ruleUnknown, Level: finding.Error, Title: "rule or limit that does not exist",
			Full: "A standard or a deviation names a rule that neither the program nor the standard has, or a limit that the rule does not have. The setting would have no effect.",
			Help: "The catalogue of rules lists every rule with the keys of its limits.",
		},
		{
			ID: ruleUnusable, Level: finding.Warning, Title: "layout that was not judged, for its standard has errors",
			Full: "The standard, the deviations or the baseline that govern a layout have errors, so that nobody knows its limits.",
			Help: "The errors stand among the findings, in the files of the standard. Mend them first.",
		},
		{
			ID: ruleVersion, Level: finding.Error, Title: "standard that needs another version of the program",
			Full: "A standard needs a newer version of the program than this one, or pins an edition of the rules that this program does not have. A version that cannot be compared is a note.",
			Help: "Versions are compared number by number.",
		},
	}
}
