package sarif

import (
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// undecidedID is the rule under which undecided verdicts are written.
//
// The standard has a kind for them, "open", whose level must be "none". Hosts
// ignore the kind and pass over the level "none", so nobody would see that a
// check could not decide, and nobody must take that for a pass. They are
// therefore written as failures of a rule of their own that asks for a
// decision; the rule that could not decide stands in the message and in the
// properties.
const undecidedID = "undecided"

// The longest texts that hosts take, in code points.
const (
	maxDescription = 1024
	maxName        = 255
)

// catalogue is the list of rules in a file and where each stands in it.
type catalogue struct {
	rules []reportingDescriptor
	index map[string]int
}

// Undecided describes the rule under which undecided verdicts are written.
func Undecided() finding.Description {
	return finding.Description{
		ID:    undecidedID,
		Title: "a rule could not decide",
		Full: "A quantity could not be computed with enough certainty, or the layout lies outside the validity of the method. " +
			"An undecided check is not a passed one.",
		Help: "The message names the rule that could not decide and says why. Change the layout so that the rule applies, " +
			"move the value away from its limit, or have the quantity determined by other means.",
		Level: finding.Warning,
		Page:  "rules/problems.md#" + undecidedID,
	}
}

// newCatalogue describes every enabled rule, fired or not, in the order of
// their identifiers, and the rule of undecided verdicts.
func newCatalogue(described []finding.Description, fired []finding.Finding, home string) catalogue {
	all := append([]finding.Description{Undecided()}, described...)
	failed := make([]finding.Finding, 0, len(fired))
	for i := range fired {
		if fired[i].Verdict == finding.Fail {
			failed = append(failed, fired[i])
		}
	}
	return ordered(all, failed, home)
}

// ordered lists rules in the order of their identifiers. A rule that a finding
// names and nobody described is listed under its identifier, because a result
// without a rule is refused by hosts.
func ordered(described []finding.Description, fired []finding.Finding, home string) catalogue {
	all := append([]finding.Description(nil), described...)
	known := make(map[string]bool, len(all))
	for i := range all {
		known[all[i].ID] = true
	}
	for i := range fired {
		if id := fired[i].Rule; !known[id] {
			known[id] = true
			all = append(all, finding.Description{ID: id, Title: strings.ReplaceAll(id, "-", " "), Level: fired[i].Level})
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].ID < all[j].ID })
	c := catalogue{rules: []reportingDescriptor{}, index: make(map[string]int, len(all))}
	for _, d := range all {
		if _, double := c.index[d.ID]; double {
			continue
		}
		c.index[d.ID] = len(c.rules)
		c.rules = append(c.rules, describe(d, home))
	}
	return c
}

// describe turns d into a descriptor in which every text that hosts ask for is
// filled, from the next shorter one where it was empty. home is the address of the repository that holds the page on d; without
// one nothing is said of the page.
func describe(d finding.Description, home string) reportingDescriptor {
	title := firstOf(d.Title, d.ID)
	full := firstOf(d.Full, title)
	help := firstOf(d.Help, full)
	page := ""
	if d.Page != "" && home != "" {
		page = strings.TrimSuffix(home, "/") + "/" + d.Page
	}
	return reportingDescriptor{
		ID:                   d.ID,
		HelpURI:              page,
		Name:                 pascal(d.ID),
		ShortDescription:     text{Text: report.Shorten(finding.Clean(sentence(title)), maxDescription)},
		FullDescription:      text{Text: report.Shorten(finding.Clean(sentence(full)), maxDescription)},
		Help:                 text{Text: cleanLines(help), Markdown: markdown(title, d.Full, d.Help)},
		DefaultConfiguration: configuration{Level: d.Level.String()},
	}
}

// markdown sets the help of a rule as a title, a paragraph and a block of plain
// text, for the help is laid out in columns; an empty part is left out. The
// fence is longer than any run of backquotes inside, so that text cannot leave
// it.
func markdown(title, full, help string) string {
	out := "**" + literal(sentence(title)) + "**\n"
	if full != "" {
		out += "\n" + literal(sentence(full)) + "\n"
	}
	if help == "" {
		return out
	}
	help = cleanLines(help)
	fence := "```"
	for strings.Contains(help, fence) {
		fence += "`"
	}
	return out + "\n" + fence + "text\n" + help + "\n" + fence + "\n"
}

// literal escapes what Markdown would take for markup: any punctuation may be
// escaped (CommonMark 0.31, section 2.4).
func literal(s string) string {
	var out strings.Builder
	for _, c := range finding.Clean(s) {
		if strings.ContainsRune("\\`*_{}[]<>#|~!&$@", c) {
			out.WriteByte('\\')
		}
		out.WriteRune(c)
	}
	return out.String()
}

// cleanLines cleans text that has lines of its own.
func cleanLines(s string) string {
	lines := strings.Split(strings.TrimRight(s, "\n"), "\n")
	for i, line := range lines {
		lines[i] = finding.Clean(strings.ReplaceAll(line, "\t", "    "))
	}
	return strings.Join(lines, "\n")
}

// pascal turns "stray-ratio" into "StrayRatio", a name in the form readers know.
// Where that is the identifier again but for its first letter there is no name:
// section 3.49.7 wants one only beside an opaque identifier.
func pascal(id string) string {
	var out strings.Builder
	for _, word := range strings.FieldsFunc(id, func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsDigit(c) }) {
		first, size := utf8.DecodeRuneInString(word)
		out.WriteRune(unicode.ToUpper(first))
		out.WriteString(word[size:])
	}
	if strings.EqualFold(out.String(), id) || utf8.RuneCountInString(out.String()) > maxName {
		return ""
	}
	return out.String()
}

func firstOf(s, otherwise string) string {
	if strings.TrimSpace(s) == "" {
		return otherwise
	}
	return s
}
