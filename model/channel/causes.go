package channel

import "strings"

// across says how what moves a line of one channel moves that line of others.
type across uint8

const (
	// apart: each channel for itself. Parts of one kind, and boards that are placed one by one,
	// are not known to err alike; whoever sums channels takes the worst of their signs, which
	// holds what they have in common.
	apart across = iota
	// byField: one uniform field stands over all channels. Each reads it by its own response,
	// so that channels with parallel axes err alike and crossed ones do not.
	byField
)

// causes is the one place that says which lines of a budget move together: within a channel
// those of one cause, fully and with their signs (JCGM 100:2008, 5.2.2, note 1), and over
// channels as across says. A line that is not here stands
// alone.
var causes = []struct {
	line, cause string
	over        across
}{
	{"sensitivity over temperature", "temperature", apart},
	{"offset over temperature", "temperature", apart},
	{"supply", "supply", apart},
	{"converter reference", "reference", apart},
	{earthLine, "", byField},
	{uniformLine, "", byField},
	// The bench of each channel is its own: one may be calibrated facing north, the next west.
	{EarthAtCalibration, "", apart},
}

// Names of lines that causes speaks of, and beginnings of such.
const (
	placementLine = "placement "
	toleranceLine = "tolerance " // of a size or a material
	letIn         = "stray let in by "
	earthLine     = "Earth"
	uniformLine   = "declared uniform field"

	letInByTolerances = ", let in by tolerances" // behind the name of a uniform field
)

// causeOf returns what moves a line together with others of its channel; empty: nothing.
func causeOf(line string) string {
	for _, c := range causes {
		if line == c.line {
			return c.cause
		}
	}
	// What a tolerance of place of the sensor, a bar or a shield does to the own reading and lets
	// in of stray goes together; of a bar that stands beside several channels the signs are not
	// tracked over them.
	cause := strings.TrimPrefix(line, letIn)
	if strings.HasPrefix(cause, placementLine) || strings.HasPrefix(cause, toleranceLine) {
		return cause
	}
	return ""
}

// SharedField reports whether a line is what one uniform field does to every channel.
func SharedField(n *AccuracyLine) bool {
	for _, c := range causes {
		if c.over == byField && n.Name == c.line {
			return true
		}
	}
	return false
}

// componentCause is what moves the stray of all circuits in one component of a duty, whose
// phase against the moment of the reading is not known.
func componentCause(role string) string { return role + " of the duty" }
