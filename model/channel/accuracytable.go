package channel

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"busgauss/model/portable"
	"busgauss/model/si"
	"busgauss/model/uncertainty"
)

// Table returns the budget as lines of text: the ranked contributors at full range
// after the declared calibration, what is left of each line after every kind, and
// the accuracy at each level.
func (a *Accuracy) Table(smallestA float64) []string {
	var out []string
	levels := a.Levels(smallestA)
	head := fmt.Sprintf("budget of channel %q at %s (full range)", a.Sensor, si.Format(a.FullA, "A"))
	if a.Duty != "" {
		head += fmt.Sprintf(", other bars as in duty %q", a.Duty)
	}
	out = append(out, fmt.Sprintf("%s, %s; amounts are k = %d times the standard uncertainty, known errors as they are", head, a.Declared, coverage))
	now := a.At(a.FullA, a.Declared)
	out = append(out, a.ranked(now)...)
	if len(now.Missing) > 0 {
		out = append(out, "not known: "+strings.Join(now.Missing, ", "))
	}
	rows := [][]string{{"line", "before", "zero", "one-point", "two-point", "matrix 0 Hz", "matrix at " + hertz(a.FreqHz)}}
	leastA, small := shown*now.AtLeastA, 0
	for i := range a.Lines {
		row, largestA := []string{a.Lines[i].Name}, 0.0
		for _, after := range Afters() {
			amountA, known := a.leftA(&a.Lines[i], after)
			row = append(row, leftWords(amountA, known))
			if largestA = math.Max(largestA, math.Abs(amountA)); !known {
				largestA = math.Inf(1)
			}
		}
		if largestA < leastA {
			small++
			continue
		}
		rows = append(rows, row)
	}
	out = append(out, "what each calibration leaves of each line at full range, as such amounts")
	out = append(out, withSmall(aligned(rows), small, leastA)...)
	rows = [][]string{{"at", "of", "after", "known", "expanded", "total", "of reading", "worst case"}}
	for _, level := range levels {
		for _, after := range Afters() {
			o := a.At(level.CurrentA, after)
			row := []string{si.Format(level.CurrentA, "A"), level.Name, after.String()}
			if len(o.Missing) > 0 {
				row = append(row, "", "", "over "+si.Format(o.AtLeastA, "A"), "over "+si.Percent(o.AtLeastA/level.CurrentA), "not known")
			} else {
				row = append(row, si.Format(o.KnownA, "A"), si.Format(o.ExpandedA, "A"), si.Format(o.TotalA, "A"),
					si.Percent(o.TotalA/level.CurrentA), si.Format(o.WorstA, "A"))
			}
			rows = append(rows, row)
		}
	}
	out = append(out, "accuracy of the channel")
	return append(out, aligned(rows)...)
}

// shown is the share of the total below which a line is counted and not printed.
const shown = 1e-3

// withSmall adds how many lines are not printed.
func withSmall(lines []string, small int, leastA float64) []string {
	if small == 0 {
		return lines
	}
	return append(lines, fmt.Sprintf("  and %d more below %s each", small, si.Format(leastA, "A")))
}

// ranked lists contributors, and below one of several lines its lines.
func (a *Accuracy) ranked(o Outcome) []string {
	rows := [][]string{{"amount", "worst case", "variance", "line", "half width", "distribution", "per unit", "cause"}}
	leastA, small := shown*o.AtLeastA, 0
	for _, c := range o.Ranked {
		if math.Abs(c.AmountA) < leastA {
			if c.AmountA != 0 {
				small++
			}
			continue
		}
		row := []string{si.Format(c.AmountA, "A"), si.Format(c.WorstA, "A"), si.Percent(c.Share)}
		if c.Known {
			row[2] = "-"
		}
		if len(c.Lines) == 1 {
			rows = append(rows, append(row, a.details(c.Lines[0], o)...))
			continue
		}
		rows = append(rows, append(row, c.Name+", together", "", "", "", ""))
		for _, i := range c.Lines {
			rows = append(rows, append([]string{"", "", ""}, a.details(i, o)...))
		}
	}
	return withSmall(aligned(rows), small, leastA)
}

// details returns the input of a line as it goes into an outcome.
func (a *Accuracy) details(i int, o Outcome) []string {
	n := &a.Lines[i]
	per := n.perUnit(o.CurrentA, o.After, 1)
	shape := n.Spread.Shape.String()
	if n.Known {
		shape = "known"
	}
	coefficient := si.Format(per, "A")
	switch n.Unit {
	case "A":
		coefficient = si.Format(per, "1") + " A/A"
	case "1":
		coefficient = si.Format(per/100, "A") + "/%"
	case "rad":
		coefficient = si.Format(per*math.Pi/180, "A") + "/deg"
	case "m":
		coefficient = si.Format(per*1e-3, "A") + "/mm"
	case "T":
		coefficient = si.Format(per*1e-3, "A") + "/mT"
	case "V":
		coefficient = si.Format(per*1e-3, "A") + "/mV"
	default:
		coefficient += "/" + n.Unit
	}
	half := n.Spread.Half
	if n.Spread.Shape == uncertainty.Normal {
		half = n.Spread.StandardUncertainty()
		shape = "normal, 1 sigma"
	}
	width := si.Format(half, n.Unit)
	switch n.Unit {
	case "1":
		width = si.Percent(half)
	case "count":
		width = si.Format(half, "1") + " count"
	}
	return []string{n.Name, width, shape, coefficient, n.Cause}
}

// leftA returns what a calibration leaves of a line at full range; false where that is
// not known.
func (a *Accuracy) leftA(n *AccuracyLine, after After) (amountA float64, known bool) {
	c := n.perUnit(a.FullA, after, 1)
	switch {
	case c == 0 && n.LeftQuad[after] == 0:
		return 0, true
	case len(n.Missing) > 0 || math.IsNaN(c) || math.IsNaN(n.Spread.Half):
		return 0, false
	case n.Known:
		e := n.errorA(a.FullA, after, 1)
		if imag(e) == 0 {
			return real(e), true
		}
		return math.Copysign(portable.Abs(e), real(e)), true
	}
	return coverage * math.Abs(c) * n.Spread.StandardUncertainty(), true
}

func leftWords(amountA float64, known bool) string {
	switch {
	case !known:
		return "not known"
	case amountA == 0:
		return "-"
	}
	return si.Format(amountA, "A")
}

// aligned sets rows in columns two blanks apart, indented by two.
func aligned(rows [][]string) []string {
	var widths []int
	for _, row := range rows {
		for k, cell := range row {
			if k == len(widths) {
				widths = append(widths, 0)
			}
			widths[k] = max(widths[k], utf8.RuneCountInString(cell))
		}
	}
	var out []string
	for _, row := range rows {
		var b strings.Builder
		for k, cell := range row {
			b.WriteString("  " + cell + strings.Repeat(" ", widths[k]-utf8.RuneCountInString(cell)))
		}
		out = append(out, strings.TrimRight(b.String(), " "))
	}
	return out
}
