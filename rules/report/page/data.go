package page

import (
	"encoding/json"
	"math"
	"strings"

	"busgauss/model/si"
	"busgauss/rules/audit"
)

// What the script is given. Texts are made here, by the formatter that every other
// output uses, so that a number read under the pointer is the number printed there.
type jsData struct {
	Bars   []string     `json:"bars"`
	Points [][3]float64 `json:"points"` // millimetres
	Frames []jsFrame    `json:"frames"`
	Slides []jsSlide    `json:"slides"`
}

type jsFrame struct {
	At   []string   `json:"at"`   // "|Bx|" "|" "|By|", and "|" "|Bz|" where there is one
	Bars []string   `json:"bars"` // each bar's or circuit's own field, with its share, between "|"
	Slid [][]string `json:"slid"` // "per ampere|phase|stray A|stray share"; empty: in metal
}

type jsSlide struct {
	Sensor string     `json:"sensor"`
	DX     []float64  `json:"dx"` // millimetres
	DY     []float64  `json:"dy"`
	At     [2]float64 `json:"at"`
}

// scriptData returns the data as JSON that is safe inside a script element: the
// encoder writes <, > and & as escapes.
func scriptData(p *audit.Page) ([]byte, error) {
	s := &p.Section
	d := jsData{Bars: append([]string{}, s.Circuits...), Points: [][3]float64{}, Frames: []jsFrame{},
		Slides: []jsSlide{}}
	for _, q := range s.Points {
		d.Points = append(d.Points, [3]float64{millimetres(q.X), millimetres(q.Y), millimetres(q.Z)})
	}
	for i := range s.Slides {
		k := &s.Slides[i]
		d.Slides = append(d.Slides, jsSlide{k.Sensor, allMillimetres(k.DX), allMillimetres(k.DY), [2]float64{millimetres(k.AtM.X), millimetres(k.AtM.Y)}})
	}
	for i := range s.Frames {
		d.Frames = append(d.Frames, frameData(&s.Frames[i]))
	}
	return json.Marshal(d)
}

func frameData(f *audit.Frame) jsFrame {
	out := jsFrame{At: []string{}, Bars: []string{}, Slid: [][]string{}}
	deep := false
	for _, b := range f.At {
		deep = deep || b.Z != 0
	}
	for i, b := range f.At {
		text := si.Format(b.X, "T") + "|" + si.Format(b.Y, "T")
		if deep {
			text += "|" + si.Format(b.Z, "T")
		}
		out.At = append(out.At, text)
		if f.CircuitT == nil {
			continue
		}
		whole := 0.0
		for k := range f.CircuitT {
			whole += f.CircuitT[k][i]
		}
		var parts []string
		for k := range f.CircuitT {
			part := si.Format(f.CircuitT[k][i], "T")
			if whole > 0 {
				part += " (" + si.Percent(f.CircuitT[k][i]/whole) + ")"
			}
			parts = append(parts, part)
		}
		out.Bars = append(out.Bars, strings.Join(parts, "|"))
	}
	for _, places := range f.Slid {
		texts := make([]string, len(places))
		for i, v := range places {
			if !math.IsNaN(v.PerAmpereT) {
				texts[i] = si.Format(v.PerAmpereT, "T") + "|" + degrees(v.PhaseRad) + "|" + si.Format(v.StrayA, "A")
				if !math.IsNaN(v.StrayShare) {
					texts[i] += "|" + si.Percent(v.StrayShare) + " of the own current"
				}
			}
		}
		out.Slid = append(out.Slid, texts)
	}
	return out
}

// millimetres rounds to a nanometre, so that a place reads as it was typed.
func millimetres(m float64) float64 { return math.Round(m*1e9)/1e6 + 0 }

func allMillimetres(list []float64) []float64 {
	out := make([]float64, len(list))
	for i, v := range list {
		out[i] = millimetres(v)
	}
	return out
}
