package cli

import (
	"io"

	"github.com/spf13/cobra"

	"busgauss/rules/report/json"
	"busgauss/schema"
)

func newSchema(s *Streams) *cobra.Command {
	return &cobra.Command{
		Use:   "schema layout|check",
		Short: "print a published JSON Schema",
		Long: `Schema prints the JSON Schema of layout files ("layout") or of the report that
check --format json writes ("check"). Editors that know JSON Schema complete and
check layouts with the first.`,
		Example:           "  busgauss schema layout > layout.schema.json",
		ValidArgs:         []string{"layout", "check"},
		ValidArgsFunction: cobra.FixedCompletions([]string{"layout", "check"}, cobra.ShellCompDirectiveNoFileComp),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usage("schema: name one schema: layout or check")
			}
			var text []byte
			switch args[0] {
			case "layout":
				text = schema.Layout
			case "check":
				text = json.Schema
			default:
				return usage("schema %q is unknown; layout and check exist", args[0])
			}
			return writeFile(s, "-", func(w io.Writer) error {
				_, err := w.Write(text)
				return err
			})
		},
	}
}
