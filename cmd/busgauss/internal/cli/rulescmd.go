package cli

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/enforce"
	"busgauss/rules/engine"
	"busgauss/schema/load"
	"busgauss/schema/policyfile"
)

func newRules(s *Streams) *cobra.Command {
	var ids []string
	for _, r := range rules.All() {
		ids = append(ids, r.ID)
	}
	for _, p := range fileProblems() {
		ids = append(ids, p.ID)
	}
	var quantities bool
	var format string
	c := &cobra.Command{
		Use:   "rules [RULE]",
		Short: "list the rules, or print one in full",
		Long: `Rules lists every rule with its level and what it reports. With the name of a rule
it prints quantity, formula, validity, source, limits and what the rule does not see.
With --quantities it lists what house rules may speak of, with unit and meaning. As JSON, a
rule has its limits in SI units and the page that explains it.`,
		Example:           "  busgauss rules\n  busgauss rules stray-ratio\n  busgauss rules --format json\n  busgauss rules --quantities",
		ValidArgsFunction: cobra.FixedCompletions(ids, cobra.ShellCompDirectiveNoFileComp),
		RunE: func(c *cobra.Command, args []string) error {
			switch {
			case quantities && len(args) > 0:
				return usage("rules: --quantities stands alone")
			case !slices.Contains(tableFormats, format):
				return unknownFormat("--format", format, tableFormats)
			case quantities:
				return writeFile(s, "-", func(w io.Writer) error { return listQuantities(w, format) })
			}
			if len(args) < 2 && format == "json" {
				return rulesAsJSON(s, args, ids)
			}
			switch len(args) {
			case 0:
				return writeFile(s, "-", listRules)
			case 1:
				return oneRule(s, args[0], ids)
			}
			return usage("rules: name one rule, or none for the list")
		},
	}
	c.Flags().BoolVar(&quantities, "quantities", false, "list the quantities of house rules")
	c.Flags().StringVarP(&format, "format", "f", "text", "`FORMAT`: text, json")
	complete(c, "format", tableFormats)
	return c
}

// fileProblems describes what may be wrong with files: layouts first.
func fileProblems() []finding.Description {
	return paged(append(append(load.Problems(), policyfile.Problems()...), enforce.Problems()...))
}

func listRules(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "design rules, edition %d\n", engine.Edition(rules.All()))
	for _, r := range rules.All() {
		fmt.Fprintf(&b, "  %-16s %-8s %s\n", r.ID, r.Level, r.Title)
	}
	b.WriteString("a file that cannot be understood\n")
	for _, p := range load.Problems() {
		fmt.Fprintf(&b, "  %-16s %-8s %s\n", p.ID, p.Level, p.Title)
	}
	b.WriteString("a house standard, its deviations and its baseline\n")
	for _, p := range fileProblems()[len(load.Problems()):] {
		fmt.Fprintf(&b, "  %-20s %-8s %s\n", p.ID, p.Level, p.Title)
	}
	b.WriteString("busgauss rules RULE prints one in full\n")
	_, err := io.WriteString(w, b.String())
	return err
}

func oneRule(s *Streams, id string, ids []string) error {
	for _, r := range rules.All() {
		if r.ID == id {
			return writeFile(s, "-", func(w io.Writer) error {
				_, err := fmt.Fprintf(w, "%s (%s): %s\n\n%s\n", r.ID, r.Level, r.Title, rules.HelpOf(r.ID))
				return err
			})
		}
	}
	for _, p := range fileProblems() {
		if p.ID == id {
			return writeFile(s, "-", func(w io.Writer) error {
				_, err := fmt.Fprintf(w, "%s (%s): %s\n\n%s\n\n%s\n", p.ID, p.Level, p.Title, p.Full, p.Help)
				return err
			})
		}
	}
	return unknownRule(id, ids)
}

func unknownRule(id string, ids []string) error {
	return usage("rule %q is unknown%s; busgauss rules lists them", id, didYouMean(id, ids))
}
