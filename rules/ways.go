package rules

import (
	"fmt"
	"slices"

	"busgauss/model/channel"
	"busgauss/model/layout"
	"busgauss/model/remedy"
	"busgauss/rules/engine"
)

// way is one way out of a finding, in words, and where edits of the layout are that way, what they make
// of it; the words are empty where the way does not lead out.
type way struct {
	text string
	edit func(*layout.Layout) *layout.Layout
}

// texts returns the words of ways.
func texts(list ...way) []string {
	var out []string
	for _, w := range list {
		out = append(out, w.text)
	}
	return out
}

// waysOut offers those of a list that are edits, in its order, and says the others behind them; none where
// the list is empty.
func waysOut(run *engine.Run, none string, list ...way) remedy.Ways {
	list = slices.DeleteFunc(list, func(w way) bool { return w.text == "" })
	out := remedy.Ways{None: none}
	if len(list) > 0 {
		out.None = ""
	}
	var offers []remedy.Offer
	var words []string
	for _, w := range list {
		if w.edit == nil {
			words = append(words, w.text)
			continue
		}
		offers = append(offers, remedy.Offer{Title: w.text, Model: run.Model.With(w.edit(run.Layout))})
	}
	out.Also = orWay(words...)
	if len(offers) > 0 {
		out.Offers, out.Several = slices.Values(offers), true
		if out.Also == "" {
			out.None = noEdit
		}
	}
	return out
}

// noEdit is said where edits would pass their own rule alone.
const noEdit = "no single change passes"

// stagesAs returns the edit that gives the readout of s, and with it all channels that share a stage, what
// change makes of it; the firmware follows the chain y where it is not nil.
func stagesAs(s *layout.Sensor, y *channel.Sensed, change func(*layout.Stages)) func(*layout.Layout) *layout.Layout {
	return func(l *layout.Layout) *layout.Layout {
		return l.WithStages(s, func(r *layout.Stages) {
			change(r)
			follow(r, y)
		})
	}
}

// follow sets the conversion of the firmware to that of a chain.
func follow(r *layout.Stages, y *channel.Sensed) {
	if y == nil || y.Chain.Firmware == nil || !r.Firmware.SlopeAPerCount.Set {
		return
	}
	r.Firmware.SlopeAPerCount.V = y.Chain.Firmware.SlopeAPerCount
	if r.Firmware.ZeroCounts.Set {
		r.Firmware.ZeroCounts.V = y.Chain.Firmware.ZeroCounts
	}
}

// partAs returns the edit that gives the part of s, and with it all sensors of that part, what change makes of
// it; the firmware of s follows the chain y where it is not nil.
func partAs(s *layout.Sensor, y *channel.Sensed, change func(*layout.Part)) func(*layout.Layout) *layout.Layout {
	return func(l *layout.Layout) *layout.Layout {
		out := *l
		out.Parts = slices.Clone(l.Parts)
		change(&out.Parts[s.Part])
		return out.WithStages(s, func(r *layout.Stages) { follow(r, y) })
	}
}

// otherParts are the ways to give sensor i another part that the layout declares.
func otherParts(run *engine.Run, i layout.SensorIndex) []way {
	s := run.Layout.Sensors[i]
	if s.Part == layout.None {
		return nil
	}
	var out []way
	for p := range run.Layout.Parts {
		if layout.PartIndex(p) == s.Part {
			continue
		}
		t := s
		t.Part = layout.PartIndex(p)
		out = append(out, way{fmt.Sprintf("part %s for %s instead of %s", run.Layout.Parts[p].ID, s.ID, run.Layout.Parts[s.Part].ID),
			func(l *layout.Layout) *layout.Layout { return l.WithSensor(i, t) }})
	}
	return out
}
