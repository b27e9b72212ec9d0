package waveform

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/layout"
	"busgauss/model/portable"
)

// builder gathers the components of a duty.
type builder struct {
	circuits   int
	direct     Component
	hasDirect  bool
	components []Component
	groups     int // each set is one, and so is a ripple
	leftOverA  []float64
	like       []complex128 // of each circuit, the fundamental of the first set that gives it one
	drawn      []drawn      // of each circuit, what points say of it
}

func newBuilder(circuits int) *builder {
	return &builder{
		circuits:  circuits,
		direct:    Component{Role: "direct", Group: NoGroup, PeakA: make([]complex128, circuits)},
		leftOverA: make([]float64, circuits),
		like:      make([]complex128, circuits),
		drawn:     make([]drawn, circuits),
	}
}

// add gives a circuit a phasor. What has the frequency of an earlier component of the group
// joins that; what lies above HighestHz joins the left-over.
func (b *builder) add(group int, freqHz float64, role string, circuit layout.CircuitIndex, peakA complex128) {
	b.drawn[circuit].mixed = b.drawn[circuit].mixed || peakA != 0
	b.put(Component{FreqHz: freqHz, Role: role, Group: group}, circuit, peakA)
}

// addOrder is add for order k of a series that the layout does not spell out.
func (b *builder) addOrder(k, group int, freqHz float64, role string, circuit layout.CircuitIndex, peakA complex128) {
	b.put(Component{FreqHz: freqHz, Role: role, Group: group, Derived: k > 1}, circuit, peakA)
}

func (b *builder) put(one Component, circuit layout.CircuitIndex, peakA complex128) {
	if one.FreqHz > HighestHz*(1+sameFrequency) {
		b.leftOverA[circuit] += portable.Abs(peakA)
		return
	}
	for i := range b.components {
		if c := &b.components[i]; c.Group == one.Group && sameHz(c.FreqHz, one.FreqHz) {
			c.PeakA[circuit] += peakA
			c.Derived = c.Derived && one.Derived
			return
		}
	}
	one.PeakA = make([]complex128, b.circuits)
	one.PeakA[circuit] = peakA
	b.components = append(b.components, one)
}

func (b *builder) addDirect(circuit layout.CircuitIndex, a float64) {
	b.drawn[circuit].mixed = true
	b.direct.PeakA[circuit] += complex(float64(a), 0)
	b.hasDirect = true
}

// newGroup returns the group of a set or a ripple: sets are unrelated in phase, whatever their frequencies.
func (b *builder) newGroup() int {
	b.groups++
	return b.groups - 1
}

// carried is one alternating current of a set: its fundamental, what its harmonics are
// multiplied by, and how far its phase lags as a shift in time.
type carried struct {
	circuit     layout.CircuitIndex
	peakA       float64 // of the fundamental, without sign
	sign        float64
	fundamental complex128
	lagRad      float64 // harmonic n lags n times as much
	own         []layout.Harmonic
	plain       bool // not of a three-phase set
	negativeOf  int  // the current whose negative this is, -1 for none
}

// set adds the currents of one set; number 0 is the duty itself.
func (b *builder) set(s *layout.Set, number int) {
	still := s.FreqHz.V == 0
	var list []carried
	var pointed []*layout.Current
	for i := range s.Currents {
		c := &s.Currents[i]
		if c.DCA.Set {
			b.addDirect(c.Circuit, c.Sign*c.DCA.V)
		}
		switch {
		case c.Points != nil:
			pointed = append(pointed, c)
		case c.Alternates():
			list = append(list, carried{circuit: c.Circuit, peakA: c.Amount.AlternatingPeakA(), sign: c.Sign,
				fundamental: portable.Times(portable.Rect(c.Amount.AlternatingPeakA(), c.PhaseRad.V), complex(c.Sign, 0)),
				own:         c.Harmonics, plain: true})
		}
	}
	if t := s.ThreePhase; t != nil {
		for k, circuit := range t.Circuits {
			if t.Amount.DCA.Set {
				b.addDirect(circuit, t.Signs[k]*t.Amount.DCA.V)
			}
			lag := float64(k) * 2 * math.Pi / 3
			peak := t.Amount.AlternatingPeakA()
			list = append(list, carried{circuit: circuit, peakA: peak, sign: t.Signs[k], lagRad: lag,
				fundamental: portable.Times(portable.Rect(peak, t.Amount.PhaseRad.V-lag), complex(t.Signs[k], 0))})
		}
	}
	if still {
		// A set that stands still is at the instant t = 0.
		for i := range list {
			b.addDirect(list[i].circuit, real(list[i].fundamental))
		}
		return
	}
	if len(list)+len(pointed) == 0 {
		return
	}
	group := b.newGroup()
	first := make([]complex128, b.circuits)
	for i := range list {
		first[list[i].circuit] += list[i].fundamental
		b.add(group, s.FreqHz.V, role(number, 1), list[i].circuit, list[i].fundamental)
	}
	pair(list)
	b.harmonics(s, group, number, list)
	if len(pointed) > 0 {
		b.points(s, group, number, pointed, first)
	}
	for i, a := range first {
		if b.like[i] == 0 {
			b.like[i] = a
		}
	}
}

