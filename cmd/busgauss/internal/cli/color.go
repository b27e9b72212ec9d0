package cli

import (
	"os"

	"github.com/mattn/go-isatty"
)

// isTerminal reports whether somebody looks at f. The null device and other devices are none.
func isTerminal(f *os.File) bool { return isatty.IsTerminal(f.Fd()) || isatty.IsCygwinTerminal(f.Fd()) }

// wantColor decides on colour for the terminal format: the option first, then
// NO_COLOR (no-color.org), FORCE_COLOR (force-color.org) and CLICOLOR_FORCE,
// TERM=dumb, and last whether the writer is a terminal.
func wantColor(option string, s *Streams) (bool, error) {
	switch option {
	case "always":
		return true, nil
	case "never":
		return false, nil
	case "auto":
	default:
		return false, usage("--color %q: auto, always or never would do", option)
	}
	force := s.Env("CLICOLOR_FORCE")
	switch {
	case s.Env("NO_COLOR") != "":
		return false, nil
	case s.Env("FORCE_COLOR") != "", force != "" && force != "0":
		return true, nil
	case s.Env("TERM") == "dumb":
		return false, nil
	}
	return s.OutIsTerminal, nil
}
