package text

import (
	"github.com/fatih/color"

	"busgauss/model/finding"
)

// style holds the colours of one report. Each object is switched on or off by
// itself: the library's global switch looks at the standard output and at the
// environment, whatever writer is in use.
type style struct {
	path, bad, doubt, hint, good, plain *color.Color
}

func newStyle(on bool) style {
	paint := func(attributes ...color.Attribute) *color.Color {
		c := color.New(attributes...)
		if on && len(attributes) > 0 {
			c.EnableColor()
		} else {
			c.DisableColor()
		}
		return c
	}
	return style{
		path:  paint(color.Bold),
		bad:   paint(color.FgRed, color.Bold),
		doubt: paint(color.FgYellow, color.Bold),
		hint:  paint(color.FgCyan),
		good:  paint(color.FgGreen),
		plain: paint(),
	}
}

func (s style) level(l finding.Level) *color.Color {
	switch l {
	case finding.Error:
		return s.bad
	case finding.Warning:
		return s.doubt
	case finding.Note:
		return s.hint
	}
	return s.plain
}

func (s style) verdict(v finding.Verdict) *color.Color {
	switch v {
	case finding.Pass:
		return s.good
	case finding.Undecided:
		return s.doubt
	}
	return s.plain
}
