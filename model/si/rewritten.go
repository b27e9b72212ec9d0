package si

import (
	"math"
	"strconv"
	"strings"

	"busgauss/model/portable"
)

// Rewritten returns text, a quantity or a pure number, with its number replaced so
// that it stands for v, in the SI unit that Parse gives: unit and spacing stay. The
// number has at most six digits, of a length at most a micrometre and of an angle at
// most a thousandth of a degree is kept. It is false where text is no quantity or v
// is not finite.
func Rewritten(text string, v float64) (string, bool) {
	number, unitText, _ := split(text)
	if !hasForm(number) || math.IsNaN(v) || math.IsInf(v, 0) {
		return "", false
	}
	u := unit{num: 1, den: 1}
	if unitText != "" {
		var ok bool
		if u, ok = resolve(unitText); !ok {
			return "", false
		}
	}
	one, err := scaled("1", u)
	if err != nil {
		return "", false
	}
	x := v / one
	digits := 6 - 1 - int(math.Floor(portable.Log10(math.Abs(x)))) // behind the point
	if x == 0 || digits > 12 {
		digits = 12
	}
	switch u.dim {
	case Length:
		digits = min(digits, int(math.Ceil(portable.Log10(one/1e-6)-1e-9)))
	case Angle:
		digits = min(digits, int(math.Ceil(portable.Log10(one*180/math.Pi/1e-3)-1e-9)))
	}
	out := strconv.FormatFloat(x, 'f', max(digits, 0), 64)
	if strings.Contains(out, ".") {
		out = strings.TrimRight(strings.TrimRight(out, "0"), ".")
	}
	if out == "-0" {
		out = "0"
	}
	return out + strings.TrimPrefix(text, number), true
}
