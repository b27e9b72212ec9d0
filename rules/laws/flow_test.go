package laws

import (
	"maps"
	"math"
	"math/cmplx"
)

// carrier is what one current flows through: a bar by itself, or the bars of a circuit, each with
// the share or the sign that the current has in it.
type carrier struct {
	id   string
	bars []branch
}

type branch struct {
	bar    string
	factor float64
}

// carriersOf lists circuits, then the bars that stand in none. Bars joined at both ends share a
// slow current by area over length: the generator draws them of one metal.
func carriersOf(root *node) []carrier {
	var out []carrier
	taken := map[string]bool{}
	for _, m := range root.section("circuits") {
		c := carrier{id: m.key}
		for _, s := range m.value.section("series") {
			c.bars = append(c.bars, branch{s.key, s.value.value})
		}
		if p := m.value.get("parallel"); p != nil {
			whole := 0.0
			for _, b := range p.items {
				a := areaM2(root.get("bars", b.text)) / root.num(1, "bars", b.text, "length")
				c.bars, whole = append(c.bars, branch{b.text, a}), whole+a
			}
			for i := range c.bars {
				c.bars[i].factor /= whole
			}
			for _, s := range p.members {
				c.bars = append(c.bars, branch{s.key, s.value.value})
			}
		}
		for _, b := range c.bars {
			taken[b.bar] = true
		}
		out = append(out, c)
	}
	for _, m := range root.section("bars") {
		if !taken[m.key] {
			out = append(out, carrier{m.key, []branch{{m.key, 1}}})
		}
	}
	return out
}

// carrierOf returns the carrier that a name in a current or in `reads` means, with the sign of its
// current there; leg says that the name is one of several bars that share a current.
func carrierOf(list []carrier, id string) (carrier string, sign float64, leg bool) {
	for _, c := range list {
		if c.id == id {
			return id, 1, false
		}
		for _, b := range c.bars {
			if b.bar == id {
				return c.id, b.factor, math.Abs(b.factor) != 1
			}
		}
	}
	return id, 1, true
}

// tone is one frequency of a group of currents: peak phasors by carrier.
type tone struct {
	order  float64 // multiple of the fundamental of the duty; 0 direct
	ripple bool
	amps   map[string]complex128
}

// group is what keeps its phase: the duty with its harmonics, a further set, a ripple. Shapes are
// currents that no phasors say, over the angle of the fundamental.
type group struct {
	tones  []tone
	shapes map[string]func(rad float64) float64
	ripple bool // has no part that decays
}

// stream is what flows in a duty: direct current as the one tone of order 0, then groups of which
// nobody knows the phases against each other.
type stream struct {
	direct map[string]float64
	groups []group
	kappa  float64 // first peak of a fault over its amplitude
}

// peakOf is √2 rms of a sine.
func peakOf(n *node) float64 {
	if r := n.get("rms"); r != nil {
		return r.value * math.Sqrt2
	}
	return n.num(0, "peak")
}

// flowOf follows the definitions of the format: a current is dc + Σ peak·cos(n·2πf·t + phase), b lags a
// by a third of a period and c lags b, harmonics of a three-phase set by the same time; what returns
// the current of another under the harmonics of the set is its negative, and the one with a phase from above
// -90 to 90 degrees goes out.
func flowOf(root, duty *node) *stream {
	f := &stream{direct: map[string]float64{}, kappa: 1}
	list := carriersOf(root)
	carries := map[string]bool{}
	main := f.add(list, duty, 1, carries)
	like := map[string]complex128{}
	for _, t := range main.tones {
		if t.order == 1 {
			like = maps.Clone(t.amps)
		}
	}
	f.groups = append(f.groups, main)
	if w := duty.get("with"); w != nil {
		for _, s := range w.items {
			further := f.add(list, s, 1, carries)
			for id, a := range further.tones[0].amps { // a ripple stands by the first set that gives a current
				if like[id] == 0 {
					like[id] = a
				}
			}
			f.groups = append(f.groups, further)
		}
	}
	if r := duty.get("ripple"); r != nil {
		f.groups = append(f.groups, f.ripple(list, r, carries, like))
	}
	if a := duty.get("asymmetry"); a != nil {
		f.kappa = a.num(0, "peak-factor")
		if x := a.get("r-over-x"); x != nil { // IEC 60909-0:2016, 8.1 (from memory)
			f.kappa = 1.02 + 0.98*math.Exp(-3*x.value)
		}
	}
	return f
}

