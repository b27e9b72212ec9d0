package load

import (
	"math"
	"slices"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

// Every key of the format in one file, each value in SI by hand.
func TestFullObjects(t *testing.T) {
	l := mustLoad(t, "full.yaml", full(t))
	u, v, w, x := l.Bars[0], l.Bars[1], l.Bars[2], l.Bars[3]
	near(t, "z of U", u.At.Z.V, 1e-3)
	near(t, "turn of U", u.TurnRad.V, 90*deg)
	near(t, "length of U", u.LengthM.V, 0.3)
	near(t, "diameter of V", v.Section.DiameterM.V, 8e-3)
	if v.Section.Kind != layout.Round || v.Metal != "bronze" || v.Material != 2 || len(v.Run) != 3 || v.LengthM.Set {
		t.Errorf("bar V: %+v", v)
	}
	near(t, "run of V", v.Run[2].Z.V, 20e-3)
	near(t, "conductivity of V", v.SigmaSPerM, 9e6)
	near(t, "area of W", w.AreaM2(), 50e-6)
	if w.Section.Corners.SignedAreaM2() <= 0 {
		t.Error("clockwise outline is not normalised")
	}
	if x.Material != 0 || !math.IsNaN(x.MuRel) {
		t.Errorf("bar X of iron with a curve: %+v", x)
	}

	ku, kv, kp, ko := l.Shields[0], l.Shields[1], l.Shields[2], l.Shields[3]
	near(t, "opening", ku.Form.OpeningM.V, 24e-3)
	near(t, "leg", ku.Form.LegM.V, 16e-3)
	near(t, "wall", ku.Form.WallM.V, 1.5e-3)
	near(t, "depth", ku.DepthM.V, 12e-3)
	near(t, "z of KU", ku.At.Z.V, 2e-3)
	near(t, "inner", kv.Form.InnerM.V, 30e-3)
	near(t, "slit", kv.Form.SlitM.V, 2e-3)
	near(t, "plate width", kp.Form.WidthM.V, 0.1)
	near(t, "plate thickness", kp.Form.ThicknessM.V, 2e-3)
	near(t, "area of KO", ko.Form.Corners.AreaM2(), 25e-6)
	if ku.Form.Kind != layout.Channel || kv.Form.Kind != layout.Ring || kp.Form.Kind != layout.Plate ||
		ko.Form.Kind != layout.ShieldOutline || ku.Material != 0 || kp.Material != 1 {
		t.Errorf("shields: %+v", l.Shields)
	}

	core, soft := l.Materials[0], l.Materials[1]
	if len(core.Curve) != 3 || core.Curve[1].FieldAPerM != 60 || core.Curve[2].FluxDensityT != 1.4 || core.Source != "invented" {
		t.Errorf("core: %+v", core)
	}
	near(t, "coercivity", core.CoercivityAPM.V, 12)
	near(t, "conductivity", core.SigmaSPerM.V, 2e6)
	near(t, "sheet", core.SheetM.V, 0.3e-3)
	near(t, "permeability", soft.MuRel.V, 900)
	near(t, "saturation", soft.SaturationT.V, 1.6)
	near(t, "lowest temperature", soft.TemperatureFromC.V, -20)
	near(t, "highest temperature", soft.TemperatureToC.V, 100)
	near(t, "measured at", soft.MeasuredAtC.V, 30)
	near(t, "measured at by default", core.MeasuredAtC.V, 25)
	near(t, "saturation coefficient", soft.SaturationPerK.V, -1e-3)
	near(t, "tolerance of saturation", soft.SaturationTol.V, 0.04)
	near(t, "tolerance of permeability", soft.PermeabilityTol.V, 0.2)
	near(t, "tolerance of conductivity", soft.ConductivityTol.V, 0.06)
	near(t, "tolerance of the wall", ku.WallTolM.V, 0.1e-3)
	near(t, "tolerance of the opening", ku.OpeningTolM.V, 0.3e-3)

	su, sv := l.Sensors[0], l.Sensors[1]
	if su.Axis.U.X != 0 || su.Axis.U.Y != 0.6000000000000001 && su.Axis.U.Y != 0.6 || su.Axis.AngleRad.Set {
		t.Errorf("axis of SU: %+v", su.Axis)
	}
	near(t, "axis z of SU", su.Axis.U.Z, 0.8)
	near(t, "z of SU", su.At.Z.V, 3e-3)
	near(t, "spacing", sv.Pair.SpacingM.V, 2.5e-3)
	near(t, "along", sv.Pair.AlongRad.V, 30*deg)
	if sv.Part != 1 || sv.Reads != 1 {
		t.Errorf("sensor SV: %+v", sv)
	}
}

func TestFullChain(t *testing.T) {
	l := mustLoad(t, "full.yaml", full(t))
	flat, tall := l.Parts[0], l.Parts[1]
	near(t, "low", flat.LinearLowT.V, -0.020)
	near(t, "high", flat.LinearHighT.V, 0.035)
	near(t, "life", flat.SensitivityLife.V, 0.02)
	near(t, "supply", flat.SupplyV.V, 5)
	near(t, "supply tolerance", flat.SupplyTol.V, 0.03)
	near(t, "noise density", flat.NoiseVPerRtHz.V, 2e-6)
	near(t, "order", flat.Order.V, 2)
	near(t, "hysteresis", flat.HysteresisT.V, 20e-6)
	near(t, "non-linearity", flat.NonLinearity.V, 0.003)
	near(t, "from", flat.TemperatureFromC.V, -40)
	near(t, "to", flat.TemperatureToC.V, 125)
	near(t, "body width", flat.BodyWidthM.V, 5e-3)
	near(t, "body height", flat.BodyHeightM.V, 1.5e-3)
	near(t, "element height", flat.BodyElementHeightM.V, 0.4e-3)
	if !flat.Ratiometric || !flat.RatiometricSet || tall.RatiometricSet {
		t.Errorf("ratiometric %v, %v", flat.Ratiometric, tall.RatiometricSet)
	}
	// 1 T = 10 000 G, so 50 G is 5 mT and 20 mV/G is 200 mV/mT.
	near(t, "range in gauss", tall.LinearHighT.V, 5e-3)
	near(t, "sensitivity in gauss", tall.SensitivityVPerT.V, -200)
	near(t, "offset", tall.OffsetV.V, -1e-3)
	near(t, "noise", tall.NoiseV.V, 1e-3)

	r := l.Readout
	near(t, "converter", r.Converter.HighV.V, 3.3)
	near(t, "bits", r.Converter.Bits.V, 12)
	near(t, "top", r.Divider.TopOhm.V, 4700)
	near(t, "bottom", r.Divider.BottomOhm.V, 10000)
	near(t, "gain", r.Amplifier.Gain.V, -2)
	near(t, "amplifier zero", r.Amplifier.ZeroV.V, 1.65)
	near(t, "corner", r.Filter.CornerHz.V, 20e3)
	near(t, "filter order", r.Filter.Order.V, 3)
	near(t, "rate", r.Sampling.RateHz.V, 16e3)
	near(t, "sampling delay", r.Sampling.DelayS.V, 5e-6)
	near(t, "width", r.Number.Width.V, 16)
	near(t, "per count", r.Number.PerCountA.V, 0.05)
	near(t, "slope", r.Firmware.SlopeAPerCount.V, 0.32)
	near(t, "zero", r.Firmware.ZeroCounts.V, 2048.5)
	if !r.Given || !r.Number.Signed {
		t.Errorf("readout: %+v", r)
	}
}

func TestFullDuties(t *testing.T) {
	l := mustLoad(t, "full.yaml", full(t))
	climb, start := l.Duties[0], l.Duties[1]
	if climb.ThreePhase.Circuits != [3]layout.CircuitIndex{2, 1, 0} ||
		!slices.Equal(climb.Ripple.Circuits, []layout.CircuitIndex{0, 1}) {
		t.Errorf("climb: %+v, %+v", climb.ThreePhase, climb.Ripple)
	}
	near(t, "direct part", climb.Currents[0].DCA.V, -30)
	near(t, "ripple phase", climb.Ripple.Amount.PhaseRad.V, 10*deg)
	if len(climb.Harmonics) != 3 {
		t.Fatalf("harmonics: %+v", climb.Harmonics)
	}
	near(t, "order", climb.Harmonics[0].Order.V, 5)
	near(t, "share", climb.Harmonics[0].Share.V, 0.04)
	near(t, "harmonic peak", climb.Harmonics[1].Amount.PeakA.V, 6)
	near(t, "harmonic phase", climb.Harmonics[1].Amount.PhaseRad.V, 90*deg)
	near(t, "harmonic rms", climb.Harmonics[2].Amount.RMSA.V, 2)
	near(t, "rms of U", start.Currents[0].RMSA.V, 500)
	near(t, "phase of U", start.Currents[0].PhaseRad.V, 30*deg)
	near(t, "peak of V", start.Currents[1].PeakA.V, 700)

	s := l.Surroundings
	near(t, "uniform", s.Uniform.FluxDensityT.V, 50e-6)
	near(t, "direction", s.Uniform.DirectionRad.V, 45*deg)
	near(t, "immunity", s.Immunity.RMSAPerM.V, 30)
	near(t, "immunity frequency", s.Immunity.FreqHz.V, 50)
	near(t, "wire", s.Wires[0].Amount.RMSA.V, 40)
	near(t, "wire frequency", s.Wires[0].FreqHz.V, 50)
	near(t, "rail", s.Wires[1].Amount.DCA.V, -15)
	near(t, "rail y", s.Wires[1].At.Y.V, 0.9)
	near(t, "disc", s.Magnets[0].DiameterM.V, 30e-3)
	near(t, "remanence", s.Magnets[1].RemanenceT.V, 0.4)
	near(t, "block depth", s.Magnets[1].DepthM.V, 20e-3)
	if s.Magnets[0].Kind != layout.Disc || s.Magnets[1].Kind != layout.Block || s.Magnets[1].U != (geom.Point3{Z: -1}) ||
		s.Magnets[0].U != (geom.Point3{Y: 1}) || !s.ReturnFar || !s.Given {
		t.Errorf("surroundings: %+v", s)
	}
}

func TestFullNeeds(t *testing.T) {
	l := mustLoad(t, "full.yaml", full(t))
	a, b := l.Insulation[0], l.Insulation[1]
	if a.Between != [2]string{"U", "V"} || a.Kind != "reinforced" || !a.KindSet || a.Group != "II" || !a.GroupSet ||
		!a.PrintedBoard || !a.WorkingIsDC || a.SupplyIsDC {
		t.Errorf("insulation 1: %+v", a)
	}
	near(t, "working", a.WorkingV.V, 800)
	near(t, "supply", a.SupplyV.V, 400)
	near(t, "category", a.Category.V, 3)
	near(t, "impulse", a.ImpulseV.V, 6000)
	near(t, "pollution degree", a.PollutionDegree.V, 3)
	near(t, "altitude", a.AltitudeM.V, 3500)
	near(t, "clearance", a.ClearanceM.V, 9e-3)
	near(t, "creepage", a.CreepageM.V, 12e-3)
	if b.Between != [2]string{"SU", "KU"} || b.Kind != "basic" || b.KindSet || b.Group != "IIIa" || b.GroupSet {
		t.Errorf("insulation 2: %+v", b)
	}
	open(t, "pollution degree", b.PollutionDegree, 2)
	open(t, "altitude", b.AltitudeM, 2000)
	open(t, "working", b.WorkingV, math.NaN())

	all, sv := l.Needs[0], l.Needs[1]
	near(t, "accuracy", all.Accuracy.V, 0.02)
	near(t, "smallest", all.SmallestCurrentA.V, 2)
	near(t, "range", all.RangeA.V, 700)
	near(t, "bandwidth", all.BandwidthHz.V, 20e3)
	near(t, "stray", all.Stray.V, 0.01)
	near(t, "ambient", all.AmbientA.V, 3)
	near(t, "placement", all.Placement.V, 0.02)
	near(t, "range use", all.RangeUse.V, 0.6)
	near(t, "trip", sv.TripA.V, 900)
	near(t, "within", sv.TripWithinS.V, 20e-6)
	if all.Channel != "all" || sv.Channel != "SV" {
		t.Errorf("channels %q, %q", all.Channel, sv.Channel)
	}
	if len(l.Bonded) != 2 || !slices.Equal(l.Bonded[0].Bars, []layout.BarIndex{0}) ||
		!slices.Equal(l.Bonded[0].Shields, []layout.ShieldIndex{0}) || !slices.Equal(l.Bonded[1].Bars, []layout.BarIndex{1, 3}) {
		t.Errorf("bonded: %+v", l.Bonded)
	}
}
