package fem

import (
	"math"
	"math/cmplx"

	"busgauss/model/portable"
)

// ImpedanceOhmPerM returns the voltage along bar i, in volts per metre, for one
// ampere in bar j, all other bars and all shields carrying no net current: the
// phasor of R + jωL, positive where the voltage falls in the direction of the
// current. With the unknown v of the conducting pieces (package comment) and the
// impressed density Js of bar j, both per ampere,
//
//	Z_ij = Js/σ in bar i − jω v_i
//
// Js is zero in bar i unless it is bar j or bonded to it. Bars of a bonded group
// have the same rows and columns, and the ampere is that of the whole group.
//
// Potentials are taken to vanish one metre from a filament, since the return of
// each ampere is at infinity. A constant in all entries, real or imaginary, thus
// has no meaning: it cancels where the currents of all bars sum to zero, and in
// the difference of two voltages for any currents that are given. Such a
// difference is what divides currents over bars joined at both ends.
//
// At 0 Hz the entries are 1/(σ S), of the group where bars are bonded, and zero
// off the diagonal. Above 0 Hz bars of solid metal always have elements, so that
// no closed form is wanted; a bar of sheets on edge has no voltage of its own:
// NaN. Z_ij and Z_ji agree within ImpedanceBoundOhmPerM. A bar that does not exist
// panics.
//
// Source: Faraday's and Ohm's laws in a long conductor; matrix of voltages per
// length: F. W. Grover, Inductance Calculations, Van Nostrand 1946 (from memory).
func (s *Solution) ImpedanceOhmPerM(i, j int) complex128 {
	s.checkBars(i, j)
	c := s.srcs[j].(*current)
	impressed := 0.0
	for m, k := range c.index {
		if k == s.bars[i] {
			impressed = c.shares[m] / (c.pieces[m].SigmaSPerM * c.pieces[m].areaM2())
		}
	}
	if s.FreqHz == 0 {
		return complex(impressed, 0)
	}
	if s.engine == nil {
		return cmplx.NaN()
	}
	induced, _ := s.engine.induced(s.bars[i], i, j)
	return complex(impressed, 0) + portable.Times(complex(0, float64(2*math.Pi*s.FreqHz)), induced)
}

// ImpedanceBoundOhmPerM returns the half-width of the error of |ΔZ_ij| in ohms per
// metre, a bar being its own adjoint for the voltage: the product of two errors in
// the energy norm, as for points. NaN where ImpedanceOhmPerM is.
func (s *Solution) ImpedanceBoundOhmPerM(i, j int) float64 {
	s.checkBars(i, j)
	if s.FreqHz == 0 {
		return roundingRel * portable.Abs(s.ImpedanceOhmPerM(i, j))
	}
	if s.engine == nil {
		return math.NaN()
	}
	_, bound := s.engine.induced(s.bars[i], i, j)
	return 2 * math.Pi * s.FreqHz * bound
}

func (s *Solution) checkBars(i, j int) {
	if i < 0 || j < 0 || i >= len(s.bars) || j >= len(s.bars) {
		panic("fem: no such bar")
	}
}

// induced returns −v of a piece, that of bar number bar, for source src, and the
// half-width of its error, in Wb/m for each ampere; NaN for a piece without eddy
// currents.
func (l *linear[T]) induced(piece, bar, src int) (complex128, float64) {
	d := l.s.g.d
	for k, idx := range d.index {
		if idx != piece || !d.media[k].conducts {
			continue
		}
		v := toComplex(l.r.v[src][k])
		sum := 0.0
		for t, e := range l.r.eta[src] {
			sum += float64(e * l.r.eta[bar][t])
		}
		return -v, l.safety()*sum/mu0 + float64(reactionFloor*portable.Abs(v))
	}
	return cmplx.NaN(), math.NaN()
}
