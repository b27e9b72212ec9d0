package probe_test

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"math"
	"math/cmplx"
	"strings"
	"testing"
	"time"

	"busgauss/fixtures"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/waveform"
	"busgauss/schema/load"
)

type planeExpected struct {
	Sensors map[string]struct {
		Bx          [2]float64 `json:"Bx_mT"`
		By          [2]float64 `json:"By_mT"`
		LevelChange float64    `json:"level_change"`
	} `json:"sensors"`
	Shields map[string]struct {
		RMS    float64 `json:"rms_mT"`
		Change float64 `json:"rms_level_change"`
	} `json:"shields"`
}

// planeCaseRows computes fixtures/reference/plane-cases as the command does: a
// general-purpose finite-element language, two meshes (expected.json).
func planeCaseRows(t *testing.T) []refRow {
	b, err := fs.ReadFile(fixtures.FS, "reference/plane-cases/expected.json")
	if err != nil {
		t.Fatal(err)
	}
	var all struct{ Cases map[string]planeExpected }
	if err := json.Unmarshal(b, &all); err != nil {
		t.Fatal(err)
	}
	entries, err := fs.ReadDir(fixtures.FS, "reference/plane-cases")
	if err != nil {
		t.Fatal(err)
	}
	var rows []refRow
	n := 0
	for _, e := range entries {
		if name, ok := strings.CutSuffix(e.Name(), ".yaml"); ok {
			want, ok := all.Cases[name]
			if !ok {
				t.Errorf("%s: no expected values", name)
			}
			rows = append(rows, planeRows(t, name, want)...)
			n++
		}
	}
	if n != len(all.Cases) || n < 20 {
		t.Errorf("%d layouts, %d cases", n, len(all.Cases))
	}
	return rows
}

func planeRows(t *testing.T, name string, want planeExpected) []refRow {
	const mT = 1e-3
	text, err := fs.ReadFile(fixtures.FS, "reference/plane-cases/"+name+".yaml")
	if err != nil {
		t.Fatal(err)
	}
	l, problems := load.Load(name+".yaml", text)
	if l == nil {
		t.Fatalf("%s: %v", name, problems)
	}
	d := &l.Duties[0]
	c := &waveform.Of(l, d).Components[0]
	start := time.Now()
	m := probe.NewModel(l).Precise().For(d)
	outer := truncationT(l, c)
	var rows []refRow
	for i := range l.Sensors {
		s := &l.Sensors[i]
		w, ok := want.Sensors[s.ID]
		if !ok {
			t.Errorf("%s: no expected values of sensor %s", name, s.ID)
			continue
		}
		r, err := m.Read(s, c)
		if err != nil {
			t.Errorf("%s: sensor %s: %v", name, s.ID, err)
			continue
		}
		row := refRow{name: name, quantity: "B at " + s.ID, unit: "mT",
			want:  [2]complex128{complex(w.Bx[0], w.Bx[1]), complex(w.By[0], w.By[1])},
			got:   [2]complex128{r.Total.X / mT, r.Total.Y / mT},
			bound: math.Hypot(r.Total.Bound, r.Total.Quad) / mT}
		row.spread = 2*w.LevelChange*size(row.want) + outer/mT
		rows = append(rows, row)
	}
	for i := range l.Shields {
		w, err := m.Wall(layout.ShieldIndex(i), c)
		if err != nil {
			t.Errorf("%s: shield %s: %v", name, l.Shields[i].ID, err)
			continue
		}
		ref, rms := want.Shields[l.Shields[i].ID], w.RMS()
		rows = append(rows, refRow{name: name, quantity: fmt.Sprintf("rms in %s", l.Shields[i].ID), unit: "mT",
			want: number(ref.RMS), got: number(rms.Value / mT),
			bound:  math.Max(rms.High-rms.Value, rms.Value-rms.Low) / mT,
			spread: 2*ref.Change*ref.RMS + 30*outer/mT})
	}
	took, unknowns := time.Since(start), m.Unknowns(c)
	for i := range rows {
		rows[i].took, rows[i].unknowns = took, unknowns
	}
	return rows
}

// truncationT is what the outer circle of 1.2 m of the reference leaves out, in
// tesla: the image of the currents' first moment, μ0 |Σ I d|/(2π R²), where a
// shield about a bar moves the centre of its far field by up to half its size.
// A shield gathers the flux of a strip as wide as itself, thirty-fold.
func truncationT(l *layout.Layout, c *waveform.Component) float64 {
	var x, y complex128
	iron := 0.0
	for b, a := range c.PeakA {
		at := l.Bars[b].Centre()
		x += a * complex(at.X, 0)
		y += a * complex(at.Y, 0)
		iron += cmplx.Abs(a)
	}
	if len(l.Shields) == 0 {
		iron = 0
	}
	return mu0 / (2 * math.Pi) * (0.015*iron + math.Hypot(cmplx.Abs(x), cmplx.Abs(y))) / (1.2 * 1.2)
}
