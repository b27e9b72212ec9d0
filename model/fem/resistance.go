package fem

import "busgauss/model/portable"

// Resistance is what a bar does with one ampere at a frequency.
type Resistance struct {
	DCOhmPerM    float64 // 1/(σ S); of the whole group when bonded
	TotalOhmPerM float64 // real part of voltage per metre over current: all losses of the plane, shields and idle bars included
	OwnOhmPerM   float64 // loss in the bar itself (or its group) over the square of the current
	TotalRatio   float64 // TotalOhmPerM/DCOhmPerM
	OwnRatio     float64 // R_ac/R_dc of the bar
	RatioBound   float64 // half-width of the error of TotalRatio
}

// Resistance returns the resistance of bar number bar, all other bars carrying no
// net current. Loss in W/m of a current of rms value I is OwnOhmPerM·I².
func (s *Solution) Resistance(bar int) Resistance {
	c := s.srcs[bar].(*current)
	siemens := 0.0
	for _, piece := range c.pieces {
		siemens += float64(piece.SigmaSPerM * piece.areaM2())
	}
	dc := 1 / siemens
	if s.engine == nil || s.FreqHz == 0 {
		return Resistance{DCOhmPerM: dc, TotalOhmPerM: dc, OwnOhmPerM: dc, TotalRatio: 1, OwnRatio: 1}
	}
	r := s.engine.resistance(s.bars[bar], bar)
	r.DCOhmPerM = dc
	r.RatioBound = r.RatioBound/dc + reactionFloor
	r.TotalRatio, r.OwnRatio = r.TotalOhmPerM/dc, r.OwnOhmPerM/dc
	return r
}

// LossesWPerM returns the loss in each piece, in watts per metre, for currents given
// as peak phasors, one a bar: eddy currents and conduction; hysteresis is not in
// it, nor the eddy currents inside sheets. At direct current only bars have losses.
func (s *Solution) LossesWPerM(currents []complex128) []float64 {
	if len(currents) != len(s.bars) {
		panic("fem: one current for each bar")
	}
	if s.engine != nil && s.FreqHz > 0 {
		return s.engine.losses(currents)
	}
	out := make([]float64, len(s.p.Pieces))
	density := make([]complex128, len(s.p.Pieces))
	for j, c := range currents {
		src := s.srcs[j].(*current)
		for i, k := range src.index {
			density[k] += portable.Times(c, complex(src.shares[i]/src.pieces[i].areaM2(), 0))
		}
	}
	for k := range out {
		if a := cabs(density[k]); a > 0 {
			out[k] = a * a / (2 * s.p.Pieces[k].SigmaSPerM) * s.p.Pieces[k].areaM2()
		}
	}
	return out
}

func (l *linear[T]) resistance(piece, src int) Resistance {
	c := l.r.drives[src].src.(*current)
	currents := make([]complex128, len(l.r.drives)-2)
	currents[src] = 1
	loss := l.losses(currents)
	var r Resistance
	for _, k := range c.index {
		r.OwnOhmPerM += 2 * loss[k]
	}
	// Voltage per metre is −U, and U = −Js/σ + jω v.
	g := l.s.g
	for k, idx := range g.d.index {
		if idx != piece {
			continue
		}
		sigma, area := g.d.pieces[k].SigmaSPerM, g.d.pieces[k].areaM2()
		omega := imag(g.d.media[k].mass) / (mu0 * sigma)
		share := 0.0
		for i, j := range c.index {
			if j == piece {
				share = c.shares[i]
			}
		}
		u := complex(-share/(sigma*area), 0) + portable.Times(complex(0, omega), toComplex(l.r.v[src][k]))
		r.TotalOhmPerM = -real(u)
		// The source of a bar is its own adjoint for the voltage: the error is that of
		// an energy.
		sum := 0.0
		for _, e := range l.r.eta[src] {
			sum += float64(e * e)
		}
		r.RatioBound = boundSafety * omega * sum / mu0
	}
	return r
}

// losses returns ½ ∫ |J|²/σ for each piece.
func (l *linear[T]) losses(currents []complex128) []float64 {
	g := l.s.g
	out := make([]float64, len(l.p.Pieces))
	density := make([]complex128, len(g.d.pieces))
	for j, c := range currents {
		src, ok := l.r.drives[j].src.(*current)
		if !ok {
			continue
		}
		for i, idx := range src.index {
			for k := range g.d.index {
				if g.d.index[k] == idx {
					density[k] += portable.Times(c, complex(src.shares[i]/g.d.pieces[k].areaM2(), 0))
				}
			}
		}
	}
	for t := range g.q.Tris {
		if !g.conducts(t) {
			continue
		}
		k := g.piece[t]
		sigma := g.d.pieces[k].SigmaSPerM
		factor := portable.Quotient(toComplex(l.s.mass[k]), mu0)
		var jz [6]complex128
		for i := range jz {
			jz[i] = density[k]
		}
		for j, c := range currents {
			if c == 0 {
				continue
			}
			a := l.r.total(j, t)
			for i := range a {
				jz[i] -= portable.Times(portable.Times(c, factor), toComplex(a[i]+l.r.v[j][k]))
			}
		}
		m := g.mass(t)
		for i := range 6 {
			for j := range 6 {
				out[g.d.index[k]] += m[i][j] * (float64(real(jz[i])*real(jz[j])) + float64(imag(jz[i])*imag(jz[j]))) / (2 * sigma)
			}
		}
	}
	return out
}
