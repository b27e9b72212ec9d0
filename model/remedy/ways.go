package remedy

import (
	"iter"
	"strings"

	"busgauss/model/probe"
)

// Offer is one change of a layout, or several together, that reaches a goal.
type Offer struct {
	Title  string       // "move SV from 5.0 to 2.1 mm above V"
	Effect string       // "9.95 % → 4.73 %; output rises 30.6 %"
	Model  *probe.Model // of the changed layout
	cost   float64
}

// Ways are what may be done about one finding.
type Ways struct {
	// Offers are the changes found, the smallest first, each searched when it is asked for; nil: none.
	Offers iter.Seq[Offer]
	// Several says that the offers are of different kinds, so that all that hold are worth saying.
	Several bool
	// Pairs are two changes at once, for where none of Offers holds; nil: none.
	Pairs iter.Seq[Offer]
	// Nearest says, when the others were looked at, how near to the goal they come; nil or empty: nothing.
	Nearest func() string
	// Wide is a change that touches more than the object of the finding and may serve others too; nil: none.
	Wide func() (Offer, bool)
	// None is said where no offer holds, Also behind either: a way out that no edit of the layout is.
	None, Also string
}

// Line returns what a finding says: offer where it is not nil, else None.
func (w *Ways) Line(offer *Offer) string {
	first := w.None
	if offer != nil {
		first = offer.Line()
	}
	switch {
	case w.Also == "":
		return first
	case first == "":
		return w.Also
	case offer == nil && strings.HasPrefix(first, "no "):
		return w.Also + "; " + first
	}
	return first + "; or " + w.Also
}

// Then returns ways that offer what next offers when w has nothing more.
func (w Ways) Then(next Ways) Ways {
	first, second := w.Offers, next.Offers
	next.Offers = func(yield func(Offer) bool) {
		for _, list := range []iter.Seq[Offer]{first, second} {
			if list == nil {
				continue
			}
			for o := range list {
				if !yield(o) {
					return
				}
			}
		}
	}
	return next
}

// Saying returns the offers of w with the words, the pairs and all else of another.
func (w Ways) Saying(other Ways) Ways {
	other.Offers = w.Offers
	return other
}

// Line returns the offer as one line.
func (o *Offer) Line() string {
	switch {
	case o.Effect == "":
		return o.Title
	case strings.HasPrefix(o.Effect, "; "): // side effects alone
		return o.Title + o.Effect
	}
	return o.Title + ": " + o.Effect
}

// Words are ways that are no change of the layout.
func Words(text string) Ways { return Ways{Also: text} }
