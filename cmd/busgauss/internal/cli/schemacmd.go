package cli

import (
	"io"

	"github.com/spf13/cobra"

	"busgauss/rules/compare"
	"busgauss/rules/report/json"
	"busgauss/schema"
)

func newSchema(s *Streams) *cobra.Command {
	return &cobra.Command{
		Use:   "schema layout|check|compare",
		Short: "print a published JSON Schema",
		Long: `Schema prints the JSON Schema of layout files ("layout") or of the report that
check --format json ("check") or compare --format json ("compare") writes. Editors that
know JSON Schema complete and check layouts with the first.`,
		Example:           "  busgauss schema layout > layout.schema.json",
		ValidArgs:         []string{"layout", "check", "compare"},
		ValidArgsFunction: cobra.FixedCompletions([]string{"layout", "check", "compare"}, cobra.ShellCompDirectiveNoFileComp),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usage("schema: name one schema: layout, check or compare")
			}
			var text []byte
			switch args[0] {
			case "layout":
				text = schema.Layout
			case "check":
				text = json.Schema
			case "compare":
				text = compare.Schema
			default:
				return usage("schema %q is unknown; layout, check and compare exist", args[0])
			}
			return writeFile(s, "-", func(w io.Writer) error {
				_, err := w.Write(text)
				return err
			})
		},
	}
}
