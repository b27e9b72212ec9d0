package field

import (
	"errors"
	"fmt"
	"math"

	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/sharing"
	"busgauss/model/waveform"
)

// shares is the net current of every bar per ampere in every circuit at one frequency.
type shares struct {
	m     [][]complex128 // [bar][circuit]
	bound [][]float64    // half width of the error of each, of any phase; nil: none

	images []geom.Point // of the bars, see imagesOf
}

// of returns the share of bar b in circuit c.
func (s *shares) of(b layout.BarIndex, c layout.CircuitIndex) complex128 { return s.m[b][c] }

// BarsA returns the net current of every bar where the circuits carry circuitA.
func (s *shares) BarsA(circuitA []complex128) []complex128 {
	out := make([]complex128, len(s.m))
	for b, row := range s.m {
		for c, a := range circuitA {
			if row[c] != 0 && a != 0 {
				out[b] += portable.Times(row[c], a)
			}
		}
	}
	return out
}

// sum returns the reading per ampere of circuit c from those per ampere of its bars; see Summed.
func (s *shares) sum(c layout.CircuitIndex, ofBar func(layout.BarIndex) Reading) Reading {
	var out Reading
	first, size := true, 0.0
	var image imageSum
	for b, row := range s.m {
		doubt := 0.0
		if s.bound != nil {
			doubt = s.bound[b][c]
		}
		if row[c] == 0 && doubt == 0 {
			continue
		}
		r := ofBar(layout.BarIndex(b))
		one := r.Scale(row[c])
		if doubt != 0 {
			one.B.Bound += float64(doubt * r.B.Norm())
			one.Axis.Bound += float64(doubt * portable.Abs(r.Axis.V))
		}
		size += portable.Abs(one.Axis.V)
		image.add(row[c], s.images[b])
		if first {
			out, first = one, false
			continue
		}
		out = out.Add(one)
	}
	left := image.left()
	out.B.Far, out.Axis.Far = left*out.B.Far, left*out.Axis.Far
	if portable.Abs(out.Axis.V) <= roundOff*size {
		out.Axis.V = 0 // bars that cancel by symmetry, see Summed
	}
	return out
}

// imageSum adds the images of bars, each with its share, which may cancel.
type imageSum struct {
	x, y  complex128
	apart float64 // each by itself
}

func (i *imageSum) add(share complex128, image geom.Point) {
	i.x, i.y = i.x+portable.Times(share, complex(image.X, 0)), i.y+portable.Times(share, complex(image.Y, 0))
	i.apart += float64(portable.Abs(share) * image.Norm())
}

// left returns the share of the images by themselves that their sum is.
func (i *imageSum) left() float64 {
	if i.apart == 0 {
		return 1
	}
	return math.Min(1, portable.Hypot(portable.Abs(i.x), portable.Abs(i.y))/i.apart)
}

// ends returns the sum over the bars of circuit c of what their ends take, each with its
// share.
func (s *shares) ends(c layout.CircuitIndex, ofBar func(layout.BarIndex) (whole, axis float64)) (wholeT,
	axisT float64) {
	for b, row := range s.m {
		if row[c] == 0 {
			continue
		}
		whole, axis := ofBar(layout.BarIndex(b))
		wholeT, axisT = wholeT+float64(whole*portable.Abs(row[c])), axisT+float64(axis*portable.Abs(row[c]))
	}
	return wholeT, axisT
}

// hasParallel reports whether bars of l are joined at both ends with shares that are
// computed.
func hasParallel(l *layout.Layout) bool {
	for i := range l.Circuits {
		if l.Circuits[i].Kind == layout.Parallel {
			return true
		}
	}
	return false
}

// madeShares are shares, or the reason why there are none.
type madeShares struct {
	shares *shares
	err    error
}

// sharesOf returns the shares at freqHz, computed once; at is the section at that
// frequency, which is not read at 0 Hz. In series and with
// declared shares they are the factors of the file. Bars joined at both ends divide direct
// current by their conductance at their own temperature, length and cuts counted, and
// alternating current by the voltages of the plane section, so that fields of other
// circuits drive currents round in them: see sharing.Matrix. Iron stands at its
// permeability of small signals there.
func (m *Model) sharesOf(freqHz float64, at section) (*shares, error) {
	c := m.cache
	key := -1.0 // the same at every frequency
	if hasParallel(m.Layout) {
		key = freqHz
	}
	c.mu.Lock()
	made, ok := c.shares[key]
	c.mu.Unlock()
	if ok {
		return made.shares, made.err
	}
	made.shares, made.err = m.solveShares(freqHz, at)
	if made.err == nil && m.inSpace() {
		made.err = m.shareBonds(made.shares)
	}
	c.mu.Lock()
	c.shares[key] = made
	c.mu.Unlock()
	return made.shares, made.err
}

func (m *Model) solveShares(freqHz float64, at section) (*shares, error) {
	circuits := m.sharing()
	z := square(len(m.Layout.Bars))
	if !hasParallel(m.Layout) {
		return m.divided(z, circuits)
	}
	if freqHz == 0 {
		if err := m.resistances(z, circuits); err != nil {
			return nil, err
		}
		return m.divided(z, circuits)
	}
	if err := m.alikeLegs(circuits); err != nil {
		return nil, err
	}
	section := dividing(at)
	low, err := m.divided(impedances(section.low, z), circuits)
	if err != nil {
		return nil, err
	}
	low.bound = doubts(section.low, low.m, circuits)
	if section.high == nil {
		return low, nil
	}
	high, err := m.divided(impedances(section.high, z), circuits)
	if err != nil {
		return nil, err
	}
	for b := range low.m {
		for c := range low.m[b] {
			low.bound[b][c] += portable.Abs(high.m[b][c] - low.m[b][c])
		}
	}
	return low, nil
}

