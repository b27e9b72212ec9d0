package closedform

import (
	"busgauss/model/portable"
)

// AdiabaticTimeS returns the time in seconds in which a current density of rms value
// densityAPerM2 heats a conductor from fromC to toC when no heat leaves it:
//
//	t = k² / J²,  k² = c σ20/α ln((1 + α(toC - 20 °C)) / (1 + α(fromC - 20 °C)))
//
// c is the heat capacity of its volume, sigma20SPerM and alphaPerK are conductivity and
// coefficient at 20 °C; alphaPerK 0 is its limit. With β = 1/α - 20 °C it is the factor k of the
// standards. 0 where toC is not above fromC, +Inf without a current.
//
// Source: IEC 60364-5-54, annex A; IEC 60865-1, annex A (the same formula).
func AdiabaticTimeS(densityAPerM2, sigma20SPerM, alphaPerK, heatJPerM3K, fromC, toC float64) float64 {
	if !(toC > fromC) {
		return 0
	}
	span := toC - fromC
	if alphaPerK != 0 {
		span = portable.Log((1+float64(alphaPerK*(toC-20)))/(1+float64(alphaPerK*(fromC-20)))) / alphaPerK
	}
	return heatJPerM3K * sigma20SPerM * span / (densityAPerM2 * densityAPerM2)
}
