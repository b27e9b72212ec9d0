package cli

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/model/work"
	"busgauss/rules/report"
)

// couplingFormats are the formats of coupling.
var couplingFormats = []string{"text", "json", "csv", "firmware"}

// The JSON of coupling: names and shapes are a contract. Keys of per_bar are
// the circuits of the layout, each bar by itself one; encoding/json sorts them.
type couplingReport struct {
	Layout      string              `json:"layout"`
	Frequencies []couplingFrequency `json:"frequencies"`
}

type couplingFrequency struct {
	FrequencyHz float64          `json:"frequency_hz"`
	Undecided   string           `json:"undecided,omitempty"`
	Sensors     []couplingSensor `json:"sensors"`
	Inverse     []inverseBar     `json:"inverse,omitempty"`
	NoInverse   string           `json:"no_inverse,omitempty"`
	// Unread is what each circuit that no sensor reads adds, per ampere, to the currents
	// that the inverse tells.
	Unread []unreadCircuit `json:"unread,omitempty"`
	// Condition is the condition number of the matrix that was inverted.
	Condition *float64 `json:"condition,omitempty"`
	// Leftover is what the inverse at direct current leaves at this frequency;
	// PlacementLeftover what it leaves at direct current where the sensors stand off
	// their places.
	Leftover          []leftoverChannel  `json:"dc_inverse_leftover,omitempty"`
	PlacementLeftover []leftoverExtremes `json:"placement_leftover,omitempty"`
}

type couplingSensor struct {
	Sensor string                   `json:"sensor"`
	PerBar map[string]couplingEntry `json:"per_bar"`
}

type couplingEntry struct {
	TPerA     complexT `json:"t_per_a"`
	Certainty *float64 `json:"certainty"`
	// Surroundings is the allowance for iron and walls far away, of the value.
	Surroundings *float64 `json:"surroundings"`
}

type inverseBar struct {
	Bar       string              `json:"bar"`
	PerSensor map[string]complexT `json:"a_per_t"`
}

func newCoupling(s *Streams) *cobra.Command {
	var format, stdinName string
	var o firmwareOptions
	var kept storeOptions
	var allowed workOptions
	c := &cobra.Command{
		Use:   "coupling [flags] LAYOUT",
		Short: "print what each sensor reads per ampere of each bar",
		Long: `Coupling prints, for direct current and every frequency that a duty declares, the
reading of each sensor per ampere of each bar on the sensor's axis, and the inverse that
turns readings into the currents of the bars that sensors read: its condition number, what
each bar that no sensor reads adds to those currents, and what the inverse at direct current leaves at each frequency and within placement tolerances.
Where the layout declares circuits each counts in place of its bars, by its name.

More sensors than bars give the currents that fit best, each sensor by its own size: two on
one bar the mean of what each says. A bar of a three-phase set that no sensor reads follows from
the others where the set sums to zero in every duty.

The format firmware prints the inverse at direct current as constants for firmware, with a
worked line and the hash of the layout: whole numbers where the converter is known, else
single precision in volts or teslas.`,
		Example: `  busgauss coupling drive.yaml
  busgauss coupling --format json drive.yaml
  busgauss coupling --format csv drive.yaml
  busgauss coupling --format firmware --form fixed --width 24 drive.yaml`,
		RunE: func(c *cobra.Command, args []string) error {
			if !slices.Contains(couplingFormats, format) {
				return unknownFormat("--format", format, couplingFormats)
			}
			if err := o.check(format, c.Flags().Changed); err != nil {
				return err
			}
			t := layoutTable{command: "coupling", stdinName: stdinName, options: []string{format, o.form, fmt.Sprint(o.widthBits, allowed.layout)}, storeOptions: kept}
			return t.print(c.Context(), s, args, func(w io.Writer, l *layout.Layout, data []byte, done *entriesDone) error {
				if format == "firmware" {
					constants, err := constantsOf(l, allowed.budget(nil), data, &o)
					if err != nil {
						return fmt.Errorf("constants of %s: %w", finding.Clean(l.Path), err)
					}
					return constants.Format(w)
				}
				write := func(w io.Writer, r *couplingReport) error {
					switch format {
					case "json":
						return report.EncodeJSON(w, r)
					case "csv":
						return couplingCSV(w, r, l)
					}
					return couplingText(w, r, l)
				}
				return write(w, couplingOf(l, allowed.budget(nil), func(all int, soFar couplingReport) {
					done.add(all, func(w io.Writer) error { return write(w, &soFar) })
				}))
			})
		},
	}
	c.Flags().StringVarP(&format, "format", "f", "text", "`FORMAT`: text, json, csv, firmware")
	c.Flags().StringVar(&o.form, "form", "", "`FORM` of constants for firmware: fixed, float (default: fixed where the converter is known)")
	c.Flags().IntVar(&o.widthBits, "width", 32, "width of fixed constants in `BITS`, 8 to 32")
	c.Flags().StringVar(&stdinName, "stdin-name", "stdin.yaml", "`NAME` to report for standard input")
	kept.flags(c.Flags())
	allowed.flag(c.Flags())
	complete(c, "format", couplingFormats)
	complete(c, "form", []string{"fixed", "float"})
	return c
}

