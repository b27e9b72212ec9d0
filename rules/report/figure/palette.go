package figure

import (
	"fmt"
	"math"

	"busgauss/model/portable"
)

// shades is the number of steps of the sequential palette.
const shades = 12

// A lab is a colour of CIE 1976 L*a*b*: lightness 0 to 100, a green to red, b
// blue to yellow.
type lab struct{ l, a, b float64 }

// The stops of the two palettes run from pale yellow over blue-green to blue:
// yellow against blue is what the common kinds of colour blindness leave, and
// lightness falls evenly on paper and rises evenly on a dark screen. They end at
// half lightness so that lines in ink stay readable on the last step.
var (
	lightStops = [...]lab{{97, -4, 16}, {84, -22, 14}, {68, -22, -14}, {52, 4, -42}}
	darkStops  = [...]lab{{16, 4, -14}, {28, 8, -36}, {40, -18, -16}, {54, -24, 26}}
)

// shade returns step i, 0 to shades-1, of a palette as sRGB, each 0 to 255.
func shade(stops [4]lab, i int) [3]uint8 {
	t := float64(float64(i) / (shades - 1) * 3)
	k := min(int(t), 2)
	f := t - float64(k)
	p, q := stops[k], stops[k+1]
	mix := lab{
		// Lightness is taken straight from end to end, hue from stop to stop.
		l: stops[0].l + (stops[3].l-stops[0].l)*float64(i)/(shades-1),
		a: p.a + float64(f*(q.a-p.a)),
		b: p.b + float64(f*(q.b-p.b)),
	}
	return mix.srgb()
}

// srgb returns the nearest colour of the sRGB range by clipping.
//
// Source: CIE 15:2004, section 8.2.1 (L*a*b*, white point D65);
// IEC 61966-2-1:1999, section 5 (matrix and curve); numbers from memory.
func (c lab) srgb() [3]uint8 {
	fy := (c.l + 16) / 116
	x := 0.95047 * labInverse(fy+c.a/500)
	y := labInverse(fy)
	z := 1.08883 * labInverse(fy-c.b/200)
	var out [3]uint8
	for i, v := range [3]float64{
		float64(3.2406*x) - float64(1.5372*y) - float64(0.4986*z),
		float64(-0.9689*x) + float64(1.8758*y) + float64(0.0415*z),
		float64(0.0557*x) - float64(0.2040*y) + float64(1.0570*z),
	} {
		v = min(max(v, 0), 1)
		if v <= 0.0031308 {
			v *= 12.92
		} else {
			v = float64(1.055*portable.Pow(v, 1/2.4)) - 0.055
		}
		out[i] = uint8(math.Round(255 * v))
	}
	return out
}

func labInverse(f float64) float64 {
	if f > 6.0/29 {
		return f * f * f
	}
	return 3 * 36.0 / 841 * (f - 4.0/29)
}

func hex(c [3]uint8) string { return fmt.Sprintf("#%02x%02x%02x", c[0], c[1], c[2]) }

// shadeOf spreads n bands over the palette, so that few bands differ as much as
// they can.
func shadeOf(i, n int) int {
	if n < 2 {
		return shades / 2
	}
	return int(math.Round(float64(i) * (shades - 1) / float64(n-1)))
}
