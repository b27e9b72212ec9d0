package probe

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/closedform"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// SheetLoss returns the share by which the mean permeability of a sheet falls at
// freqHz since eddy currents in it keep the flux out of its middle, 0 to 1:
//
//	1 − |tanh(x)/x|,  x = (1+j) d/(2δ)
//
// with d the thickness and δ the skin depth. Valid for flux along a wide sheet of
// linear material. A conductivity of zero gives 0; what is no skin depth gives NaN.
//
// Source: J. Lammeraner, M. Štafl, Eddy Currents, Iliffe 1966, chapter on thin
// plates (from memory).
func SheetLoss(thicknessM, freqHz, sigmaSPerM, muRel float64) float64 {
	if sigmaSPerM == 0 || freqHz == 0 {
		return 0
	}
	a := thicknessM / (2 * closedform.SkinDepthM(freqHz, sigmaSPerM, muRel))
	if a > 300 { // tanh is 1 long before it overflows
		return 1 - 1/(a*math.Sqrt2)
	}
	if a < 1e-3 { // 1 - |tanh(x)/x| = 14 a⁴/45 + ..., below rounding of the difference
		return 14.0 / 45 * a * a * a * a
	}
	x := complex(a, a)
	return 1 - portable.Abs(portable.Quotient(portable.ComplexTanh(x), x))
}

// SheetFor returns the thickness of a sheet at which SheetLoss reaches loss, in
// metres; loss must lie between 0 and a half.
func SheetFor(loss, freqHz, sigmaSPerM, muRel float64) float64 {
	delta := closedform.SkinDepthM(freqHz, sigmaSPerM, muRel)
	low, high := 0.0, 8*delta
	for range 60 {
		if mid := (low + high) / 2; SheetLoss(mid, freqHz, sigmaSPerM, muRel) <= loss {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// Sheet is the state of a shield's sheet, or of its solid wall, at one frequency.
type Sheet struct {
	Laminated  bool
	ThicknessM bounded.Estimate
	SigmaSPerM float64
	SkinM      float64 // at the middle of the range of permeability
	MuRel      bounded.Estimate
	Loss       bounded.Estimate // SheetLoss
	Tolerated  bool             // tolerances or temperatures of the material or the wall make it worse than as declared
}

// Sheet returns the state of the sheet of shield i, which must be of iron with a
// declared conductivity, in component u. The permeability is that of small
// signals or, for iron with a curve, all that the duty passes through. Conductivity,
// permeability and a solid wall stand at the ends of their tolerances and temperatures where
// the loss is largest, which are the upper ones. The error is an *Unknown where the flux that
// sets the permeability is.
func (m *Model) Sheet(i layout.ShieldIndex, u Use) (Sheet, error) {
	mu, err := m.For(u.Duty).MuRel(i)
	if err != nil {
		return Sheet{}, err
	}
	k := &m.Layout.Shields[i]
	mat := &m.Layout.Materials[k.Material]
	if !mat.SigmaSPerM.Set {
		return Sheet{}, &field.Unknown{Reason: fmt.Sprintf("material %q declares no conductivity", mat.ID)}
	}
	_, most := mat.ConductivityShares()
	sigma, hz := mat.SigmaSPerM.V*most, u.Part.FreqHz
	out := Sheet{SigmaSPerM: sigma, MuRel: mu.Scale(1 + mat.PermeabilityTol.V)}
	out.Tolerated = most != 1 || mat.PermeabilityTol.V > 0
	if mat.SheetM.Set {
		out.Laminated, out.ThicknessM = true, bounded.Exact(mat.SheetM.V)
	} else {
		out.ThicknessM = WallM(k).Plus(bounded.Exact(k.WallTolM.V))
		out.Tolerated = out.Tolerated || k.WallTolM.V > 0
	}
	out.SkinM = closedform.SkinDepthM(hz, sigma, out.MuRel.Value)
	out.Loss = bounded.Estimate{
		Value: SheetLoss(out.ThicknessM.Value, hz, sigma, out.MuRel.Value),
		Low:   SheetLoss(out.ThicknessM.Low, hz, sigma, out.MuRel.Low),
		High:  SheetLoss(out.ThicknessM.High, hz, sigma, out.MuRel.High),
	}
	return out, nil
}

// WallM returns the thickness of the wall of a shield in metres. An outline has
// no one wall: it lies between twice its area over its circumference, the mean
// of a bent strip, and the smaller side of its box.
func WallM(k *layout.Shield) bounded.Estimate {
	switch f := &k.Form; f.Kind {
	case layout.Channel, layout.Ring:
		return bounded.Exact(f.WallM.V)
	case layout.Plate:
		return bounded.Exact(math.Min(f.WidthM.V, f.ThicknessM.V))
	}
	r := k.Region()
	around := 0.0
	for i := range r.Outer {
		a, b := r.Outer.Edge(i)
		around += b.Sub(a).Norm()
	}
	size := r.Box().Size()
	least := 2 * r.AreaM2() / around
	return bounded.Estimate{Value: least, Low: least, High: math.Min(size.X, size.Y)}
}