// couplingOf computes the report. After each of all frequencies it gives done those that are there; nil asks for none.
func couplingOf(l *layout.Layout, on *work.Budget, done func(all int, soFar couplingReport)) *couplingReport {
	r := &couplingReport{Layout: l.Path, Frequencies: []couplingFrequency{}}
	m := probe.NewModelWithin(on, l).Precise()
	var still *probe.Coupling
	frequencies := m.Frequencies()
	keep := func(out couplingFrequency) {
		r.Frequencies = append(r.Frequencies, out)
		if done != nil {
			done(len(frequencies), *r)
		}
	}
	for _, hz := range frequencies {
		out := couplingFrequency{FrequencyHz: rounded(hz), Sensors: []couplingSensor{}}
		denied := on.Denied()
		c, err := m.Coupling(hz)
		if on.Denied() > denied { // numbers may be missing
			err = on.Over()
		}
		if err != nil {
			out.Undecided = err.Error()
			keep(out)
			continue
		}
		for i := range l.Sensors {
			row := couplingSensor{Sensor: l.Sensors[i].ID, PerBar: map[string]couplingEntry{}}
			for k := range l.Circuits {
				row.PerBar[l.Circuits[k].ID] = entry(c.PerCircuit[i][k])
			}
			out.Sensors = append(out.Sensors, row)
		}
		out.NoInverse = c.NoInverse
		if c.Fit != nil {
			out.Unread = unreadOf(l, c)
			out.add(l, c)
			if hz == 0 {
				still = c
				out.PlacementLeftover = placementLeftover(m, c)
			}
			if still != nil && hz > 0 {
				out.Leftover = leftoverOf(l, still, c)
			}
		}
		keep(out)
	}
	return r
}

func entry(p bounded.Phasor) couplingEntry {
	e := couplingEntry{TPerA: pair(p.V)}
	if n := p.Abs().Value; n > 0 {
		e.Certainty, e.Surroundings = report.Number(portable.Hypot(p.Bound, p.Quad)/n), report.Number(p.Far/n)
	} else {
		e.Certainty, e.Surroundings = report.Number(0), report.Number(0)
	}
	return e
}

func couplingText(w io.Writer, r *couplingReport, l *layout.Layout) error {
	var b strings.Builder
	for _, f := range r.Frequencies {
		fmt.Fprintf(&b, "%s: %s, on the axis per 100 A\n", finding.Clean(r.Layout), si.Format(f.FrequencyHz, "Hz"))
		if f.Undecided != "" {
			fmt.Fprintf(&b, "  undecided: %s\n", finding.Clean(f.Undecided))
			continue
		}
		fmt.Fprintf(&b, "  %-12s", "sensor")
		for k := range l.Circuits {
			fmt.Fprintf(&b, " %20s", finding.Clean(l.Circuits[k].ID))
		}
		b.WriteString("\n")
		for _, s := range f.Sensors {
			fmt.Fprintf(&b, "  %-12s", finding.Clean(s.Sensor))
			for k := range l.Circuits {
				fmt.Fprintf(&b, " %20s", phasorText(s.PerBar[l.Circuits[k].ID].TPerA))
			}
			b.WriteString("\n")
		}
		if f.NoInverse != "" {
			fmt.Fprintf(&b, "  no inverse: %s\n", finding.Clean(f.NoInverse))
		}
		inverseText(&b, &f, l)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// phasorText prints a reading per 100 A, with its phase when it is not real.
func phasorText(c complexT) string {
	if c[1] == 0 {
		return si.Format(100*c[0], "T")
	}
	v := complex(c[0], c[1])
	return fmt.Sprintf("%s ∠ %s", si.Format(100*portable.Hypot(c[0], c[1]), "T"), phaseText(v))
}
