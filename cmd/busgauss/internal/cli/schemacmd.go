package cli

import (
	"io"

	"github.com/spf13/cobra"

	"busgauss/model/word"
	"busgauss/rules/compare"
	"busgauss/rules/report/json"
	"busgauss/schema"
)

func newSchema(s *Streams) *cobra.Command {
	return &cobra.Command{
		Use:   "schema layout|standard|deviations|baseline|check|compare",
		Short: "print a published JSON Schema",
		Long: `Schema prints the JSON Schema of layout files ("layout"), of a house standard and the
files beside it ("standard", "deviations", "baseline"), or of the report that check --format
json ("check") or compare --format json ("compare") writes. Editors that know JSON Schema
complete and check files with the first four.`,
		Example:           "  busgauss schema layout > layout.schema.json",
		ValidArgs:         schemaNames,
		ValidArgsFunction: cobra.FixedCompletions(schemaNames, cobra.ShellCompDirectiveNoFileComp),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usage("schema: name one schema: %s", word.Or(schemaNames))
			}
			var text []byte
			switch args[0] {
			case "layout":
				text = schema.Layout
			case schema.Standard, schema.Deviations, schema.Baseline:
				text = schema.Of(args[0])
			case "check":
				text = json.Schema
			case "compare":
				text = compare.Schema
			default:
				return usage("schema %q is unknown%s; %s would do", args[0], didYouMean(args[0], schemaNames),
					word.Or(schemaNames))
			}
			return writeFile(s, "-", func(w io.Writer) error {
				_, err := w.Write(text)
				return err
			})
		},
	}
}

// schemaNames are the schemas that are printed.
var schemaNames = []string{"layout", schema.Standard, schema.Deviations, schema.Baseline, "check", "compare"}
