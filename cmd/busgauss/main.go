// Busgauss checks the layouts of coreless magnetic current sensors.
package main

import (
	"os"
	"runtime/debug"

	"github.com/spf13/cobra"

	"busgauss/cmd/busgauss/internal/cli"
)

func main() {
	cobra.MousetrapHelpText = "" // started by a double click, behave as in a terminal
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(400 << 20) // collect rather than grow; larger layouts may still pass it
	}
	os.Exit(cli.Main(os.Args[1:], cli.System()))
}
