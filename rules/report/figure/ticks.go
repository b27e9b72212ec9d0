package figure

import (
	"math"
	"strconv"
	"strings"

	"busgauss/model/portable"
)

// roundStep returns the smallest of 1, 2 and 5 times a power of ten that is at
// least v > 0, and at least 1e-300.
func roundStep(v float64) float64 {
	v = max(v, 1e-300)
	e := math.Floor(portable.Log10(v))
	for _, p := range [...]struct{ f, e float64 }{{1, 0}, {2, 0}, {5, 0}, {1, 1}, {2, 1}} {
		if s := p.f * portable.Pow(10, e+p.e); s >= v*(1-1e-9) {
			return s
		}
	}
	panic("figure: no round step")
}

// linearTicks returns the round numbers from lo to hi, both included with the
// tolerance of rounding, at most most of them and at least two apart by a step of
// 1, 2 or 5. The step comes back as well.
func linearTicks(lo, hi float64, most int) (ticks []float64, step float64) {
	if !finite(lo, hi, hi-lo) || hi <= lo || most < 2 {
		return nil, 0
	}
	step = roundStep((hi - lo) / float64(most-1))
	if math.IsInf(step, 0) || step == 0 {
		return nil, 0
	}
	first := math.Ceil(lo/step - 1e-9)
	for k := first; k <= hi/step+1e-9; k++ {
		ticks = append(ticks, float64(k*step)+0) // + 0: no minus zero
		if len(ticks) > most {
			break // steps below the last digit of lo
		}
	}
	return ticks, step
}

// widen returns lo and hi moved outwards to round numbers of about most steps.
func widen(lo, hi float64, most int) (float64, float64) {
	if hi-lo <= 1e-9*max(math.Abs(lo), math.Abs(hi)) { // a flat line, but for rounding
		d := math.Abs(lo) / 10
		if d == 0 {
			d = 1
		}
		lo, hi = lo-d, hi+d
	}
	step := roundStep((hi - lo) / float64(most-1))
	return float64(math.Floor(lo/step+1e-9)*step) + 0, float64(math.Ceil(hi/step-1e-9)*step) + 0
}

// logTicks returns the numbers 1, 2 and 5 times powers of ten from lo to hi, or
// only the powers where that would be more than most, or every second, third ...
// power.
func logTicks(lo, hi float64, most int) []float64 {
	if !finite(lo, hi) || lo <= 0 || hi < lo || most < 1 {
		return nil
	}
	e0, e1 := int(math.Floor(portable.Log10(lo)+1e-9)), int(math.Floor(portable.Log10(hi)+1e-9))
	within := func(v float64) bool { return v >= lo*(1-1e-9) && v <= hi*(1+1e-9) }
	var all []float64
	for e := e0; e <= e1; e++ {
		for _, f := range [...]float64{1, 2, 5} {
			if v := decimal(f, e); within(v) {
				all = append(all, v)
			}
		}
	}
	if len(all) <= most {
		return all
	}
	for every := 1; ; every++ {
		all = all[:0]
		for e := e0; e <= e1; e++ {
			if v := decimal(1, e); within(v) && (e%every+every)%every == 0 {
				all = append(all, v)
			}
		}
		if len(all) <= most {
			return all
		}
	}
}

// decimal returns the float64 nearest to f·10^e.
func decimal(f float64, e int) float64 {
	v, err := strconv.ParseFloat(strconv.FormatFloat(f, 'f', -1, 64)+"e"+strconv.Itoa(e), 64)
	if err != nil {
		return math.NaN()
	}
	return v
}

// widenLog returns lo and hi moved outwards to 1, 2 or 5 times a power of ten.
func widenLog(lo, hi float64) (float64, float64) {
	down, up := decimal(1, int(math.Floor(portable.Log10(lo)+1e-9))), roundStep(hi)
	for _, f := range [...]float64{5, 2} {
		if down*f <= lo*(1+1e-9) {
			down *= f
			break
		}
	}
	if up <= down*(1+1e-9) {
		up = roundStep(down * 1.5)
	}
	return down, up
}

// tickText writes a tick with the digits its step needs.
func tickText(v, step float64) string {
	a := math.Max(math.Abs(v), step)
	if a >= 1e6 || step < 1e-4 {
		const most = 17.0 // digits: more say nothing, and a step may be as little as nothing
		digits := math.Min(most, math.Floor(portable.Log10(a)+1e-9)-math.Floor(portable.Log10(step)+1e-9))
		s := strconv.FormatFloat(v, 'e', max(0, int(digits)), 64)
		if v == 0 {
			return "0"
		}
		mantissa, power, _ := strings.Cut(s, "e")
		n, _ := strconv.Atoi(power)
		return mantissa + "e" + strconv.Itoa(n)
	}
	return grouped(strconv.FormatFloat(v, 'f', max(0, -int(math.Floor(portable.Log10(step)+1e-9))), 64))
}

// significant writes v with at most n digits and no trailing zeros.
func significant(v float64, n int) string {
	f, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', n-1, 64), 64)
	if a := math.Abs(f); a != 0 && (a >= 1e6 || a < 1e-4) {
		s := strconv.FormatFloat(f, 'e', -1, 64)
		mantissa, power, _ := strings.Cut(s, "e")
		e, _ := strconv.Atoi(power)
		return mantissa + "e" + strconv.Itoa(e)
	}
	return grouped(strconv.FormatFloat(f, 'f', -1, 64))
}

// grouped parts the whole digits of s in threes from five digits on, after
// ISO 80000-1:2022, section 7.3.1.
func grouped(s string) string {
	whole, rest, broken := strings.Cut(s, ".")
	sign := ""
	if strings.HasPrefix(whole, "-") {
		sign, whole = "-", whole[1:]
	}
	if len(whole) > 4 {
		for k := len(whole) - 3; k > 0; k -= 3 {
			whole = whole[:k] + "\u00a0" + whole[k:]
		}
	}
	if broken {
		rest = "." + rest
	}
	return sign + whole + rest
}

// drawable reports whether v is a number that an axis or a shading can show; what
// lies beyond 1e±30 is no quantity of a layout, and the steps of a scale would
// overflow.
func drawable(v float64, log bool) bool {
	return finite(v) && math.Abs(v) < 1e30 && (!log || v > 1e-30)
}
