//go:build !unix

package cli

import "os"

// terminalWidth returns 0: the width of the terminal is not asked for on this system.
func terminalWidth(*os.File) int { return 0 }
