package field

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// wall returns the flux density of a piece of iron for currents of the bars.
func (p *phasorField) wall(f *Field, piece int, zM float64, peakA []complex128) Wall {
	of := p.of
	if p.walls != nil {
		of = p.walls()
	}
	w := of.Wall(piece, peakA)
	slack, rms := 0.0, 0.0
	if p.parts != nil {
		part := func(k int, of func(b layout.BarIndex) float64) (peakT, rmsT float64) {
			in := make([]complex128, partsOf*len(peakA))
			for b, a := range peakA {
				in[partsOf*b+k] = portable.Times(a, complex(of(layout.BarIndex(b)), 0))
			}
			v := p.parts.Wall(piece, in)
			return math.Max(v.PeakT, v.EndT), v.RmsT
		}
		for k, of := range [partsOf]func(layout.BarIndex) float64{
			allEddies:  func(layout.BarIndex) float64 { return strandEnds(f, zM) + eddyMesh },
			ironEddies: func(b layout.BarIndex) float64 { return p.ironDoubt(b, true, 1, 0) },
			smoothing:  func(b layout.BarIndex) float64 { return p.ironDoubt(b, true, 0, 1) },
		} {
			peak, r := part(k, of)
			slack += peak
			rms += r
		}
	}
	return Wall{
		Peak: bounded.Around(w.PeakT, w.PeakBoundT+slack), RMS: rmsOf(known(w.RmsT, w.RmsBoundT+rms)),
		Most: mostOf(w, slack),
	}
}