// add reads one set of currents.
func (f *stream) add(list []carrier, set *node, base float64, carries map[string]bool) group {
	g := group{shapes: map[string]func(float64) float64{}}
	main := tone{order: base, amps: map[string]complex128{}}
	type wave struct {
		id     string
		phasor complex128
		sign   float64 // of the bar that is named in its circuit
		lag    float64
		own    *node
		single bool
	}
	var waves []wave
	for _, m := range set.section("currents") {
		id, sign, _ := carrierOf(list, m.key)
		carries[id] = true
		f.direct[id] += sign * m.value.num(0, "dc")
		if p := m.value.get("points"); p != nil {
			g.shapes[id] = drawnThrough(p, periodOf(set), sign)
		} else if a := peakOf(m.value); a != 0 {
			waves = append(waves, wave{id, cmplx.Rect(a, m.value.num(0, "phase")) * complex(sign, 0), sign, 0,
				m.value.get("harmonics"), true})
		}
	}
	if t := set.get("three-phase"); t != nil {
		for k, b := range t.get("bars").items {
			id, sign, _ := carrierOf(list, b.text)
			carries[id] = true
			f.direct[id] += sign * t.num(0, "dc")
			lag := float64(k) * 2 * math.Pi / 3
			waves = append(waves, wave{id, cmplx.Rect(peakOf(t), t.num(0, "phase")-lag) * complex(sign, 0), sign, lag,
				nil, false})
		}
	}
	for _, w := range waves {
		main.amps[w.id] += w.phasor
	}
	g.tones = append(g.tones, main)
	harmonic := func(h *node, w wave) complex128 {
		size := peakOf(h)
		if s := h.get("share"); s != nil {
			size = s.value * cmplx.Abs(w.phasor)
		}
		return cmplx.Rect(size, h.num(0, "phase")-h.num(0, "order")*w.lag) * complex(w.sign, 0)
	}
	if h := set.get("harmonics"); h != nil {
		for _, item := range h.items {
			t := tone{order: base * item.num(0, "order"), amps: map[string]complex128{}}
			for _, w := range waves {
				if w.own != nil {
					continue
				}
				v := harmonic(item, w)
				if w.single && !leads(w.phasor) {
					for _, e := range waves {
						if e.single && e.own == nil && cmplx.Abs(e.phasor+w.phasor) <= 1e-9*cmplx.Abs(w.phasor) {
							v = -harmonic(item, e)
							break
						}
					}
				}
				t.amps[w.id] += v
			}
			g.tones = append(g.tones, t)
		}
	}
	for _, w := range waves {
		if w.own == nil {
			continue
		}
		for _, item := range w.own.items {
			g.put(base*item.num(0, "order"), w.id, harmonic(item, w))
		}
	}
	return g
}

// leads says that a phase lies from above -90 to 90 degrees.
func leads(v complex128) bool {
	rad := cmplx.Phase(v)
	return rad > -math.Pi/2+1e-9 && rad < math.Pi/2+1e-9
}

// put adds a phasor to the tone of an order.
func (g *group) put(order float64, id string, v complex128) {
	for i := range g.tones {
		if g.tones[i].order == order {
			g.tones[i].amps[id] += v
			return
		}
	}
	g.tones = append(g.tones, tone{order: order, amps: map[string]complex128{id: v}})
}

// ripple has the size that the key says in all that carries a current or that it names, in phase with it, where they
// have none of their own.
func (f *stream) ripple(list []carrier, r *node, carries map[string]bool, like map[string]complex128) group {
	g := group{shapes: map[string]func(float64) float64{}, ripple: true}
	t := tone{order: 1, ripple: true, amps: map[string]complex128{}}
	triangle := r.str("shape") == "triangle"
	size := func(n *node) float64 {
		if rms := n.get("rms"); rms != nil && triangle {
			return rms.value * math.Sqrt(3) // mean square of a straight line through zero
		}
		return peakOf(n)
	}
	give := func(id string, v complex128) {
		if triangle {
			g.shapes[id] = func(rad float64) float64 {
				x := math.Mod(rad+cmplx.Phase(v), 2*math.Pi)
				return cmplx.Abs(v) * (2/math.Pi*math.Abs(math.Remainder(x, 2*math.Pi)) - 1) * -1
			}
		} else {
			t.amps[id] = v
		}
	}
	phaseLike := func(id string) float64 {
		if like[id] == 0 {
			return cmplx.Phase(complex(f.direct[id], 0)) + r.num(0, "phase")
		}
		return cmplx.Phase(like[id]) + r.num(0, "phase")
	}
	own := map[string]bool{}
	for _, m := range r.section("currents") {
		id, sign, _ := carrierOf(list, m.key)
		own[id] = true
		v := cmplx.Rect(size(m.value), m.value.num(0, "phase")) * complex(sign, 0)
		if m.value.get("phase") == nil {
			v = cmplx.Rect(size(m.value), phaseLike(id))
		}
		give(id, v)
	}
	named := map[string]bool{}
	if bars := r.get("bars"); bars != nil {
		for _, b := range bars.items {
			id, _, _ := carrierOf(list, b.text)
			named[id] = true
		}
	} else {
		named = carries
	}
	for _, c := range list {
		if !named[c.id] || own[c.id] {
			continue
		}
		give(c.id, cmplx.Rect(size(r), phaseLike(c.id)))
	}
	if len(t.amps) > 0 {
		g.tones = append(g.tones, t)
	}
	return g
}

func periodOf(set *node) float64 {
	if p := set.get("period"); p != nil {
		return p.value
	}
	return 1 / set.num(math.NaN(), "frequency")
}

// drawnThrough is a waveform that is linear between its points and closes on itself.
func drawnThrough(points *node, period, sign float64) func(rad float64) float64 {
	var times, amps []float64
	for _, p := range points.items {
		times, amps = append(times, p.items[0].value), append(amps, sign*p.items[1].value)
	}
	if last := len(times) - 1; times[last] < period*(1-1e-9) {
		times, amps = append(times, period), append(amps, amps[0])
	}
	return func(rad float64) float64 {
		x := math.Mod(rad/(2*math.Pi), 1)
		if x < 0 {
			x++
		}
		t := x * period
		for i := 1; i < len(times); i++ {
			if t <= times[i] {
				return amps[i-1] + (amps[i]-amps[i-1])*(t-times[i-1])/(times[i]-times[i-1])
			}
		}
		return amps[len(amps)-1]
	}
}
