package cli

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// noCommand explains what is wrong with a call that names no command.
func noCommand(s *Streams, root *cobra.Command, args []string) error {
	if len(args) == 0 {
		return usage("say what to do: check, compare, field, coupling, report, standard, baseline, rules or schema (busgauss --help explains)")
	}
	name := args[0]
	if _, err := os.Stat(resolve(s.Dir, name)); err == nil || layoutName(name) {
		return usage("%q is no command; did you mean busgauss check %s?", name, name)
	}
	return usage("command %q is unknown%s; busgauss --help lists them", name, didYouMean(name, commandNames(root)))
}

func commandNames(root *cobra.Command) []string {
	var names []string
	for _, c := range root.Commands() {
		if c.IsAvailableCommand() {
			names = append(names, c.Name())
		}
	}
	return names
}

// newHelp replaces the library's help command, which answers an unknown topic
// with the wrong page and status 0.
func newHelp(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "explain a command",
		RunE: func(_ *cobra.Command, args []string) error {
			c, rest, err := root.Find(args)
			if err != nil || len(rest) > 0 {
				return usage("command %q is unknown%s; busgauss --help lists them",
					strings.Join(args, " "), didYouMean(args[0], commandNames(root)))
			}
			c.InitDefaultHelpFlag()
			return c.Help()
		},
	}
}

// flagError names the nearest option when one is unknown.
func flagError(c *cobra.Command, err error) error {
	hint := ""
	var unknown *pflag.NotExistError
	if errors.As(err, &unknown) {
		var names []string
		c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, "--"+f.Name) })
		hint = didYouMean("--"+unknown.GetSpecifiedName(), names)
	}
	return usage("%v%s; %s --help lists the options", err, hint, c.CommandPath())
}

// didYouMean returns the one of words that is nearest to word as a question in
// brackets, or nothing when none is near: a word that begins as
// word does, else the one with the fewest letters changed, put in or left out,
// two at most and fewer than half of them.
func didYouMean(word string, words []string) string {
	best, least := "", min(3, (len(word)+1)/2)
	for _, w := range words {
		if len(strings.Trim(word, "-")) > 1 && strings.HasPrefix(w, word) {
			best = w
			break
		}
		if d := distance(word, w); d < least {
			best, least = w, d
		}
	}
	if best == "" {
		return ""
	}
	return fmt.Sprintf(" (did you mean %q?)", best)
}

// distance counts the bytes to change, put in or leave out to turn a into b,
// after V. I. Levenshtein, Binary codes capable of correcting deletions,
// insertions and reversals, 1966.
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, diagonal+1, row[j]+1)
		}
	}
	return row[len(b)]
}