// pair marks currents out and return: of two plain currents with opposite fundamentals, both under the harmonics of the
// set, the one whose phase lies from above -90 to 90 degrees goes out, and the other is its negative throughout. The order in
// which a layout names them says nothing.
func pair(list []carried) {
	for i := range list {
		back := &list[i]
		back.negativeOf = -1
		if !back.plain || back.own != nil || back.fundamental == 0 || goesOut(back.fundamental) {
			continue
		}
		back.negativeOf = slices.IndexFunc(list, func(a carried) bool {
			return a.plain && a.own == nil && portable.Abs(a.fundamental+back.fundamental) <= sameFrequency*portable.Abs(a.fundamental)
		})
	}
}

// goesOut reports whether the phase of a lies from above -90 to 90 degrees.
func goesOut(a complex128) bool {
	if math.Abs(real(a)) <= sameFrequency*portable.Abs(a) {
		return imag(a) > 0
	}
	return real(a) > 0
}

// harmonics adds the harmonics of a set and those that currents have for themselves.
func (b *builder) harmonics(s *layout.Set, group, number int, list []carried) {
	for i := range s.Harmonics {
		h := &s.Harmonics[i]
		for k := range list {
			a := &list[k]
			if a.own != nil {
				continue
			}
			v := a.harmonic(h)
			if a.negativeOf >= 0 {
				v = -list[a.negativeOf].harmonic(h)
			}
			b.add(group, s.FreqHz.V*h.Order.V, role(number, h.Order.V), a.circuit, v)
		}
	}
	for k := range list {
		for i := range list[k].own {
			h := &list[k].own[i]
			b.add(group, s.FreqHz.V*h.Order.V, role(number, h.Order.V), list[k].circuit, list[k].harmonic(h))
		}
	}
}

func (a *carried) harmonic(h *layout.Harmonic) complex128 {
	size := h.Amount.AlternatingPeakA()
	if h.Share.Set {
		size = h.Share.V * a.peakA
	}
	return portable.Times(portable.Rect(size, h.Amount.PhaseRad.V-float64(h.Order.V*a.lagRad)), complex(a.sign, 0))
}

// role is the word for order n of a set.
func role(number int, order float64) string {
	switch {
	case number == 0 && order == 1:
		return "fundamental"
	case order == 1:
		return setWord(number)
	}
	return harmonicName(number, order)
}

// harmonicName is the role of an order that is not the fundamental.
func harmonicName(number int, order float64) string {
	if number == 0 {
		return fmt.Sprintf("harmonic %.0f", order)
	}
	return fmt.Sprintf("harmonic %.0f of the %s", order, setWord(number))
}

// Fundamental reports whether c is the fundamental of a set of its duty.
func (c *Component) Fundamental() bool {
	return c.FreqHz > 0 && !c.Ripple() && !strings.HasPrefix(c.Role, "harmonic")
}

// Ripple reports whether c is of a ripple.
func (c *Component) Ripple() bool { return strings.HasPrefix(c.Role, "ripple") }

func setWord(number int) string {
	words := [...]string{"second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"}
	if number <= len(words) {
		return words[number-1] + " set"
	}
	return fmt.Sprintf("set %d", number+1)
}
