package cli

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"busgauss/model/field"
	"busgauss/model/finding"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/model/waveform"
	"busgauss/model/work"
	"busgauss/rules/report"
)

// tableFormats are the formats of field and coupling.
var tableFormats = []string{"text", "json"}

// complexT is a phasor as [re, im].
type complexT [2]float64

func pair(c complex128) complexT {
	return complexT{rounded(real(c)), rounded(imag(c))}
}

// rounded keeps nine digits: more than any method here is worth, and fewer than
// processors differ in.
func rounded(v float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	scale := portable.Pow(10, 8-math.Floor(portable.Log10(math.Abs(v))))
	if math.IsInf(scale, 0) || scale == 0 {
		return v
	}
	return math.Round(v*scale) / scale
}

// The JSON of field: names and shapes are a contract.
type fieldReport struct {
	Layout string      `json:"layout"`
	Duties []fieldDuty `json:"duties"`
	// Foreign are wires and magnets of the surroundings, each by itself.
	Foreign []fieldForeign `json:"foreign,omitempty"`
	Pairs   []fieldPair    `json:"pairs,omitempty"`
}

type fieldDuty struct {
	Duty        string         `json:"duty"`
	FrequencyHz float64        `json:"frequency_hz"`
	Role        string         `json:"role"`
	Method      string         `json:"method"`
	Undecided   string         `json:"undecided,omitempty"`
	Currents    []fieldCurrent `json:"currents,omitempty"` // where the layout declares circuits
	Sensors     []fieldSensor  `json:"sensors"`
	Points      []fieldPoint   `json:"points,omitempty"`
	Shields     []fieldShield  `json:"shields"`
	// Open are the sensors, shields and points that are left out, with the reason.
	Open []fieldOpen `json:"left_out,omitempty"`
}

// fieldOpen is what has no field, and why.
type fieldOpen struct {
	What   string `json:"what"` // sensor, shield or point
	Name   string `json:"name"`
	Reason string `json:"reason"`
}

type fieldSensor struct {
	Sensor       string         `json:"sensor"`
	BX           complexT       `json:"bx_t"`
	BY           complexT       `json:"by_t"`
	BZ           complexT       `json:"bz_t"`
	Axis         complexT       `json:"axis_t"`
	Certainty    *float64       `json:"certainty"`
	Surroundings *float64       `json:"surroundings"`       // the allowance for iron and walls far away
	Elements     []fieldElement `json:"elements,omitempty"` // of an array
}

type fieldPoint struct {
	At           [3]float64 `json:"at_m"`
	BX           complexT   `json:"bx_t"`
	BY           complexT   `json:"by_t"`
	BZ           complexT   `json:"bz_t"`
	Certainty    *float64   `json:"certainty"`
	Surroundings *float64   `json:"surroundings"`
}

type fieldShield struct {
	Shield    string   `json:"shield"`
	WallPeakT *float64 `json:"wall_peak_t"`
	RMST      *float64 `json:"rms_t"`
	Certainty *float64 `json:"certainty"`
}

type fieldOptions struct {
	format, stdinName string
	at                []string
	storeOptions
	workOptions
}

func newField(s *Streams) *cobra.Command {
	var o fieldOptions
	c := &cobra.Command{
		Use:   "field [flags] LAYOUT",
		Short: "print the field at sensors and points, per duty",
		Long: `Field prints the flux density at each sensor, and at points given with --at, for
every duty and each of its frequencies: x and y components, and the component on the
sensor's axis, as peak phasors. Each fundamental, harmonic, second set and ripple is an
entry of its own. A pair shows the difference of its elements, and what it is chosen by; an
array the sum with its weights, and each element. Where the layout declares circuits the
current of each is printed, and what of it flows in each of its bars. Bars with ends, bends
or cuts and iron of finite depth are computed in space, with a z component. What wires
and magnets of the surroundings do follows, each by itself. What has no field is named
with the reason.`,
		Example: `  busgauss field drive.yaml
  busgauss field --at "0 mm, 6 mm" --format json drive.yaml
  busgauss field --at "0 mm, 6 mm, 12 mm" drive.yaml`,
		RunE: func(c *cobra.Command, args []string) error {
			if !slices.Contains(tableFormats, o.format) {
				return unknownFormat("--format", o.format, tableFormats)
			}
			points, err := parsePoints(o.at)
			if err != nil {
				return err
			}
			t := layoutTable{command: "field", stdinName: o.stdinName, options: append([]string{o.format, fmt.Sprint(o.layout)}, o.at...), storeOptions: o.storeOptions}
			return t.print(c.Context(), s, args, func(w io.Writer, l *layout.Layout, _ []byte, done *entriesDone) error {
				write := fieldText
				if o.format == "json" {
					write = func(w io.Writer, r *fieldReport) error { return report.EncodeJSON(w, r) }
				}
				return write(w, fieldOf(l, o.budget(nil), points, func(all int, soFar fieldReport) {
					done.add(all, func(w io.Writer) error { return write(w, &soFar) })
				}))
			})
		},
	}
	c.Flags().StringVarP(&o.format, "format", "f", "text", "`FORMAT`: text, json")
	c.Flags().StringArrayVar(&o.at, "at", nil, "another `POINT`, as \"x, y\" or \"x, y, z\" with units, such as \"0 mm, 6 mm\" (may be repeated)")
	c.Flags().StringVar(&o.stdinName, "stdin-name", "stdin.yaml", "`NAME` to report for standard input")
	o.storeOptions.flags(c.Flags())
	o.workOptions.flag(c.Flags())
	complete(c, "format", tableFormats)
	return c
}

