package cli

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/rules/report"
)

// fieldPair is what a pair of elements is chosen by, at steady current.
type fieldPair struct {
	Sensor       string   `json:"sensor"`
	SignalTPerA  *float64 `json:"signal_t_per_a"`
	CommonTPerA  *float64 `json:"common_mode_t_per_a"`
	PerTenthMM   *float64 `json:"change_per_0.1_mm"`
	SignChangeM  *float64 `json:"sign_change_m"` // move away from the bar; null when there is none within 20 mm
	UniformTPerT *float64 `json:"uniform_t_per_t"`
	Neighbour    string   `json:"neighbour,omitempty"`
	NeighbourBy  *float64 `json:"neighbour_share,omitempty"`
	Undecided    string   `json:"undecided,omitempty"`

	neighbourKind string // bar or circuit
}

func pairsOf(m *probe.Model) []fieldPair {
	var out []fieldPair
	for i := range m.Layout.Sensors {
		s := &m.Layout.Sensors[i]
		p, is, err := m.Pair(s)
		switch {
		case !is:
			continue
		case err != nil:
			out = append(out, fieldPair{Sensor: s.ID, Undecided: err.Error()})
			continue
		}
		f := fieldPair{
			Sensor: s.ID, SignalTPerA: report.Number(p.SignalTPerA.Value), CommonTPerA: report.Number(p.CommonTPerA),
			PerTenthMM: report.Number(p.PerTenthMM), SignChangeM: report.Number(p.SignChangeM),
			UniformTPerT: report.Number(p.Uniform.Value),
		}
		if p.Neighbour != layout.None {
			f.neighbourKind = circuitKind(m.Layout, p.Neighbour)
			f.Neighbour, f.NeighbourBy = m.Layout.Circuits[p.Neighbour].ID, report.Number(p.NeighbourPart.Value)
		}
		out = append(out, f)
	}
	return out
}

func pairsText(b *strings.Builder, r *fieldReport) {
	for _, p := range r.Pairs {
		if p.Undecided != "" {
			fmt.Fprintf(b, "%s: pair %s: undecided: %s\n", finding.Clean(r.Layout), finding.Clean(p.Sensor), finding.Clean(p.Undecided))
			continue
		}
		fmt.Fprintf(b, "%s: pair %s: difference %s/kA, common mode %s/kA, %s per 0.1 mm farther away\n", finding.Clean(r.Layout), finding.Clean(p.Sensor),
			kilo(p.SignalTPerA), kilo(p.CommonTPerA), share(p.PerTenthMM))
		turn := "changes sign nowhere within 20 mm"
		if p.SignChangeM != nil {
			turn = fmt.Sprintf("changes sign when moved %s %s", si.Format(math.Abs(*p.SignChangeM), "m"),
				map[bool]string{true: "away from the bar", false: "towards the bar"}[*p.SignChangeM >= 0])
		}
		fmt.Fprintf(b, "  it %s; of a uniform field it reads %s", turn, share(p.UniformTPerT))
		if p.NeighbourBy != nil {
			fmt.Fprintf(b, "; %s %s at an equal current adds up to %s", p.neighbourKind, finding.Clean(p.Neighbour),
				share(p.NeighbourBy))
		}
		b.WriteString("\n")
	}
}

// kilo prints a flux density per ampere that may be missing, times a thousand.
func kilo(v *float64) string {
	if v == nil {
		return "unknown"
	}
	return si.Format(*v*1e3, "T")
}
