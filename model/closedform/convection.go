package closedform

import (
	"math"

	"busgauss/model/portable"
)

// air is what natural convection needs of air at one temperature and 1013 hPa.
type air struct {
	kelvin          float64
	conductWPerMK   float64
	viscosityM2PerS float64 // kinematic
	diffuseM2PerS   float64 // thermal diffusivity
}

// airRows are air at atmospheric pressure. Source: F. P. Incropera, D. P. DeWitt, Fundamentals
// of Heat and Mass Transfer, table A.4 (numbers from memory).
var airRows = [...]air{
	{250, 22.3e-3, 11.44e-6, 15.9e-6},
	{300, 26.3e-3, 15.89e-6, 22.5e-6},
	{350, 30.0e-3, 20.92e-6, 29.9e-6},
	{400, 33.8e-3, 26.41e-6, 38.3e-6},
	{450, 37.3e-3, 32.39e-6, 47.2e-6},
	{500, 40.7e-3, 38.79e-6, 56.7e-6},
}

// airAt returns air at a temperature, linear between the rows and the last row beyond them.
func airAt(kelvin float64) air {
	n := len(airRows)
	if kelvin >= airRows[n-1].kelvin {
		return airRows[n-1]
	}
	i := 1
	for i < n-1 && kelvin > airRows[i].kelvin {
		i++
	}
	a, b := airRows[i-1], airRows[i]
	s := math.Max(0, (kelvin-a.kelvin)/(b.kelvin-a.kelvin))
	mix := func(x, y float64) float64 { return x + float64((y-x)*s) }
	return air{kelvin, mix(a.conductWPerMK, b.conductWPerMK), mix(a.viscosityM2PerS, b.viscosityM2PerS),
		mix(a.diffuseM2PerS, b.diffuseM2PerS)}
}

const (
	zeroCelsiusK     = 273.15
	gravityMPerS2    = 9.80665
	stefanWPerM2K4   = 5.670374e-8 // Stefan-Boltzmann constant
	leastTemperature = 1e-9        // K of rise below which nothing flows
)

// rayleigh returns the Rayleigh number of a surface of size sizeM that is riseK warmer than
// air at ambientC, and the air at the mean temperature:
//
//	Ra = g ΔT L³ / (T ν a)
func rayleigh(sizeM, riseK, ambientC float64) (float64, air) {
	film := airAt(ambientC + zeroCelsiusK + riseK/2)
	kelvin := ambientC + zeroCelsiusK + riseK/2
	return gravityMPerS2 * riseK * sizeM * sizeM * sizeM / (kelvin * film.viscosityM2PerS * film.diffuseM2PerS), film
}

// UprightWPerM2K returns the coefficient of natural convection, in W/(m²K), averaged over
// an upright plate of height heightM that is riseK warmer than still air at ambientC:
//
//	Nu = 0.68 + 0.670 Ra^(1/4) / (1 + (0.492/Pr)^(9/16))^(4/9)
//
// Laminar, Ra up to 1e9, which is a plate of half a metre at 50 K. 0 for riseK <= 0. Measured values
// lie within some 10 %; a narrow strip loses rather more than a wide plate.
// Source: S. W. Churchill, H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323-1329.
func UprightWPerM2K(heightM, riseK, ambientC float64) float64 {
	if !(riseK > leastTemperature) {
		return 0
	}
	ra, a := rayleigh(heightM, riseK, ambientC)
	pr := a.viscosityM2PerS / a.diffuseM2PerS
	nu := 0.68 + 0.670*portable.Pow(ra, 0.25)/portable.Pow(1+portable.Pow(0.492/pr, 9.0/16), 4.0/9)
	return nu * a.conductWPerMK / heightM
}

// FlatWPerM2K is UprightWPerM2K for a long flat strip of width widthM, averaged over its
// upper and its lower side:
//
//	Nu = 0.54 Ra^(1/4) above, 0.27 Ra^(1/4) below, of half the width
//
// Ra from 1e4 above and 1e5 below; smaller strips lose rather more.
// Source: W. H. McAdams, Heat Transmission, 3rd ed. 1954, chapter 7, with the length of R. J. Goldstein,
// E. M. Sparrow, D. C. Jones, Int. J. Heat Mass Transfer 16 (1973) 1025 (both from memory).
func FlatWPerM2K(widthM, riseK, ambientC float64) float64 {
	if !(riseK > leastTemperature) {
		return 0
	}
	ra, a := rayleigh(widthM/2, riseK, ambientC)
	return (0.54 + 0.27) / 2 * portable.Pow(ra, 0.25) * a.conductWPerMK / (widthM / 2)
}

// RoundWPerM2K is UprightWPerM2K for a long level cylinder:
//
//	Nu = (0.60 + 0.387 Ra^(1/6) / (1 + (0.559/Pr)^(9/16))^(8/27))²
//
// Source: S. W. Churchill, H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1049-1053.
func RoundWPerM2K(diameterM, riseK, ambientC float64) float64 {
	if !(riseK > leastTemperature) {
		return 0
	}
	ra, a := rayleigh(diameterM, riseK, ambientC)
	pr := a.viscosityM2PerS / a.diffuseM2PerS
	root := 0.60 + 0.387*portable.Pow(ra, 1.0/6)/portable.Pow(1+portable.Pow(0.559/pr, 9.0/16), 8.0/27)
	return root * root * a.conductWPerMK / diameterM
}

// ChannelWPerM2K is UprightWPerM2K between two upright plates of the same temperature, gapM
// apart:
//
//	Nu = Ra'/24 (1 - e^(-35/Ra'))^(3/4), Ra' = Ra(gap) gap/height, over the gap
//
// Source: W. Elenbaas, Physica 9 (1942) 1-28.
func ChannelWPerM2K(gapM, heightM, riseK, ambientC float64) float64 {
	if !(riseK > leastTemperature) || !(gapM > 0) {
		return 0
	}
	ra, a := rayleigh(gapM, riseK, ambientC)
	ra *= gapM / heightM
	return ra / 24 * portable.Pow(-portable.Expm1(-35/ra), 0.75) * a.conductWPerMK / gapM
}

// AcrossWPerM2K returns the coefficient, in W/(m²K), of air that stands in a gap between
// two sides, by conduction alone: k/gap at the mean temperature.
func AcrossWPerM2K(gapM, riseK, ambientC float64) float64 {
	return airAt(ambientC+zeroCelsiusK+riseK/2).conductWPerMK / gapM
}

// RadiantWPerM2 returns the heat that a grey surface of an emissivity gives off to
// surroundings at ambientC, in W/m², when it is riseK warmer:
//
//	q = ε σ ((T + ΔT)⁴ - T⁴)
//
// Source: law of Stefan and Boltzmann.
func RadiantWPerM2(emissivity, riseK, ambientC float64) float64 {
	t := ambientC + zeroCelsiusK
	return emissivity * stefanWPerM2K4 * (portable.Pow(t+riseK, 4) - portable.Pow(t, 4))
}

// StripView returns the share of its radiation that a long strip of width widthM gives to
// an equal one gapM in front of it, pure number:
//
//	F = √(1 + (gap/width)²) - gap/width
//
// Source: H. C. Hottel, crossed strings; J. R. Howell's catalogue of view factors, C-1.
func StripView(gapM, widthM float64) float64 {
	if math.IsInf(gapM, 1) {
		return 0
	}
	x := gapM / widthM
	return math.Sqrt(1+float64(x*x)) - x
}
