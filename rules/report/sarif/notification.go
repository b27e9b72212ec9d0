package sarif

import (
	"fmt"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// Where the kinds of notification stand in the list of the driver.
const (
	assumedIndex = iota
	leftOutIndex
)

// notificationKinds describes what a run may have to say of itself.
func notificationKinds() []notificationDescriptor {
	return []notificationDescriptor{
		assumedIndex: {
			ID: "assumed-default", Name: "AssumedDefault",
			ShortDescription: text{Text: "A layout left a value open."},
			FullDescription:  text{Text: "A layout left a value open, so a default was taken; the results rest on it."},
			Help:             text{Text: "Write the value into the layout at the place named."},
		},
		leftOutIndex: {
			ID: "results-left-out", Name: "ResultsLeftOut",
			ShortDescription: text{Text: "There were more results than hosts show."},
			FullDescription:  text{Text: "There were more results than hosts show of one run; the most severe ones were written."},
			Help:             text{Text: "Mend the results listed, or check fewer layouts in one run."},
		},
	}
}

// notifications lists the assumed defaults and says how many results had to
// stay out.
func notifications(r *report.Result, files *files, leftOut int) []notification {
	kinds := notificationKinds()
	var out []notification
	add := func(kind int, level finding.Level, message string) *notification {
		out = append(out, notification{
			Descriptor: descriptorReference{ID: kinds[kind].ID, Index: kind},
			Level:      level.String(),
			Message:    text{Text: escaped(sentence(message), maxMessage)},
		})
		return &out[len(out)-1]
	}
	if leftOut > 0 {
		add(leftOutIndex, finding.Warning,
			fmt.Sprintf("%d of %d results were left out; the %d most severe are listed", leftOut, len(r.Findings), maxResults))
	}
	for _, a := range r.Assumed {
		message := "assumed: " + a.Text
		if a.Object != "" {
			message = "assumed for " + a.Object + ": " + a.Text
		}
		add(assumedIndex, finding.Note, message).Locations = []location{files.location(a.Span)}
	}
	return out
}
