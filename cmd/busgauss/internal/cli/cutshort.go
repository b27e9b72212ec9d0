package cli

import (
	"errors"
	"fmt"
	"strings"

	"busgauss/rules/report"
)

// errCut says that an interrupt came first.
var errCut = errors.New("not checked before the interrupt")

// interrupt is an interrupt with a word on what came of the work.
type interrupt struct{ what string }

func (i *interrupt) Error() string { return i.what }

// cutShort prints on standard output, after an interrupt, what was found in the layouts that were done. The reports of
// --output are left as they were: whoever finds one there takes it for whole. The error that it returns says so, and
// names what was not checked.
func (o *checkOptions) cutShort(s *Streams, w *wanted, g *given, outcomes []outcome, err error) error {
	var i *interrupt
	if !errors.As(err, &i) {
		return err // nothing was done
	}
	said := *i
	inputs, left := cutOut(g.inputs, outcomes)
	given := *g
	given.inputs = inputs
	v := o.verdicts(&given, outcomes)
	if len(left) > 0 {
		said.what += "; not checked: " + someOf(left)
	}
	if len(w.targets) > 0 {
		said.what += "; no report of --output is written"
	}
	if err := writeReports(s, o, nil, v.result, w.level, statusInterrupted, w.color); err != nil {
		return &failure{statusTrouble, err}
	}
	return &said
}

// cutOut returns the inputs with those that an interrupt left out as ones that could not be read, and the paths of these.
func cutOut(inputs []input, outcomes []outcome) (out []input, left []string) {
	out = append(out, inputs...)
	for i := range out {
		if outcomes[i].cut && out[i].err == nil {
			out[i].err = errCut
			left = append(left, out[i].Path)
		}
	}
	return out, left
}

// someOf names the first of many.
func someOf(names []string) string {
	const most = 8
	shown := names[:min(most, len(names))]
	text := strings.Join(shown, ", ")
	if more := len(names) - len(shown); more > 0 {
		text += " and " + report.Count(more, "other")
	}
	return text
}

// tellCut names what was not checked where an interrupt comes from outside of a run over layouts.
func tellCut(done, all int, noun, verb string) *interrupt {
	return &interrupt{fmt.Sprintf("%d of %s %s", done, report.Count(all, noun), verb)}
}
