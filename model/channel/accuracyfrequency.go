package channel

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/uncertainty"
)

// frequency adds the change of the amplitude between the frequency of calibration
// and that of use, by bar, shield, part, filter and window of the converter: known,
// and its certainty.
func (b *accuracyBuilder) frequency() error {
	if !(b.out.FreqHz > 0) && !(b.setup.FreqHz > 0) {
		return nil
	}
	use, open, err := b.amplitude(b.out.FreqHz)
	if err != nil {
		return err
	}
	atCal := bounded.Exact(1)
	if b.setup.FreqHz > 0 {
		var more []string
		if atCal, more, err = b.amplitude(b.setup.FreqHz); err != nil {
			return err
		}
		open = append(open, more...)
	}
	name := "gain at " + hertz(b.out.FreqHz)
	if len(open) > 0 {
		line := shareLine(name, GroupFrequency, uncertainty.Within(math.NaN()), always)
		line.Missing = compact(open)
		b.add(line)
		return nil
	}
	ratio := use.Value/atCal.Value - 1
	half := max(math.Abs(use.Value-1), math.Abs(ratio))
	line := shareLine(name, GroupFrequency, uncertainty.Spread{}, always)
	if half > 0 {
		for _, a := range []After{AfterNothing, AfterZero, AfterMatrix} {
			line.LeftGain[a] = (use.Value - 1) / half
		}
		line.LeftGain[AfterOnePoint], line.LeftGain[AfterTwoPoint] = ratio/half, ratio/half
		line.LeftGain[AfterMatrixAtFrequency] = 0
		if b.setup.declared() == AfterMatrixAtFrequency {
			line.LeftGain[AfterMatrixAtFrequency] = ratio / half
		}
		b.add(known(line, half))
	}
	if w := use.Certainty() + atCal.Certainty(); w > 0 {
		line := shareLine("certainty of the "+name, GroupFrequency, uncertainty.Within(w), always)
		line.LeftGain[AfterMatrixAtFrequency] = 0
		line.Field = true
		b.add(line)
	}
	return nil
}

// amplitude returns the response at freqHz against direct current, and the keys that
// it hangs on and that are open.
func (b *accuracyBuilder) amplitude(freqHz float64) (bounded.Estimate, []string, error) {
	if !(freqHz > 0) {
		return bounded.Exact(1), nil, nil
	}
	g, err := b.m.GainDrawn(b.s, freqHz) // tolerances have lines of their own
	if err != nil {
		return bounded.Estimate{}, nil, err
	}
	// The staircase between samples acts on the number, whose steps are the reading.
	t := b.x.Chain.Timing
	t.Hold = false
	a := t.At(freqHz, 1).Amplitude
	if math.IsNaN(a) {
		open := b.x.openTails([]string{"part", "bandwidth", "bandwidth.shape", "filter.", "sampling."})
		if len(open) == 0 {
			open = []string{"parts.bandwidth"}
		}
		return bounded.Estimate{}, open, nil
	}
	return g.Change.Plus(bounded.Exact(1)).Scale(a), nil, nil
}

// hertz prints a frequency for the name of a line.
func hertz(freqHz float64) string { return fmt.Sprintf("%.4g Hz", freqHz) }

// compact drops repeated keys.
func compact(keys []string) []string {
	var out []string
	for _, k := range keys {
		if !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	return out
}
