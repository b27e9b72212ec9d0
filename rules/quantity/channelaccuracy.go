package quantity

import (
	"strings"

	"busgauss/model/bounded"
	channels "busgauss/model/channel"
	"busgauss/rules/enforce"
)

// accuracyQuantities are those of the uncertainty budget.
func accuracyQuantities() []definition[*channel] {
	return []definition[*channel]{
		number("accuracy", "1", "what the number may be off at full range after the declared calibration, k = 2, worst of continuous and peak duties (rule channel-accuracy)",
			func(c *channel) enforce.Value {
				return c.accuracyOver(func(a *channels.Accuracy, count lines) (channels.Outcome, float64) {
					return a.AtOf(a.FullA, a.Declared, count), a.FullA
				}, totalOf)
			}),
		number("accuracy_limit", "1", "the same with all bounds added: worst case instead of k = 2",
			func(c *channel) enforce.Value {
				return c.accuracyOver(func(a *channels.Accuracy, count lines) (channels.Outcome, float64) {
					return a.AtOf(a.FullA, a.Declared, count), a.FullA
				}, func(o channels.Outcome) float64 { return o.WorstA })
			}),
		number("accuracy_uncalibrated", "1", "accuracy without any calibration", func(c *channel) enforce.Value {
			return c.accuracyOver(func(a *channels.Accuracy, count lines) (channels.Outcome, float64) {
				return a.AtOf(a.FullA, channels.AfterNothing, count), a.FullA
			}, totalOf)
		}),
		number("accuracy_at_tenth", "1", "accuracy at a tenth of full range, as a share of that tenth",
			func(c *channel) enforce.Value {
				return c.accuracyOver(func(a *channels.Accuracy, count lines) (channels.Outcome, float64) {
					return a.AtOf(a.FullA/10, a.Declared, count), a.FullA / 10
				}, totalOf)
			}),
		number("zero_error", "A",
			"what the number may be off at no current of its own after the declared calibration, k = 2",
			func(c *channel) enforce.Value {
				return c.accuracyOver(func(a *channels.Accuracy, count lines) (channels.Outcome, float64) {
					return a.AtOf(0, a.Declared, count), 1
				}, totalOf)
			}),
		number("gain_error", "1",
			"the part of the accuracy that is a share of the own current, after the declared calibration, k = 2",
			func(c *channel) enforce.Value {
				return c.accuracyOver(func(a *channels.Accuracy, count lines) (channels.Outcome, float64) {
					return a.Gain().AtOf(1, a.Declared, count), 1
				}, totalOf)
			}),
	}
}

// lines says which lines of a budget count.
type lines func(*channels.AccuracyLine) bool

func totalOf(o channels.Outcome) float64 { return o.TotalA }

// budgets are the accuracies of a channel in every duty that counts.
type budgets struct {
	list []*channels.Accuracy
	err  error
}

func (c *channel) budgets() budgets {
	return once(c.Facts, "budgets of "+c.s.ID, func() budgets {
		list, _, err := channels.Accuracies(c.m, c.s)
		return budgets{list, err}
	})
}

// accuracyOver returns the largest of an outcome over something, over all duties.
// The doubts of the field model, which a finer field makes smaller, are the width
// of the bounds.
func (c *channel) accuracyOver(at func(*channels.Accuracy, lines) (o channels.Outcome, over float64),
	pick func(channels.Outcome) float64) enforce.Value {
	got := c.budgets()
	if got.err != nil {
		return undecided("%v", got.err)
	}
	var top largest
	for _, a := range got.list {
		o, over := at(a, func(*channels.AccuracyLine) bool { return true })
		if len(o.Missing) > 0 {
			return undecided("add %s", strings.Join(o.Missing, ", "))
		}
		e := bounded.Exact(pick(o) / over)
		sure, _ := at(a, func(n *channels.AccuracyLine) bool { return !n.Field })
		if v := pick(sure) / over; v < e.Low {
			e.Low = v
		}
		top.add(e, nil)
	}
	return top.value("no duty counts")
}
