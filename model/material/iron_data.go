package material

import (
	"math"

	"busgauss/model/portable"
	"busgauss/model/si"
)

// lowCarbonSteel has the curve of TEAM workshop problem 13. Above 1.8 T its
// points lie on the parabola that the problem defines,
// B = μ0 H − 2.381e-10 H² + 2.327e-5 H + 1.590 (H in A/m).
func lowCarbonSteel() Iron {
	points := []CurvePoint{
		{0, 0}, {16, 0.0025}, {30, 0.005}, {54, 0.0125}, {93, 0.025}, {143, 0.05}, {191, 0.1}, {210, 0.2},
		{222, 0.3}, {233, 0.4}, {247, 0.5}, {258, 0.6}, {272, 0.7}, {289, 0.8}, {313, 0.9}, {342, 1.0}, {377, 1.1},
		{433, 1.2}, {509, 1.3}, {648, 1.4}, {933, 1.5}, {1228, 1.55}, {1934, 1.6}, {2913, 1.65}, {4993, 1.7},
		{7189, 1.75}, {9423, 1.8},
	}
	const a, b, c = -2.381e-10, 2.327e-5 + si.Mu0HPerM, 1.590
	for _, t := range []float64{1.85, 1.9, 1.95, 2.0, 2.05, 2.1, 2.15, 2.2} {
		points = append(points, CurvePoint{(-b + math.Sqrt(b*b-float64(4*a*(c-t)))) / (2 * a), t})
	}
	return Iron{
		Name: "low-carbon-steel", Description: "low-carbon steel", Confirmed: true, points: points,
		SaturationT: 2.16, CoercivityA: 200, SigmaSPerM: 6.7e6,
		Source: "curve: TEAM workshop problem 13 (T. Nakata, N. Takahashi, K. Fujiwara), fig. 3 and eq. (1); COMPEL 11 (1992) 345-369. Coercivity and conductivity: typical, from memory",
	}
}

func siliconSteel() Iron {
	return Iron{
		Name: "silicon-steel", Description: "non-oriented silicon steel sheet", Confirmed: true,
		points: []CurvePoint{
			{0, 0}, {14.7, 0.2}, {36.5, 0.4}, {71.7, 0.6}, {121.4, 0.8}, {197.4, 1.0}, {256.2, 1.1}, {348.7, 1.2},
			{540.6, 1.3}, {1062.8, 1.4}, {2318.0, 1.5}, {4781.9, 1.6}, {8687.4, 1.7}, {13924.3, 1.8}, {22650.2, 1.9},
		},
		SaturationT: 2.0, CoercivityA: 45, SigmaSPerM: 2.2e6,
		Source: "curve: M19 class, 0.36 mm, McGill University course ECSE 543, assignment 3. Saturation, coercivity and conductivity: typical, from memory",
	}
}

// nickelIron80 has points of a fit, up to its saturation polarisation.
func nickelIron80() Iron {
	return Iron{
		Name: "nickel-iron-80", Description: "77 to 80 % nickel-iron, shielding grade", Confirmed: false,
		points:      rationalFit(27300, 0.46, 1037500, 3.67, 10, 0.76),
		SaturationT: 0.76, CoercivityA: 0.6, SigmaSPerM: 1 / 6.0e-7,
		Source: "curve: fit in Modelica Standard Library, Magnetic.FluxTubes, after R. Boll, Weichmagnetische Werkstoffe, 4th ed., Siemens 1990; capped at 0.76 T (maker's table, one source)",
	}
}

func nickelIron50() Iron {
	return Iron{
		Name: "nickel-iron-50", Description: "48 to 50 % nickel-iron", Confirmed: false,
		muRel: 6000, SaturationT: 1.5, CoercivityA: 2.8, SigmaSPerM: 1 / 4.5e-7,
		Source: "saturation, coercivity, resistivity: maker's table, one source; permeability 6000: initial value from memory, arctangent curve",
	}
}

func manganeseZinc() Iron {
	return Iron{
		Name: "mnzn-ferrite", Description: "manganese-zinc ferrite, power class, 25 °C", Confirmed: false,
		muRel: 2000, SaturationT: 0.5, CoercivityA: 15, SigmaSPerM: 0.2, SaturationPerK: -0.2 / 75,
		Source: "typical class values from memory: initial permeability 1800 to 2500, 0.48 to 0.53 T (0.37 to 0.42 T at 100 °C, a fifth less than at 25 °C), arctangent curve",
	}
}

// rationalFit returns points of H = B/(μ0 μr) for
//
//	μr = 1 + (μi − 1 + ca b)/(1 + cb b + b^n), b = B/Bm
//
// up to a polarisation of limitT, beyond which the fits do not saturate.
// Points are 2.5 % of Bm apart at most.
//
// Source: Modelica Standard Library, Magnetic.FluxTubes.Material (formula after
// Roschke).
func rationalFit(muI, bmT, ca, cb, n, limitT float64) []CurvePoint {
	out := []CurvePoint{{0, 0}}
	for k := 1; ; k++ {
		t := float64(bmT * 0.025 * float64(k))
		r := t / bmT
		mu := 1 + (muI-1+float64(ca*r))/(1+float64(cb*r)+portable.Pow(r, n))
		h := t / (si.Mu0HPerM * mu)
		if t-float64(si.Mu0HPerM*h) > limitT {
			return out
		}
		out = append(out, CurvePoint{h, t})
	}
}
