package layout

import "math"

// Shifts returns the middles, ends and corners of the box of tolerances of s, the drawn
// place first. Over so small a box the reading is either monotone in each tolerance or has
// its peak near the middle. What is nothing in the plane section is left out: z, and one
// of the two signs of the yaw of a single element.
func (s *Sensor) Shifts(inSpace bool) []Shift {
	out := []Shift{{}}
	p := s.Placement
	if p == nil {
		return out
	}
	grow := func(values []float64, set func(*Shift, float64)) {
		var more []Shift
		for _, k := range out {
			for _, v := range values {
				set(&k, v)
				more = append(more, k)
			}
		}
		out = more
	}
	grow(sides(p.XM), func(k *Shift, v float64) { k.DX = v })
	grow(sides(p.YM), func(k *Shift, v float64) { k.DY = v })
	grow(sides(p.TiltRad), func(k *Shift, v float64) { k.TiltRad = v })
	if inSpace {
		grow(sides(p.ZM), func(k *Shift, v float64) { k.DZ = v })
	}
	if p.YawRad.V > 0 {
		yaws := sides(p.YawRad)
		if !inSpace && len(s.Elements()) == 1 && !s.LeansNowhere() {
			yaws = yaws[:2]
		}
		still := out
		grow(yaws, func(k *Shift, v float64) { k.YawRad = v })
		if s.LeansNowhere() {
			for _, k := range still {
				for _, v := range yaws[1:] {
					k.YawRad, k.TowardsRad = v, math.Pi/2
					out = append(out, k)
				}
			}
		}
	}
	return out
}

// sides returns the middle and the two ends of a tolerance, the middle alone where it is 0.
func sides(n Num) []float64 {
	if n.V > 0 {
		return []float64{0, -n.V, n.V}
	}
	return []float64{0}
}
