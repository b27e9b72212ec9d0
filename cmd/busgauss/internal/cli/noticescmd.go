package cli

import (
	"io"

	"github.com/spf13/cobra"

	"busgauss/cmd/busgauss/internal/notices"
)

func newNotices(s *Streams) *cobra.Command {
	return &cobra.Command{
		Use:   "notices",
		Short: "print the licences of what this program is linked from",
		Long: `Notices prints the names of the works that this program is linked from, with the licences
that ask to be passed on with it.`,
		Example:           "  busgauss notices",
		ValidArgsFunction: cobra.NoFileCompletions,
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usage("notices: it takes no argument")
			}
			return writeFile(s, "-", func(w io.Writer) error {
				_, err := io.WriteString(w, notices.Text)
				return err
			})
		},
	}
}
