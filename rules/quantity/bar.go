package quantity

import (
	"math"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/rules/enforce"
)

// bar is one bar with the model that answers for it.
type bar struct {
	*Facts
	i layout.BarIndex
	b *layout.Bar
}

func barQuantities() []definition[*bar] {
	return slices.Concat(barPlaces(), barCurrents(), barHeats())
}

// barPlaces returns what is known of a bar before a current flows.
func barPlaces() []definition[*bar] {
	return []definition[*bar]{
		text("metal", "name of its metal", func(b *bar) string { return b.b.Metal }),
		text("section", "form of its section: rectangle, round, outline", func(b *bar) string {
			switch b.b.Section.Kind {
			case layout.Rectangle:
				return "rectangle"
			case layout.Round:
				return "round"
			}
			return "outline"
		}),
		number("area", "m2", "area of its full section", func(b *bar) enforce.Value { return exactly(b.b.AreaM2()) }),
		number("least_size", "m", "smaller side of its section, the diameter of a round one, the smaller side of the box of an outline",
			func(b *bar) enforce.Value { return exactly(b.leastM()) }),
		number("temperature", "°C", "temperature that is declared, or else assumed (busgauss check --detail)",
			func(b *bar) enforce.Value { return exactly(b.b.TemperatureC.V) }),
		number("length", "m", "declared length, or that of the centre line of its run", func(b *bar) enforce.Value {
			switch run := b.b.Run; {
			case len(run) > 1:
				sum := 0.0
				for i := range run[1:] {
					sum += run[i+1].Point3().Sub(run[i].Point3()).Norm()
				}
				return exactly(sum)
			case b.b.LengthM.Set:
				return exactly(b.b.LengthM.V)
			}
			return undecided("it declares neither length nor run")
		}),
		number("cuts", "", "number of necks, notches, holes and slots in its plan",
			func(b *bar) enforce.Value { return exactly(float64(len(b.b.Cuts))) }),
		text("circuit", "name of the circuit that it stands in; its own name where none is declared",
			func(b *bar) string {
				c, _ := b.l.CircuitOf(b.i)
				return b.l.Circuits[c].ID
			}),
		number("channels", "", "number of sensors that read its current, alone or with its circuit",
			func(b *bar) enforce.Value {
				n := 0
				c, _ := b.l.CircuitOf(b.i)
				for i := range b.l.Sensors {
					if s := &b.l.Sensors[i]; s.Leg == b.i || s.Leg == layout.None && s.Circuit == c {
						n++
					}
				}
				return exactly(float64(n))
			}),
		text("nearest_bar", "the bar that stands nearest, surface to surface; empty for none", func(b *bar) string {
			if n, _ := b.nearest(); n != layout.None {
				return b.l.Bars[n].ID
			}
			return ""
		}),
		number("bar_distance", "m", "from its surface to that of the nearest other bar", func(b *bar) enforce.Value {
			n, gap := b.nearest()
			if n == layout.None {
				return undecided("there is no other bar")
			}
			return enforce.Num(gap.HighM, gap.LowM, gap.HighM)
		}),
	}
}

// barCurrents returns what a bar carries.
func barCurrents() []definition[*bar] {
	return slices.Concat(
		eachKind("current", "A",
			"its largest current over all time of %s duties, with its share of its circuit; 0 where it carries none",
			func(b *bar, k layout.DutyKind) enforce.Value {
				top := largest{e: bounded.Exact(0), any: true}
				b.duties(k, func(d *layout.Duty) { top.add(b.barPeakA(b.i, d)) })
				return top.value("")
			}),
		eachKind("rms_current", "A", "its largest rms current in %s duties; 0 where it carries none",
			func(b *bar, k layout.DutyKind) enforce.Value {
				return b.heat(k, func(h probe.Heat) float64 { return h.RMSA })
			}),
		eachKind("current_density", "A/m2", "largest rms current over the area of its section in %s duties",
			func(b *bar, k layout.DutyKind) enforce.Value {
				return b.heat(k, func(h probe.Heat) float64 { return h.DensityAPerM2 })
			}),
	)
}

