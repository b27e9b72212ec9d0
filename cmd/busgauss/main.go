// Busgauss checks the layouts of coreless magnetic current sensors.
package main

import (
	"os"

	"github.com/spf13/cobra"

	"busgauss/cmd/busgauss/internal/cli"
)

func main() {
	cobra.MousetrapHelpText = "" // a build job on Windows is no double click
	os.Exit(cli.Main(os.Args[1:], cli.System()))
}
