package channel

// Battery is a channel that counts charge in and out of a store.
type Battery struct {
	ChargeAh float64 // of the full store
}

// Count is an error of a charge count.
type Count struct {
	Ah    float64
	Share float64 // of the full charge
}

// Drift returns what a constant error of errorA amperes counts in hours:
//
//	ΔQ = I t,   share = ΔQ/Q
//
// 0.5 A for 10 h on 100 Ah: 5 Ah, 5 %. Sign as the error. A charge that is not
// positive gives a share of NaN or infinite.
// Common practice (charge is the integral of current).
func (b Battery) Drift(errorA, hours float64) Count {
	ah := errorA * hours
	return Count{Ah: ah, Share: ah / b.ChargeAh}
}

// PerDay returns what a constant error counts in 24 hours.
func (b Battery) PerDay(errorA float64) Count { return b.Drift(errorA, 24) }

// Cycle returns the error in share of full charge that a gain error leaves after
// a full discharge: gain share itself; charging back cancels it when the gain does
// not change between the two.
func (b Battery) Cycle(gainShare float64) Count {
	return Count{Ah: gainShare * b.ChargeAh, Share: gainShare}
}

// HoursUntil returns after how many hours a constant error has counted a share
// of the full charge: when the count must be set right from elsewhere.
func (b Battery) HoursUntil(share, errorA float64) float64 {
	return share * b.ChargeAh / errorA
}
