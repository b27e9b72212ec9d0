package cli

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"busgauss/rules"
	"busgauss/schema/load"
)

func newRules(s *Streams) *cobra.Command {
	var ids []string
	for _, r := range rules.All() {
		ids = append(ids, r.ID)
	}
	for _, p := range load.Problems() {
		ids = append(ids, p.ID)
	}
	return &cobra.Command{
		Use:   "rules [RULE]",
		Short: "list the rules, or print one in full",
		Long: `Rules lists every rule with its level and what it reports. With the name of a rule
it prints quantity, formula, validity, source, limits and what the rule does not see.`,
		Example:           "  busgauss rules\n  busgauss rules stray-ratio",
		ValidArgsFunction: cobra.FixedCompletions(ids, cobra.ShellCompDirectiveNoFileComp),
		RunE: func(_ *cobra.Command, args []string) error {
			switch len(args) {
			case 0:
				return writeFile(s, "-", listRules)
			case 1:
				return oneRule(s, args[0], ids)
			}
			return usage("rules: name one rule, or none for the list")
		},
	}
}

func listRules(w io.Writer) error {
	var b strings.Builder
	b.WriteString("design rules\n")
	for _, r := range rules.All() {
		fmt.Fprintf(&b, "  %-16s %-8s %s\n", r.ID, r.Level, r.Title)
	}
	b.WriteString("a file that cannot be understood\n")
	for _, p := range load.Problems() {
		fmt.Fprintf(&b, "  %-16s %-8s %s\n", p.ID, p.Level, p.Title)
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
	for _, p := range load.Problems() {
		if p.ID == id {
			return writeFile(s, "-", func(w io.Writer) error {
				_, err := fmt.Fprintf(w, "%s (%s): %s\n\n%s\n\n%s\n", p.ID, p.Level, p.Title, p.Full, p.Help)
				return err
			})
		}
	}
	return usage("rule %q is unknown%s; busgauss rules lists them", id, didYouMean(id, ids))
}
