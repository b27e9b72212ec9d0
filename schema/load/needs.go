package load

import (
	"busgauss/model/layout"
	"busgauss/model/si"
)

// needs reads what channels must do.
func (r *reader) needs(section *spot) {
	for _, s := range section.members() {
		s.name = "need of " + quote(s.key)
		s.channel("a need", true)
		r.out.Needs = append(r.out.Needs, need(s))
	}
}

func need(s *spot) layout.Need {
	n := layout.Need{Channel: s.key, Span: s.edit}
	if !s.mapping() {
		return n
	}
	n.Accuracy = s.at("accuracy").share(budget())
	n.SmallestCurrentA = s.at("smallest-current").quantity(si.Current, positive())
	n.RangeA = s.at("range").quantity(si.Current, positive())
	n.BandwidthHz = s.at("bandwidth").quantity(si.Frequency, positive())
	trip := s.at("trip")
	trip.mapping()
	n.TripA = trip.at("current").need().quantity(si.Current, positive())
	n.TripWithinS = trip.at("within").need().quantity(si.Time, positive())
	n.TripBy = choice(trip.at("by"), layout.TapNumber, layout.TapOutput, layout.TapFilter)
	n.TripSwitchingS = trip.at("switching").quantity(si.Time, notNegative())
	n.TripSupplyV = trip.at("supply").quantity(si.Voltage, positive())
	n.TripInductanceH = trip.at("inductance").quantity(si.Inductance, positive())
	lag := s.at("lag")
	lag.mapping()
	n.LagRad = lag.at("angle").need().quantity(si.Angle, bounds{kind: moreThanLo, unit: "rad"})
	n.LagAtHz = lag.at("at").need().quantity(si.Frequency, ripple())
	battery := s.at("battery")
	battery.mapping()
	n.BatteryChargeAs = battery.at("charge").need().quantity(si.Charge, positive())
	n.BatteryPerDay = battery.at("per-day").share(budget())
	n.Stray = s.at("stray").share(budget())
	n.AmbientA = s.at("ambient").quantity(si.Current, positive())
	n.Placement = s.at("placement").share(budget())
	n.RangeUse = s.at("range-use").share(bounds{kind: moreThanLoToHi, hi: 1, why: "a share of the linear range"})
	return n
}

// budget takes shares above nothing and below the whole.
func budget() bounds {
	return bounds{kind: moreThanLoBelowHi, hi: 1, why: "1 is the whole; one per cent is 1 % or 0.01"}
}
