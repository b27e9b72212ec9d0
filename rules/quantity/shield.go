package quantity

import (
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/rules/enforce"
)

// shield is one shield with the model that answers for it.
type shield struct {
	*Facts
	i   layout.ShieldIndex
	k   *layout.Shield
	mat *layout.Material
}

func shieldQuantities() []definition[*shield] {
	return slices.Concat([]definition[*shield]{
		text("material", "name of its material", func(k *shield) string { return k.mat.ID }),
		text("form", "its form: channel, plate, ring, outline", func(k *shield) string {
			switch k.k.Form.Kind {
			case layout.Channel:
				return "channel"
			case layout.Plate:
				return "plate"
			case layout.Ring:
				return "ring"
			}
			return "outline"
		}),
		flag("is_iron", "its material has a permeability above 1 or a curve", func(k *shield) bool { return k.mat.Magnetic() }),
		flag("is_long", "it is declared long", func(k *shield) bool { return k.k.Long }),
		number("depth", "m", "its depth along z", func(k *shield) enforce.Value {
			if !k.k.DepthM.Set {
				return undecided("it declares no depth, or is long")
			}
			return exactly(k.k.DepthM.V)
		}),
		number("wall", "m", "thickness of its wall; of an outline from that of a bent strip to the smaller side of its box",
			func(k *shield) enforce.Value { return valued(probe.WallM(k.k)) }),
		number("saturation", "T", "saturation polarisation of its material, declared or of the last point of its curve",
			func(k *shield) enforce.Value {
				sat, open := k.saturation()
				if open != "" {
					return undecided("%s", open)
				}
				return exactly(sat)
			}),
	},
		eachKind("wall_flux_density", "T", "largest flux density of its wall in %s duties, all frequencies at their worst phase",
			func(k *shield, kind layout.DutyKind) enforce.Value { return k.wallOver(kind, 1) }),
		[]definition[*shield]{
			number("saturation_share", "1",
				"largest flux density of its wall over saturation, in all duties (rule shield-saturation)",
				func(k *shield) enforce.Value {
					sat, open := k.saturation()
					if open != "" {
						return undecided("%s", open)
					}
					return k.wallOver(anyDuty, 1/sat)
				}),
			number("remanence_current", "A",
				"largest offset that it may leave, as a current of its nearest channel (rule shield-remanence)",
				func(k *shield) enforce.Value { return k.remanence(func(*layout.Sensor) float64 { return 1 }) }),
			number("remanence_share", "1", "remanence_current over the full scale of the nearest channel (rule shield-remanence)",
				func(k *shield) enforce.Value { return k.remanence(k.m.FullScaleA) }),
			number("sheet_loss", "1", "share by which the permeability of its sheet, or solid wall, falls at the worst frequency of all duties (rule shield-sheet)", sheetLoss),
			text("nearest_channel", "the sensor that stands nearest; empty for none", func(k *shield) string {
				if i := probe.NearestSensor(k.l, k.i); i != layout.None {
					return k.l.Sensors[i].ID
				}
				return ""
			}),
		})
}

// anyDuty stands for every kind of duty.
const anyDuty layout.DutyKind = 255

func (k *shield) saturation() (satT float64, open string) {
	if !k.mat.Magnetic() {
		return 0, "it is not magnetic"
	}
	sat, ok := k.m.LeastSaturationT(k.i)
	if !ok {
		return 0, "its material declares no saturation and no curve"
	}
	return sat, ""
}

func (k *shield) wallOver(kind layout.DutyKind, factor float64) enforce.Value {
	if !k.mat.Magnetic() {
		return undecided("it is not magnetic")
	}
	var top largest
	for i := range k.l.Duties {
		d := &k.l.Duties[i]
		if kind == anyDuty || d.Kind == kind {
			wall, err := k.m.FullWall(k.i, d)
			top.add(wall.Scale(factor), err)
		}
	}
	if kind == anyDuty {
		return top.value("the layout has no duty")
	}
	return top.value("the layout has no %s duty", kind)
}

func (k *shield) remanence(over func(*layout.Sensor) float64) enforce.Value {
	if !k.mat.Magnetic() {
		return exactly(0)
	}
	at := probe.NearestSensor(k.l, k.i)
	if at == layout.None {
		return undecided("no sensor stands near it")
	}
	s := &k.l.Sensors[at]
	if near := probe.NearestIron(k.l, s); near != k.i {
		return undecided("its nearest sensor stands nearer to shield %q", k.l.Shields[near].ID)
	}
	full := over(s)
	if full == 0 {
		return undecided("the bar of sensor %q carries no continuous or peak current, so it has no full scale", s.ID)
	}
	amps, err := k.m.RemanenceA(s)
	return estimated(bounded.Exact(amps/full), err)
}

func sheetLoss(k *shield) enforce.Value {
	uses := k.m.Uses()
	switch {
	case !k.mat.Magnetic():
		return undecided("it is not magnetic")
	case len(uses) == 0:
		return exactly(0)
	case !k.mat.SigmaSPerM.Set:
		return undecided("its material declares no conductivity: declare it, 0 S/m where it insulates")
	case k.mat.SigmaSPerM.V == 0:
		return exactly(0)
	}
	var top largest
	for _, u := range uses {
		sheet, err := k.m.Sheet(k.i, u)
		top.add(sheet.Loss, err)
	}
	return top.value("")
}
