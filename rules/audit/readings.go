package audit

import (
	"fmt"
	"math"

	"busgauss/model/channel"
	"busgauss/model/si"
	"busgauss/rules/report/figure"
)

// readingsCurve is what the sensor read on a bench against what is computed, with both uncertainties; nil where no reading
// can be compared.
func (b *builder) readingsCurve(x *seen) *Curve {
	all, err := channel.MeasuredOf(b.Model, x.s)
	if err != nil {
		return nil
	}
	out := &Curve{Name: "Read against computed", Head: []string{"reading", "date", "instrument", "what flowed", "read",
		"uncertain, k = 2", "computed", "uncertain, k = 2", "read over computed", "of both uncertainties"}}
	read := figure.Series{Name: "read", Points: true}
	whiskers := figure.Series{Name: "±U reading"}
	boxes := figure.Series{Name: "±U model"}
	missing := ""
	for i := range all {
		r := &all[i]
		size := math.Abs(r.ComputedT.Value)
		d, u, m := r.DifferenceT()/r.ComputedT.Value, r.ReadUT/size, r.ModelUT/size
		if r.Err != nil || math.IsNaN(d+u+m) || math.IsInf(d, 0) {
			continue
		}
		n, nan := float64(len(read.X)+1), math.NaN()
		read.X, read.Y = append(read.X, n), append(read.Y, d)
		whiskers.X, whiskers.Y = append(whiskers.X, n, n, nan), append(whiskers.Y, d-u, d+u, nan)
		boxes.X = append(boxes.X, n-0.2, n+0.2, n+0.2, n-0.2, n-0.2, nan)
		boxes.Y = append(boxes.Y, -m, -m, m, m, -m, nan)
		out.Rows = append(out.Rows, []string{fmt.Sprint(len(read.X)), r.Of.Date, r.Of.Instrument, flowWords(r),
			si.FormatDigits(r.ReadT, "T", 4) + spaced(r.Flow.Kind), si.Format(r.ReadUT, "T"),
			si.FormatDigits(r.ComputedT.Value, "T", 4) + spaced(r.Flow.Kind), si.Format(r.ModelUT, "T"),
			fmt.Sprintf("%+.3g %%", 100*d), show(r.Agreement().Value, "1")})
		if len(r.Missing) > 0 {
			missing = " Uncertainties that are not given are left out."
		}
	}
	if len(read.X) == 0 {
		return nil
	}
	out.Text = "Difference of each reading from what is computed of the layout as drawn, as a share of that, with the expanded uncertainty of the " +
		"reading (upright line) and of the model by the declared tolerances (box), k = 2. They agree where the difference is within " +
		"the root of the sum of both squares." + missing
	chart := figure.Chart{X: figure.Axis{Title: "reading", Unit: "1", Min: 0, Max: float64(len(read.X) + 1)}}
	chart.Title, chart.Desc = "Readings of "+x.s.ID+" against the model", out.Text
	chart.Panels = []figure.Panel{{Y: figure.Axis{Title: "read over computed", Unit: "%"},
		Series: []figure.Series{read, whiskers, boxes}, Marks: []figure.Mark{{At: 0, Label: "computed"}}}}
	out.Chart = chart
	return out
}

func spaced(kind string) string {
	if kind == "" {
		return ""
	}
	return " " + kind
}

// flowWords says what flowed while a reading was taken.
func flowWords(r *channel.Measured) string {
	if !r.Flow.Alone {
		return "duty " + r.Flow.Duty.ID
	}
	out := si.Format(r.Of.CurrentA.V, "A") + " alone"
	if hz := r.Flow.Part.FreqHz; hz > 0 {
		out += " at " + si.Format(hz, "Hz")
	}
	return out
}
