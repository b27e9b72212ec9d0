package laws

import (
	"math"
	"strings"

	"busgauss/model/finding"
)

// oracleHeating balances what a bar alone in still air of 40 °C makes and what leaves it, by natural
// convection and radiation at an emissivity of 0.4. Nusselt numbers of S. W. Churchill and H. H. S. Chu
// (1975) for an upright plate and a level cylinder; air by straight lines between 300, 350, 400 and 450 K of
// table A.4 of Incropera and DeWitt (from memory). Formulas and air are those of print, not of the product.
func oracleHeating(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	bar := y.root.get("bars", f.Object)
	if f.Measure.Unit != "K" || strings.Contains(f.Message, "narrow") || bar.get("section", "outline") != nil &&
		!convex(bar) {
		return 0, 0, false
	}
	_, half := sectionOf(bar)
	size := 2 * math.Max(half.x, half.y)
	at := bar.get("at").point()
	for _, m := range y.root.section("bars") {
		if _, other := sectionOf(m.value); m.key != f.Object {
			d := m.value.get("at").point().minus(at)
			reach := 2 * math.Hypot(other.x, other.y) // an outline's origin may be a corner
			if math.Sqrt(d.dot(d)) < 5*size+reach {
				return 0, 0, false // it may keep the air away
			}
		}
	}
	square := 0.0
	for _, m := range y.root.section("duties") {
		if m.value.str("kind") != "continuous" {
			continue
		}
		fl := y.flow(m.value)
		for _, c := range y.carriers {
			for _, b := range c.bars {
				if b.bar == f.Object {
					square = math.Max(square, fl.meanSquare(only(c.id, b.factor)))
				}
			}
		}
	}
	if square == 0 {
		return 0, 0, false
	}
	// Resistivity at 20 °C and its rise: copper as annealed (IEC 60028), aluminium of bus bars, brass
	// (handbooks, from memory).
	metal := map[string][2]float64{"copper": {1 / 58e6, 0.00393}}[bar.str("metal")]
	if metal[0] == 0 {
		return 0, 0, false
	}
	perimeter, area := perimeterOf(bar), areaM2(bar)
	round := bar.get("section", "diameter") != nil
	balance := func(k float64) float64 {
		film := 313.15 + k/2
		nu, alpha, cond := air(film)
		ra := 9.80665 / film * k * size * size * size / (nu * alpha)
		pr := nu / alpha
		nusselt := 0.68 + 0.670*math.Pow(ra, 0.25)/math.Pow(1+math.Pow(0.492/pr, 9./16), 4./9)
		if round {
			nusselt = math.Pow(0.60+0.387*math.Pow(ra, 1./6)/math.Pow(1+math.Pow(0.559/pr, 9./16), 8./27), 2)
		}
		out := nusselt*cond/size*k + 0.4*5.670374e-8*(math.Pow(313.15+k, 4)-math.Pow(313.15, 4))
		return out*perimeter - square*metal[0]*(1+metal[1]*(20+k))/area
	}
	low, high := 1e-6, 250.
	if balance(high) < 0 {
		return 0, 0, false // far too hot for the table of air
	}
	for range 60 {
		if mid := (low + high) / 2; balance(mid) < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return low, 0.03 * low, true
}

// air at a temperature in kelvin: viscosity and diffusivity in m²/s, conductivity in W/(m K).
func air(k float64) (viscosity, diffusivity, conductivity float64) {
	table := [][4]float64{{300, 15.89e-6, 22.5e-6, 26.3e-3}, {350, 20.92e-6, 29.9e-6, 30.0e-3},
		{400, 26.41e-6, 38.3e-6, 33.8e-3}, {450, 32.39e-6, 47.2e-6, 37.3e-3}}
	i := min(len(table)-2, max(0, int((k-300)/50)))
	x := (k - table[i][0]) / 50
	at := func(c int) float64 { return table[i][c]*(1-x) + table[i+1][c]*x }
	return at(1), at(2), at(3)
}

func perimeterOf(bar *node) float64 {
	s := bar.get("section")
	switch {
	case s.get("diameter") != nil:
		return math.Pi * s.num(0, "diameter")
	case s.get("outline") != nil:
		sum, c := 0.0, s.get("outline").items
		for i := range c {
			d := c[(i+1)%len(c)].point().minus(c[i].point())
			sum += math.Sqrt(d.dot(d))
		}
		return sum
	}
	return 2 * (s.num(0, "width") + s.num(0, "thickness"))
}

func convex(bar *node) bool {
	c := bar.get("section", "outline").items
	for i := range c {
		a, b, d := c[i].point(), c[(i+1)%len(c)].point(), c[(i+2)%len(c)].point()
		if u, v := b.minus(a), d.minus(b); u.x*v.y-u.y*v.x < 0 {
			return false
		}
	}
	return true
}
