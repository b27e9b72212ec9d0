package layout

import (
	"testing"

	"busgauss/model/span"
)

func num(v float64) Num { return Num{V: v, Set: true} }

// A stage that a channel gives stands in place of the whole common one.
func TestReadoutOf(t *testing.T) {
	var l Layout
	l.Readout.Given = true
	l.Readout.Converter = Converter{Stage: Stage{Given: true}, HighV: num(3.3), Bits: num(12)}
	l.Readout.Filter = Filter{Stage: Stage{Given: true}, CornerHz: num(20e3)}
	own := ChannelReadout{Channel: "T"}
	own.Converter = Converter{Stage: Stage{Given: true, OfChannel: true}, HighV: num(5)}
	l.Readout.Channels = []ChannelReadout{own}

	r := l.ReadoutOf(&Sensor{ID: "T"})
	if r.Converter.HighV.V != 5 || r.Converter.Bits.Set || !r.Converter.OfChannel || r.Filter.CornerHz.V != 20e3 || r.Filter.OfChannel || r.Channels != nil {
		t.Errorf("T: %+v", r)
	}
	if r := l.ReadoutOf(&Sensor{ID: "S"}); r.Converter.HighV.V != 3.3 || r.Converter.OfChannel || !r.Given {
		t.Errorf("S: %+v", r)
	}
	l.Readout.Given = false
	if !l.ReadoutOf(&Sensor{ID: "T"}).Given || l.ReadoutOf(&Sensor{ID: "S"}).Given {
		t.Error("a readout of one channel must be that of this channel alone")
	}
}

func TestCalibrationOf(t *testing.T) {
	all := Calibration{
		Channel: "all", Kind: Choice[CalibrationKind]{V: CalibrationOnePoint, Set: true},
		Conductor: Choice[Conductor]{V: ConductorRibbon, Set: true}, Turns: num(10), PitchM: num(2e-3),
		CurrentA: num(40), TemperatureC: num(30), Tol: num(0.002),
	}
	own := Calibration{Channel: "S", CurrentA: num(60), Conductor: Choice[Conductor]{V: ConductorBar, Set: true}}
	l := Layout{Calibrations: []Calibration{own, all}}
	c, ok := l.CalibrationOf("S")
	// Ten turns of a ribbon do not belong to the bar that S names.
	if !ok || c.Channel != "S" || c.Kind.V != CalibrationOnePoint || c.CurrentA.V != 60 || c.TemperatureC.V != 30 || c.Tol.V != 0.002 ||
		c.Conductor.V != ConductorBar || c.Turns.Set || c.PitchM.Set {
		t.Errorf("S: %+v", c)
	}
	if c, ok := l.CalibrationOf("T"); !ok || c.Channel != "all" || c.Turns.V != 10 {
		t.Errorf("T: %+v", c)
	}
	l.Calibrations[0].Conductor.Set = false
	if c, _ := l.CalibrationOf("S"); c.Conductor.V != ConductorRibbon || c.Turns.V != 10 {
		t.Errorf("S without a conductor: %+v", c)
	}
	if _, ok := (&Layout{}).CalibrationOf("S"); ok {
		t.Error("a calibration out of nothing")
	}
	for k, want := range map[CalibrationKind]bool{CalibrationNone: false, CalibrationZero: false, CalibrationOnePoint: true, CalibrationTwoPoint: true, CalibrationMatrix: true} {
		if k.WithCurrent() != want {
			t.Errorf("%s: with current %v", k, !want)
		}
	}
}

func TestTripByFor(t *testing.T) {
	by := func(tap Tap) Choice[Tap] { return Choice[Tap]{V: tap, Set: true} }
	at := func(line int) Choice[Tap] {
		return Choice[Tap]{V: TapNumber, Span: span.Span{Start: span.Pos{Line: line, Column: 1}}}
	}
	for _, c := range []struct {
		name  string
		needs []Need
		want  Choice[Tap]
	}{
		{"none", nil, Choice[Tap]{}},
		{"own", []Need{{Channel: "S", TripBy: by(TapOutput)}, {Channel: "all", TripBy: by(TapFilter)}}, by(TapOutput)},
		{"all", []Need{{Channel: "all", TripBy: by(TapFilter)}, {Channel: "S", TripA: num(9)}}, by(TapFilter)},
		{"another", []Need{{Channel: "T", TripBy: by(TapFilter)}}, Choice[Tap]{}},
		{"place of own", []Need{{Channel: "all", TripBy: at(3)}, {Channel: "S", TripA: num(9), TripBy: at(5)}}, at(5)},
		{"place of all", []Need{{Channel: "all", TripA: num(9), TripBy: at(3)}, {Channel: "S", TripBy: at(5)}}, at(3)},
	} {
		l := Layout{Needs: c.needs}
		if got := l.TripByFor("S"); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}
