package probe

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/portable"
	"busgauss/model/waveform"
)

// views are the parts of a duty against which a change of a reading is held, one by one: the component in which the own
// current is largest, unless points draw it; direct part and fundamentals; these with their harmonics; these with ripple.
// A ratio that is the largest of all of them falls by nothing that a duty adds to its main part.
type views []view

type view struct {
	components []int
	ownT       float64 // sum of the own readings
}

// viewsOf returns the views of components with their own readings in which there is one.
func viewsOf(parts []waveform.Component, own []bounded.Phasor, pointed bool) views {
	var ranked [3]view
	largest := 0.0
	for i := range parts {
		a := portable.Abs(own[i].V)
		rank := firstView(&parts[i], pointed)
		for k := rank; k < len(ranked); k++ {
			ranked[k].components = append(ranked[k].components, i)
			ranked[k].ownT += a
		}
		if rank == 0 && !pointed {
			largest = math.Max(largest, a)
		}
	}
	var out views
	for i := range parts {
		a := portable.Abs(own[i].V)
		if largest > 0 && !pointed && firstView(&parts[i], pointed) == 0 && a >= largest*(1-noCurrent) {
			out = append(out, view{[]int{i}, a})
		}
	}
	for _, v := range ranked {
		if v.ownT != 0 { // what is not known is a view too
			out = append(out, v)
		}
	}
	return out
}

// wholeView is all components against an own reading that none of them gives.
func wholeView(parts []waveform.Component, ownT float64) view {
	out := view{ownT: ownT}
	for i := range parts {
		out.components = append(out.components, i)
	}
	return out
}

// rounding is the largest change, as a share, that arithmetic leaves of what stays as it is: of a turn of something
// round, of a shift along a long bar.
const rounding = 1e-9

// largest returns the largest share that change makes of the own reading of a view; change returns |a - b| of a component
// and the bound of that.
func (v views) largest(change func(i int) (by, bound float64)) bounded.Estimate {
	var out bounded.Estimate
	for _, one := range v {
		sum, bound := 0.0, 0.0
		for _, i := range one.components {
			by, more := change(i)
			sum, bound = sum+by, bound+more
		}
		if sum <= rounding*one.ownT {
			sum = 0
		}
		out = bounded.Most(out, bounded.Estimate{Value: sum / one.ownT, Low: math.Max(0, sum-bound) / one.ownT,
			High: (sum + bound) / one.ownT})
	}
	return out
}

// difference returns the share by which readings a differ from b. The errors of
// two places a tolerance apart are nearly the same, so their difference carries
// the bound in proportion to the change, not to the field.
func (v views) difference(a, b []bounded.Phasor) bounded.Estimate {
	return v.largest(func(i int) (float64, float64) {
		d := portable.Abs(a[i].V - b[i].V)
		if n := portable.Abs(b[i].V); n > 0 {
			return d, d * (b[i].Bound + b[i].Quad) / n
		}
		return d, 0
	})
}

// apart is difference for two fields that were solved on meshes of their own: both bounds count.
func (v views) apart(a, b []bounded.Phasor) bounded.Estimate {
	return v.largest(func(i int) (float64, float64) {
		return portable.Abs(a[i].V - b[i].V), a[i].Bound + a[i].Quad + b[i].Bound + b[i].Quad
	})
}
