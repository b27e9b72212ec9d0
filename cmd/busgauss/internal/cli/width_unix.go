//go:build unix

package cli

import (
	"os"

	"golang.org/x/sys/unix"
)

// terminalWidth returns how many columns the terminal f has, 0 where it is none.
func terminalWidth(f *os.File) int {
	size, err := unix.IoctlGetWinsize(int(f.Fd()), unix.TIOCGWINSZ)
	if err != nil {
		return 0
	}
	return int(size.Col)
}
