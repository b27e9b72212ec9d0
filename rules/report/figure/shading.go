package figure

import (
	"math"
	"slices"

	"busgauss/model/portable"
)

// bands is what the legend says of a shading.
type bands struct {
	title       string
	scale       scale
	levels      []float64 // bounds as given or found, SI
	below, over bool      // samples lie below the first or above the last
}

// shading fills the bands from the lowest up: each is all that is known at its
// lower bound or above, so neighbours overlap and no seam shows.
func (c *canvas) shading(s *Shade, m Map) bands {
	if s == nil || !s.Grid.valid() {
		return bands{}
	}
	g := s.Grid
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range g.Value {
		if drawable(v, s.Log) {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	if lo > hi {
		return bands{}
	}
	levels := s.Levels
	if levels == nil {
		levels = bandLevels(lo, hi, s.Log)
	}
	n := len(levels) - 1
	if n < 1 || n > shades || !slices.IsSortedFunc(levels, strictly) || s.Log && !(levels[0] > 0) {
		panic("figure: levels of the shading must increase, two to thirteen")
	}
	bounds := levels
	if s.Log { // between samples the logarithm is taken as linear
		bounds = make([]float64, len(levels))
		for k, l := range levels {
			bounds[k] = portable.Log(l)
		}
		values := make([]float64, len(g.Value))
		for k, v := range g.Value {
			values[k] = v
			if drawable(v, false) {
				values[k] = portable.Log(max(v, levels[0]*1e-3))
			}
		}
		g.Value = values
	}
	for k := range n {
		level := bounds[k]
		if k == 0 {
			level = math.Inf(-1)
		}
		c.path("fg-q"+num(float64(shadeOf(k, n))), outline(above(g, level), m))
	}
	tol := float64(1e-9 * levels[n])
	return bands{
		title: s.Title, scale: scaleFor(s.Unit, levels[n]), levels: levels,
		below: lo < levels[0]-tol, over: hi > levels[n]+tol,
	}
}

// strictly orders a before b, and equal or unordered numbers wrongly.
func strictly(a, b float64) int {
	if a > b {
		return 1
	}
	return -1
}

// bandLevels returns the bounds of at most twelve round bands from lo to hi. On a
// logarithmic scale that spans more, the lowest are left out and join the first.
func bandLevels(lo, hi float64, log bool) []float64 {
	if log {
		least, hi0 := max(lo, hi*1e-6), hi
		lo, hi = widenLog(least, hi) // twelve bands are four decades
		levels := logTicks(lo, hi, 1000)
		if len(levels) <= 5 { // less than a decade and a half: finer
			levels = fineLevels(least, hi0)
		}
		return levels[max(0, len(levels)-1-shades):]
	}
	if hi < 1e-30 { // nothing there
		lo, hi = 0, 1
	}
	lo, hi = widen(max(lo, 0), hi, 10)
	levels, _ := linearTicks(lo, hi, shades+1)
	return levels
}

// fineLevels returns the numbers 1, 1.5, 2, 3, 5 and 7 times powers of ten from
// the last at or below lo to the first at or above hi.
func fineLevels(lo, hi float64) []float64 {
	var out []float64
	for e := int(math.Floor(portable.Log10(lo)+1e-9)) - 1; ; e++ {
		for _, f := range [...]float64{1, 1.5, 2, 3, 5, 7} {
			v := decimal(f, e)
			if v <= lo*(1+1e-9) {
				out = out[:0]
			}
			out = append(out, v)
			if v >= hi*(1-1e-9) && len(out) > 1 {
				return out
			}
		}
	}
}

// lines is what the legend says of the flux lines.
type lines struct {
	title      string
	count      int
	stepWbPerM float64 // 0: the levels were given
}

// fluxLines draws isolines of the flux function.
func (c *canvas) fluxLines(f *Flux, m Map) lines {
	if f == nil || !f.Grid.valid() {
		return lines{}
	}
	out := lines{title: f.Title}
	levels := f.Levels
	if levels == nil {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, v := range f.Grid.Value {
			if drawable(v, false) {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
		count := f.Count
		if count <= 0 {
			count = 20
		}
		if !(hi > lo) {
			return lines{}
		}
		out.stepWbPerM = (hi - lo) / float64(count)
		for k := range count {
			levels = append(levels, lo+float64((float64(k)+0.5)*out.stepWbPerM))
		}
	}
	for _, l := range levels {
		if d := outline(isolines(f.Grid, l), m); d != "" {
			c.path("fg-flux", d)
			out.count++
		}
	}
	return out
}
