package load

import (
	"encoding/json"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"busgauss/model/layout"
	"busgauss/schema"
	"busgauss/schema/node"
)

func TestFullReadout(t *testing.T) {
	l := mustLoad(t, "full.yaml", full(t))
	flat, tall := l.Parts[0], l.Parts[1]
	near(t, "offset over life", flat.OffsetLifeV.V, 3e-3)
	open(t, "offset over life", tall.OffsetLifeV, math.NaN())
	if flat.Shape.V != layout.EqualPoles || !flat.Shape.Set || tall.Shape.V != layout.Butterworth || tall.Shape.Set {
		t.Errorf("shapes %+v, %+v", flat.Shape, tall.Shape)
	}
	r := l.Readout
	near(t, "reference of the amplifier", r.Amplifier.ReferenceV.V, 1.6)
	near(t, "low of the amplifier", r.Amplifier.LowV.V, 0.05)
	near(t, "high of the amplifier", r.Amplifier.HighV.V, 3.25)
	near(t, "gain tolerance", r.Amplifier.GainTol.V, 0.002)
	near(t, "input offset", r.Amplifier.OffsetV.V, 0.5e-3)
	near(t, "amplifier noise", r.Amplifier.NoiseVPerRtHz.V, 12e-9)
	near(t, "resistor tolerance", r.Divider.Tol.V, 0.001)
	near(t, "foot", r.Divider.FootV.V, 0.2)
	near(t, "corner tolerance", r.Filter.Tol.V, 0.05)
	near(t, "reference tolerance", r.Converter.Tol.V, 0.005)
	near(t, "minus", r.Converter.MinusV.V, 0.1)
	near(t, "converter noise", r.Converter.NoiseCounts.V, 0.7)
	near(t, "aperture", r.Sampling.ApertureS.V, 0.5e-6)
	near(t, "carrier", r.Sampling.CarrierHz.V, 8e3)
	near(t, "shift", r.Sampling.ShiftS.V, -1e-6)
	near(t, "zero of the number", r.Number.Zero.V, 12)
	near(t, "window", r.Zeroing.WindowA.V, 4)
	near(t, "current at zero", r.Zeroing.CurrentA.V, 0.5)
	near(t, "noise at zero", r.Zeroing.NoiseA.V, 0.02)
	if r.Divider.Place.V != layout.BeforeAmplifier || !r.Filter.Shape.Set || r.Converter.Code.V != layout.StraightCode || !r.Converter.Code.Set ||
		!r.Converter.Ratiometric.Set || r.Converter.Ratiometric.V || r.Sampling.Hold.V || !r.Sampling.Hold.Set {
		t.Errorf("words of the readout: %+v", r)
	}

	own := l.ReadoutOf(&l.Sensors[1])
	near(t, "rate of SV", own.Sampling.RateHz.V, 40e3)
	open(t, "tolerance of SV", own.Converter.Tol, 0)
	open(t, "foot of SV", own.Divider.FootV, 0)
	open(t, "swing of SV", own.Amplifier.HighV, math.NaN())
	open(t, "current at zero of SV", own.Zeroing.CurrentA, 0)
	open(t, "number zero of SV", own.Number.Zero, 0)
	if own.Converter.Code != (layout.Choice[layout.Code]{V: layout.SignedCode, Span: own.Converter.Code.Span}) ||
		!own.Converter.Ratiometric.V || !own.Sampling.Hold.V || own.Sampling.Hold.Set || own.Divider.Place.V != layout.AfterAmplifier {
		t.Errorf("words of SV: %+v", own)
	}
	if su := l.ReadoutOf(&l.Sensors[0]); su.Sampling.RateHz.V != 16e3 || su.Sampling.OfChannel || !own.Sampling.OfChannel {
		t.Errorf("readout of SU: %+v", su)
	}
}