func parsePoints(values []string) ([]geom.Point3, error) {
	var out []geom.Point3
	for _, v := range values {
		texts := strings.Split(v, ",")
		if len(texts) != 2 && len(texts) != 3 {
			return nil, usage(`--at %q: write "x, y" or "x, y, z" with units, such as "0 mm, 6 mm"`, v)
		}
		var at [3]float64
		for i, text := range texts {
			m, err := si.Parse(strings.TrimSpace(text), si.Length)
			if err != nil {
				return nil, usage("--at %q: %s: %v", v, []string{"x", "y", "z"}[i], err)
			}
			at[i] = m
		}
		out = append(out, geom.Point3{X: at[0], Y: at[1], Z: at[2]})
	}
	return out, nil
}

// fieldOf computes the report. Where no method holds, a duty has its reason and
// no sensors. After each of all entries it gives done those that are there; nil asks for none.
func fieldOf(l *layout.Layout, on *work.Budget, points []geom.Point3, done func(all int, soFar fieldReport)) *fieldReport {
	r := &fieldReport{Layout: l.Path, Duties: []fieldDuty{}}
	m := probe.NewModelWithin(on, l).Precise()
	all := 0
	for i := range l.Duties {
		all += len(waveform.Of(l, &l.Duties[i]).Components)
	}
	for i := range l.Duties {
		d := &l.Duties[i]
		parts := waveform.Of(l, d).Components
		for k := range parts {
			denied := on.Denied()
			one := fieldComponent(m.For(d), d, &parts[k], points)
			if over := on.Over(); on.Denied() > denied { // numbers may be missing
				one = fieldDuty{Duty: d.ID, FrequencyHz: one.FrequencyHz, Role: one.Role, Method: "none", Undecided: over.Error(),
					Sensors: []fieldSensor{}, Shields: []fieldShield{}}
			}
			r.Duties = append(r.Duties, one)
			if done != nil {
				done(all, *r)
			}
		}
	}
	r.Foreign = foreignOf(m, points)
	r.Pairs = pairsOf(m)
	return r
}

func fieldComponent(m *probe.Model, d *layout.Duty, c *waveform.Component, points []geom.Point3) fieldDuty {
	out := fieldDuty{
		Duty: d.ID, FrequencyHz: rounded(c.FreqHz), Role: c.Role,
		Sensors: []fieldSensor{}, Shields: []fieldShield{},
	}
	f, err := m.FieldOf(c)
	if err != nil {
		out.Method, out.Undecided = "none", err.Error()
		return out
	}
	out.Method = m.Method(f, c)
	out.Currents = currentsOf(m.Layout, f, c)
	for i := range m.Layout.Sensors {
		s := &m.Layout.Sensors[i]
		r, err := m.Read(s, c)
		if err != nil {
			out.Open = append(out.Open, fieldOpen{"sensor", s.ID, err.Error()})
			continue
		}
		axis := r.Own.Add(r.Stray)
		out.Sensors = append(out.Sensors, fieldSensor{
			Sensor: s.ID, BX: pair(r.Total.X), BY: pair(r.Total.Y), BZ: pair(r.Total.Z), Axis: pair(axis.V),
			Certainty: certainty(r.Total), Surroundings: surroundings(r.Total), Elements: elementsOf(m, s, c),
		})
	}
	for i := range m.Layout.Shields {
		w, err := m.Wall(layout.ShieldIndex(i), c)
		if err != nil {
			out.Open = append(out.Open, fieldOpen{"shield", m.Layout.Shields[i].ID, err.Error()})
			continue
		}
		out.Shields = append(out.Shields, fieldShield{
			Shield: m.Layout.Shields[i].ID, WallPeakT: report.Number(w.Peak.Value), RMST: report.Number(w.RMS().Value),
			Certainty: wallCertainty(w),
		})
	}
	for _, p := range points {
		v, err := m.TotalAt(p, c)
		if err != nil {
			out.Open = append(out.Open, fieldOpen{"point", pointName(p), err.Error()})
			continue
		}
		out.Points = append(out.Points, fieldPoint{
			At: [3]float64{rounded(p.X), rounded(p.Y), rounded(p.Z)}, BX: pair(v.X), BY: pair(v.Y), BZ: pair(v.Z), Certainty: certainty(v),
			Surroundings: surroundings(v),
		})
	}
	return out
}