// barHeats returns what its currents do to a bar.
func barHeats() []definition[*bar] {
	return []definition[*bar]{
		number("temperature_rise", "K",
			"over still air of 40 °C, bare and upright, in continuous duties (rule bar-heating)",
			func(b *bar) enforce.Value {
				if math.IsNaN(b.b.SigmaSPerM) {
					return undecided("its material declares no conductivity")
				}
				return b.heatBetween(layout.Continuous, func(h probe.Heat) bounded.Estimate {
					if h.LossWPerM == 0 {
						return bounded.Exact(0)
					}
					r := b.m.Rise(b.i, h)
					return bounded.Estimate{Value: r.K, Low: r.K, High: r.UpToK}
				})
			}),
		number("heating_density", "A/m2",
			"even current density that would heat it as much as the crowded one, in continuous duties",
			func(b *bar) enforce.Value {
				return b.heat(layout.Continuous, func(h probe.Heat) float64 {
					if h.RMSA == 0 {
						return 0
					}
					return h.EvenDensityAPerM2()
				})
			}),
		number("loss", "W", "heat that it makes over its length in continuous duties, eddy currents counted",
			func(b *bar) enforce.Value {
				length := ask(barQuantities(), "length", b)
				switch {
				case !length.Known:
					return length
				case math.IsNaN(b.b.SigmaSPerM):
					return undecided("its material declares no conductivity")
				}
				return b.heat(layout.Continuous, func(h probe.Heat) float64 { return h.LossWPerM * length.Value })
			}),
		number("frequency", "Hz", "highest fundamental frequency of its current in all duties; 0 for direct current only",
			func(b *bar) enforce.Value { return exactly(b.highestHz(b.i)) }),
		number("skin_ratio", "", "least_size over the skin depth at frequency; 0 at direct current",
			func(b *bar) enforce.Value {
				hz := b.highestHz(b.i)
				if hz == 0 {
					return exactly(0)
				}
				depth := closedform.SkinDepthM(hz, b.b.SigmaSPerM, b.b.MuRel)
				if math.IsNaN(depth) {
					return undecided("its material declares no conductivity")
				}
				return exactly(b.leastM() / depth)
			}),
	}
}

func (b *bar) leastM() float64 {
	switch s := &b.b.Section; s.Kind {
	case layout.Rectangle:
		return min(s.WidthM.V, s.ThicknessM.V)
	case layout.Round:
		return s.DiameterM.V
	default:
		size := s.Corners.Box().Size()
		return min(size.X, size.Y)
	}
}

// nearest returns the bar at the least distance; None without another.
func (b *bar) nearest() (layout.BarIndex, layout.Gap) {
	best, least := layout.BarIndex(layout.None), layout.Gap{}
	for i := range b.l.Bars {
		if layout.BarIndex(i) == b.i {
			continue
		}
		gap, err := b.l.SurfaceGap(b.b.ID, b.l.Bars[i].ID)
		if err != nil { // not followed in space: the section says how far at most
			d, _, _ := geom.GapM(b.b.Polygon(), b.l.Bars[i].Polygon())
			gap = layout.Gap{HighM: d}
		}
		if best == layout.None || gap.HighM < least.HighM {
			best, least = layout.BarIndex(i), gap
		}
	}
	return best, least
}

// barPeakA returns the largest current of a bar in duty d.
func (f *Facts) barPeakA(i layout.BarIndex, d *layout.Duty) (bounded.Estimate, error) {
	current, err := f.m.BarCurrent(i, d)
	if err != nil {
		return bounded.Estimate{}, err
	}
	peak := current.PeakAbs()
	return bounded.Estimate{Value: peak.Value, Low: peak.Low, High: peak.High}, nil
}

// highestHz returns the highest fundamental frequency of the circuit of a bar; 0 where the bar has no share in it.
func (b *bar) highestHz(i layout.BarIndex) float64 {
	c, member := b.l.CircuitOf(i)
	top := 0.0
	for _, u := range b.m.Uses() {
		if u.Part.Fundamental() && u.Part.PeakA[c] != 0 && member.Factor != 0 {
			top = math.Max(top, u.Part.FreqHz)
		}
	}
	return top
}

// heat returns the largest of what pick makes of the load in duties of a kind; 0
// where there are none.
func (b *bar) heat(k layout.DutyKind, pick func(probe.Heat) float64) enforce.Value {
	return b.heatBetween(k, func(h probe.Heat) bounded.Estimate { return bounded.Exact(pick(h)) })
}

// heatBetween is heat for what has bounds.
func (b *bar) heatBetween(k layout.DutyKind, pick func(probe.Heat) bounded.Estimate) enforce.Value {
	top := largest{e: bounded.Exact(0), any: true}
	b.duties(k, func(d *layout.Duty) {
		h, err := b.m.Heat(b.i, d)
		top.add(pick(h), err)
	})
	return top.value("")
}