// sharing returns the circuits as package sharing takes them.
func (m *Model) sharing() []sharing.Circuit {
	l := m.Layout
	circuits := make([]sharing.Circuit, len(l.Circuits))
	for i := range l.Circuits {
		c := &l.Circuits[i]
		for _, b := range c.Members {
			circuits[i].Bars = append(circuits[i].Bars, int(b.Bar))
			if c.Kind != layout.Parallel {
				circuits[i].Factors = append(circuits[i].Factors, b.Factor)
			}
		}
	}
	return circuits
}

func square(n int) [][]complex128 {
	z := make([][]complex128, n)
	for i := range z {
		z[i] = make([]complex128, n)
	}
	return z
}

// dividing returns the plane section by which alternating current divides.
func dividing(at section) *plane {
	p, ok := planeOf(at)
	if !ok {
		panic("field: alternating current divides by the plane section alone")
	}
	return p
}

func (m *Model) divided(z [][]complex128, circuits []sharing.Circuit) (*shares, error) {
	matrix, err := sharing.Matrix(z, circuits)
	var singular *sharing.Singular
	switch {
	case errors.As(err, &singular):
		return nil,
			&Unknown{fmt.Sprintf("how circuit %q shares its current is not settled: its bars have no resistance",
				m.Layout.Circuits[singular.Circuit].ID)}
	case err != nil:
		return nil, &Unknown{fmt.Sprintf("how parallel bars share their current is not known: %v", err)}
	}
	return &shares{m: matrix, images: m.images()}, nil
}

// resistances puts the direct-current resistance of every bar joined to others on the
// diagonal of z, in ohms: per metre where no bar of its circuit declares a length.
func (m *Model) resistances(z [][]complex128, circuits []sharing.Circuit) error {
	return m.eachJoined(circuits, func(i int, ohms []float64) error {
		for n, k := range circuits[i].Bars {
			z[k][k] = complex(ohms[n], 0)
		}
		return nil
	})
}

// pathM returns the length of the centre line of b in metres, 0 where it declares none.
func pathM(b *layout.Bar) float64 {
	if len(b.Run) == 0 {
		if b.LengthM.Set {
			return b.LengthM.V
		}
		return 0
	}
	sum := 0.0
	for i := 1; i < len(b.Run); i++ {
		sum += b.Run[i].Point3().Sub(b.Run[i-1].Point3()).Norm()
	}
	return sum
}

func impedances(s *fem.Solution, z [][]complex128) [][]complex128 {
	for i := range z {
		for j := range z[i] {
			z[i][j] = s.ImpedanceOhmPerM(i, j)
		}
	}
	return z
}

// doubts returns what the bounds of the impedances make of the shares: of a loop of two
// legs, four entries over the impedance round the loop; the weakest loop counts for all.
func doubts(s *fem.Solution, m [][]complex128, circuits []sharing.Circuit) [][]float64 {
	out := make([][]float64, len(m))
	for b := range m {
		out[b] = make([]float64, len(m[b]))
	}
	for _, c := range circuits {
		if c.Factors != nil {
			continue
		}
		worst := 0.0
		for x, i := range c.Bars {
			for _, j := range c.Bars[:x] {
				loop := portable.Abs(s.ImpedanceOhmPerM(i, i) + s.ImpedanceOhmPerM(j, j) - s.ImpedanceOhmPerM(i,
					j) - s.ImpedanceOhmPerM(j, i))
				bound := math.Max(s.ImpedanceBoundOhmPerM(i, i), s.ImpedanceBoundOhmPerM(j, j))
				bound = math.Max(bound, s.ImpedanceBoundOhmPerM(i, j))
				worst = math.Max(worst, 4*bound/loop)
			}
		}
		for _, b := range c.Bars {
			for k := range out[b] {
				out[b][k] = worst
			}
		}
	}
	return out
}

// BarsA returns the net current of every bar, for currents of the circuits at the
// frequency of f.
func (f *Field) BarsA(circuitA []complex128) []complex128 {
	return settled(f.layout, f.shares.BarsA(circuitA))
}

// BarsA returns the net current of every bar in component c; see sharesOf.
func (m *Model) BarsA(c *waveform.Component) ([]complex128, error) {
	if hasParallel(m.Layout) && c.FreqHz > 0 {
		f, err := m.FieldOf(c)
		if err != nil {
			return nil, err
		}
		return f.BarsA(c.PeakA), nil
	}
	s, err := m.sharesOf(0, nil)
	if err != nil {
		return nil, err
	}
	return settled(m.Layout, s.BarsA(c.PeakA)), nil
}

// steadyBarsA returns the current of every bar for steady currents of the circuits.
func (m *Model) steadyBarsA(circuitA []float64) ([]float64, error) {
	s, err := m.sharesOf(0, nil)
	if err != nil {
		return nil, err
	}
	out := make([]float64, len(m.Layout.Bars))
	for b, row := range s.m {
		for c, a := range circuitA {
			out[b] += float64(real(row[c]) * a)
		}
	}
	return out, nil
}
