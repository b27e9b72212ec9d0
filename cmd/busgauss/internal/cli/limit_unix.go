//go:build unix

package cli

import (
	"os/signal"
	"syscall"
)

// ignoreFileLimit makes a file that grows beyond what the system allows an error of the write, which is reported,
// rather than the end of the program.
func ignoreFileLimit() { signal.Ignore(syscall.SIGXFSZ) }
