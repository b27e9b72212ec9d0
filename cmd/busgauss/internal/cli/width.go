package cli

import "strconv"

// usualWidth is that of a terminal that does not say its own.
const usualWidth = 80

// columnsOf returns how many columns the terminal has that text is shown on, 0 where it goes to a file, a pipe or a
// log. Build hosts that set CI may lend a terminal, and read what is printed line by line all the same.
func columnsOf(s *Streams) int {
	if !s.OutIsTerminal || s.Env("TERM") == "dumb" || s.Env("CI") != "" {
		return 0
	}
	if n, err := strconv.Atoi(s.Env("COLUMNS")); err == nil && n > 0 {
		return n
	}
	if s.OutWidth > 0 {
		return s.OutWidth
	}
	return usualWidth
}