func TestFullChannels(t *testing.T) {
	l := mustLoad(t, "full.yaml", full(t))
	sv := l.Needs[1]
	near(t, "switching", sv.TripSwitchingS.V, 2e-6)
	near(t, "supply", sv.TripSupplyV.V, 450)
	near(t, "inductance", sv.TripInductanceH.V, 50e-6)
	near(t, "lag", sv.LagRad.V, 2*deg)
	near(t, "at", sv.LagAtHz.V, 400)
	near(t, "charge", sv.BatteryChargeAs.V, 360e3)
	near(t, "per day", sv.BatteryPerDay.V, 0.01)
	if by := l.TripByFor("SV"); by.V != layout.TapFilter || !by.Set || l.Needs[0].TripBy.Set {
		t.Errorf("trip by %+v", by)
	}
	sum := l.PhaseSums[0]
	if sum.Channels != [3]layout.SensorIndex{1, 0, layout.None} || sum.DerivedBar != 3 || sum.Measured.V != 2 || !sum.Measured.Set {
		t.Errorf("phase sum %+v", sum)
	}
	near(t, "threshold", sum.ThresholdA.V, 12)
	near(t, "ripple", sum.Ripple.V, 0.01)

	c, ok := l.CalibrationOf("SU")
	if !ok || c.Kind.V != layout.CalibrationTwoPoint || c.Conductor.V != layout.ConductorRibbon {
		t.Errorf("calibration of SU: %+v", c)
	}
	near(t, "turns", c.Turns.V, 10)
	near(t, "pitch", c.PitchM.V, 2e-3)
	near(t, "current", c.CurrentA.V, 40)
	near(t, "frequency", c.FreqHz.V, 50)
	near(t, "temperature", c.TemperatureC.V, 30)
	near(t, "tolerance", c.Tol.V, 0.002)
	if c, _ := l.CalibrationOf("SV"); c.Kind.V != layout.CalibrationZero {
		t.Errorf("calibration of SV: %+v", c)
	}
}

// Every property of the published schema stands in the full file, but that of the
// keys of which exactly one says an amount one may stand for the others.
func TestFullHasEveryKey(t *testing.T) {
	var doc map[string]any
	if err := json.Unmarshal(schema.Layout, &doc); err != nil {
		t.Fatal(err)
	}
	root, problems := node.Parse("full.yaml", full(t), node.Limits{})
	if len(problems) > 0 {
		t.Fatal(lines(problems))
	}
	m := marker{doc: doc, met: map[string]bool{}}
	m.mark("", root)
	var all []string
	properties("", doc, &all)
	if len(all) < 200 {
		t.Fatalf("only %d properties found", len(all))
	}
	for _, p := range all {
		if name := p[strings.LastIndexByte(p, '/')+1:]; !m.met[p] && !slices.Contains([]string{"dc", "rms", "peak"}, name) {
			t.Errorf("%s is not in the full file", p)
		}
	}
}

// properties lists the pointers of all named properties below a schema.
func properties(at string, s any, out *[]string) {
	switch v := s.(type) {
	case map[string]any:
		for _, k := range slices.Sorted(maps.Keys(v)) {
			if p, ok := v[k].(map[string]any); ok && k == "properties" {
				for name, sub := range p {
					*out = append(*out, at+"/properties/"+name)
					properties(at+"/properties/"+name, sub, out)
				}
				continue
			}
			properties(at+"/"+k, v[k], out)
		}
	case []any:
		for i, item := range v {
			properties(at+"/"+strconv.Itoa(i), item, out)
		}
	}
}

// marker notes which properties of the schema a file uses.
type marker struct {
	doc map[string]any
	met map[string]bool
}

func (m *marker) lookUp(at string) map[string]any {
	var v any = m.doc
	for token := range strings.SplitSeq(strings.TrimPrefix(at, "/"), "/") {
		if o, ok := v.(map[string]any); ok && token != "" {
			v = o[token]
		}
	}
	s, _ := v.(map[string]any)
	return s
}

// mark follows the value n along every branch of the schema at a pointer.
func (m *marker) mark(at string, n *node.Node) {
	s := m.lookUp(at)
	if ref, ok := s["$ref"].(string); ok {
		m.mark(strings.TrimPrefix(ref, "#"), n)
	}
	for _, branch := range []string{"then", "else"} {
		if _, ok := s[branch].(map[string]any); ok {
			m.mark(at+"/"+branch, n)
		}
	}
	known, _ := s["properties"].(map[string]any)
	for _, e := range n.Members {
		if _, ok := known[e.Key]; ok {
			m.met[at+"/properties/"+e.Key] = true
			m.mark(at+"/properties/"+e.Key, e.Value)
		} else if _, ok := s["additionalProperties"].(map[string]any); ok {
			m.mark(at+"/additionalProperties", e.Value)
		}
	}
	for _, item := range n.Items {
		if _, ok := s["items"].(map[string]any); ok {
			m.mark(at+"/items", item)
		}
	}
}