// certainty returns the half width of the bound of v relative to its size.
func certainty(v field.Vec) *float64 {
	n := v.Norm()
	if n == 0 {
		return report.Number(0)
	}
	return report.Number(portable.Hypot(v.Bound, v.Quad) / n)
}

// surroundings returns the allowance of v for iron and walls far away, relative to its size.
func surroundings(v field.Vec) *float64 {
	n := v.Norm()
	if n == 0 {
		return report.Number(0)
	}
	return report.Number(v.Far / n)
}

func fieldText(w io.Writer, r *fieldReport) error {
	var b strings.Builder
	for _, d := range r.Duties {
		fmt.Fprintf(&b, "%s: duty %s, %s, %s: %s\n", finding.Clean(r.Layout), finding.Clean(d.Duty), d.Role, si.Format(d.FrequencyHz, "Hz"), d.Method)
		if d.Undecided != "" {
			fmt.Fprintf(&b, "  undecided: %s\n", finding.Clean(d.Undecided))
			continue
		}
		currentsText(&b, &d)
		deep := d.deep()
		z := ""
		if deep {
			z = fmt.Sprintf(" %14s", "|Bz| peak")
		}
		fmt.Fprintf(&b, "  %-16s %14s %14s%s %14s %10s %10s %13s\n", "sensor", "|Bx| peak", "|By| peak", z,
			"|B| on axis", "phase", "certainty", "surroundings")
		for _, s := range d.Sensors {
			axis := complex(s.Axis[0], s.Axis[1])
			row(&b, s.Sensor, s.BX, s.BY, s.BZ, deep, si.Format(portable.Abs(axis), "T"), phaseText(axis), s.Certainty,
				s.Surroundings)
			for k, e := range s.Elements {
				axis := complex(e.Axis[0], e.Axis[1])
				row(&b, fmt.Sprintf("%s[%d] × %.4g", s.Sensor, k, e.Weight), e.BX, e.BY, e.BZ, deep,
					si.Format(portable.Abs(axis), "T"), phaseText(axis), e.Certainty, e.Surroundings)
			}
		}
		for _, p := range d.Points {
			row(&b, pointName(geom.Point3{X: p.At[0], Y: p.At[1], Z: p.At[2]}), p.BX, p.BY, p.BZ, deep, "", "",
				p.Certainty, p.Surroundings)
		}
		if len(d.Shields) > 0 {
			fmt.Fprintf(&b, "  %-16s %14s %14s %21s\n", "shield", "wall peak", "rms", "certainty of the wall")
		}
		for _, s := range d.Shields {
			fmt.Fprintf(&b, "  %-16s %14s %14s %21s\n", finding.Clean(s.Shield), tesla(s.WallPeakT), tesla(s.RMST), share(s.Certainty))
		}
		openText(&b, d.Open)
	}
	foreignText(&b, r)
	pairsText(&b, r)
	if len(r.Duties) == 0 {
		fmt.Fprintf(&b, "%s: no duty gives a current\n", finding.Clean(r.Layout))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// deep reports whether some field of the duty has a z component.
func (d *fieldDuty) deep() bool {
	for _, s := range d.Sensors {
		if s.BZ != (complexT{}) {
			return true
		}
	}
	for _, p := range d.Points {
		if p.BZ != (complexT{}) {
			return true
		}
	}
	return false
}

func row(b *strings.Builder, name string, x, y, z complexT, deep bool, axis, phase string, certainty, around *float64) {
	size := func(c complexT) string { return fmt.Sprintf("%14s", si.Format(portable.Hypot(c[0], c[1]), "T")) }
	line := size(x) + " " + size(y)
	if deep {
		line += " " + size(z)
	}
	fmt.Fprintf(b, "  %-16s %s %14s %10s %10s %13s\n", finding.Clean(name), line, axis, phase, share(certainty),
		share(around))
}

// wallCertainty is that of the wall; of the mean over the section where the
// shield does not react, so that a flux through its wall means nothing.
func wallCertainty(w field.Wall) *float64 {
	if c := report.Number(w.Peak.Certainty()); c != nil {
		return c
	}
	return report.Number(w.RMS().Certainty())
}

// tesla prints a flux density that may be missing.
func tesla(v *float64) string {
	if v == nil {
		return "unknown"
	}
	return si.Format(*v, "T")
}

// share prints a certainty that may be missing.
func share(v *float64) string {
	if v == nil {
		return "unknown"
	}
	return si.Percent(*v)
}

func phaseText(c complex128) string {
	if c == 0 {
		return "-"
	}
	return fmt.Sprintf("%.2f deg", portable.Phase(c)*180/math.Pi)
}
