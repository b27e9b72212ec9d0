// Busgauss checks the layouts of coreless magnetic current sensors.
package main

import (
	"os"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"busgauss/cmd/busgauss/internal/cli"
)

func main() {
	cobra.MousetrapHelpText = "" // started by a double click, behave as in a terminal
	if os.Getenv("GOGC") == "" {
		// Collect early rather than grow. A limit would do so too until what lives passes it,
		// and from there on collect without end.
		debug.SetGCPercent(15)
	}
	// Never written to, so that it takes no memory: it counts as living, and a small heap is not collected all the time.
	ballast := make([]byte, 170<<20)
	status := cli.Main(os.Args[1:], cli.System())
	runtime.KeepAlive(ballast)
	os.Exit(status)
}
