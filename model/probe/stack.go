package probe

import (
	"math"
	"slices"

	"busgauss/model/closedform"
	"busgauss/model/dense"
	"busgauss/model/layout"
)

// Beside is a bar of a stack and what it loses while another of the stack carries a load.
type Beside struct {
	Bar       layout.BarIndex
	LossWPerM float64
}

// Bars pass heat on to each other in full across gaps up to nearGapM, from farGapM on not at all, and between them ever
// less: there the air between two bars begins to move, and takes away what it gets. Below leastGapM no gap stays a gap.
const (
	leastGapM = 0.05e-3
	nearGapM  = 1e-3
	farGapM   = 3e-3
)

// stack returns the bars that pass heat on to bar b across narrow gaps, directly or by others of the stack: b
// first, the others in layout order.
func (m *Model) stack(b layout.BarIndex) []layout.BarIndex {
	out := []layout.BarIndex{b}
	in := map[layout.BarIndex]bool{b: true}
	for i := 0; i < len(out); i++ {
		box := m.Layout.Bars[out[i]].Polygon().Box().Grow(farGapM)
		for k := range m.Layout.Bars {
			if k := layout.BarIndex(k); !in[k] && box.Meets(m.Layout.Bars[k].Polygon().Box()) &&
				alongside(&m.Layout.Bars[out[i]], &m.Layout.Bars[k]) {
				in[k] = true
				out = append(out, k)
			}
		}
	}
	slices.Sort(out[1:])
	return out
}

// alongside reports whether two bars are straight and some of each stands beside the other.
func alongside(a, b *layout.Bar) bool { return straight(a) && straight(b) && togetherM(a, b) > 0 }

// straight reports whether a bar runs along z alone.
func straight(b *layout.Bar) bool {
	for i := range b.Run {
		if b.Run[i].Point() != b.Run[0].Point() {
			return false
		}
	}
	return true
}

// reachesM returns from where to where along z a straight bar runs; without end where it declares no length.
func reachesM(b *layout.Bar) (fromM, toM float64) {
	if n := len(b.Run); n > 0 {
		first, last := b.Run[0].Point3().Z, b.Run[n-1].Point3().Z
		return math.Min(first, last), math.Max(first, last)
	}
	if !b.LengthM.Set {
		return math.Inf(-1), math.Inf(1)
	}
	return -b.LengthM.V / 2, b.LengthM.V / 2
}

// togetherM is the length along which two straight bars stand beside each other; not above 0 where they do not.
func togetherM(a, b *layout.Bar) float64 {
	fromA, toA := reachesM(a)
	fromB, toB := reachesM(b)
	return math.Min(toA, toB) - math.Max(fromA, fromB)
}

// faced is the share of the length of bar a along which bar b stands: a shorter one beside a long one passes on heat over
// all of its own length, and over that part of the other's. Of a long one no more takes part than heat spreads along it to
// both sides. A bar without a length is longer than any with one.
func faced(a, b *layout.Bar) float64 {
	from, to := reachesM(a)
	part := togetherM(a, b)
	switch {
	case math.IsInf(part, 1):
		return 1
	case !(part > 0):
		return 0
	}
	return math.Min(1, part/math.Min(to-from, part+2*spreadM(a)))
}

// spreadM is how far heat spreads along a bar, √(λA/(h·P)), m: its metal conducts λ = L₀σT (Wiedemann and Franz,
// L₀ = 2.44e-8 V²/K²), its outline P loses h = 10 W/(m²K), common practice for bars of some ten kelvin over still air.
func spreadM(b *layout.Bar) float64 {
	const lorenzV2PerK2, warmK, lossWPerM2K = 2.44e-8, 330, 10
	perimeterM := 0.0
	section := b.Polygon()
	for i := range section {
		p, q := section.Edge(i)
		perimeterM += q.Sub(p).Norm()
	}
	if !(b.SigmaSPerM > 0) {
		return 0
	}
	return math.Sqrt(lorenzV2PerK2 * b.SigmaSPerM * warmK * b.AreaM2() / (lossWPerM2K * perimeterM))
}

// beside returns what the others of the stack of bar b lose in duty d; those whose loss is not known pass on no heat.
func (m *Model) beside(b layout.BarIndex, d *layout.Duty) ([]Beside, error) {
	var out []Beside
	for _, k := range m.stack(b)[1:] {
		h, err := m.heat(k, d)
		if err != nil {
			return nil, err
		}
		if !math.IsNaN(h.LossWPerM) {
			out = append(out, Beside{k, h.LossWPerM})
		}
	}
	return out, nil
}

// cooled is a bar as it cools, with the heat that it makes.
type cooled struct {
	surface *surface
	loss    func(riseK float64) float64 // W/m at that temperature
}

// stackRise returns how much warmer than the air the first of a stack of bars gets, in kelvin, each losing heat
// over its own outline and passing it on to those across narrow gaps by the conduction of air:
//
//	loss_i(ΔT_i) = P_i(ΔT_i) + Σ_j G_ij (ΔT_i - ΔT_j),  G_ij = ∫ k/gap ds over the outlines that face each other, times
//	the share of the length of i that j faces
//
// Newton's method from above, where every bar loses more than it makes, so that no step undershoots; HottestK where
// one of them makes more than it loses even there. An insulating film conducts better than air, and what radiates
// across a gap comes on top.
func stackRise(list []cooled, gWPerMK [][]float64, emissivity float64, flat bool) float64 {
	n := len(list)
	excess := func(i int, k float64) float64 {
		return list[i].surface.lossWPerM(k, emissivity, flat) - list[i].loss(k)
	}
	rise := make([]float64, n)
	for i := range rise {
		rise[i] = HottestK
		if v := excess(i, HottestK); math.IsNaN(v) {
			return math.NaN()
		} else if v < 0 {
			return HottestK
		}
	}
	residual, slope := make([]float64, n), square(n)
	for range 60 {
		for i := range list {
			dk := math.Max(1e-6, 1e-5*rise[i])
			r := excess(i, rise[i])
			s := (r - excess(i, rise[i]-dk)) / dk
			for j := range list {
				g := gWPerMK[i][j]
				slope[i][j] = -g
				r += float64(g * (rise[i] - rise[j]))
				s += g
			}
			residual[i] = r
			slope[i][i] = s
		}
		step, ok := dense.Solve(slope, residual)
		if !ok {
			return math.NaN()
		}
		most := 0.0
		for i := range rise {
			rise[i] = math.Max(0, rise[i]-step[i])
			most = math.Max(most, math.Abs(step[i]))
		}
		if most < 1e-9*HottestK {
			break
		}
	}
	return rise[0]
}

// passed returns the conductances between the bars of a stack, in W/(m K), with the air of the gaps at the temperature
// round the bars, where it conducts least.
func (m *Model) passed(stack []layout.BarIndex, list []cooled) [][]float64 {
	g := square(len(stack))
	for i := range stack {
		s := list[i].surface
		for e, length := range s.stretchM {
			gap := s.gapM[e]
			if s.cold[e] || !(gap < farGapM) {
				continue
			}
			for j, b := range stack {
				if b != s.meets[e] || j == i {
					continue
				}
				share := math.Min(1, (farGapM-gap)/(farGapM-nearGapM))
				v := share * length * closedform.AcrossWPerM2K(math.Max(gap, leastGapM), 0, AmbientC) / 2
				g[i][j] += v // half from each side
				g[j][i] += v
			}
		}
	}
	for i, a := range stack {
		for j, b := range stack {
			g[i][j] *= faced(&m.Layout.Bars[a], &m.Layout.Bars[b])
		}
	}
	return g
}

func square(n int) [][]float64 {
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, n)
	}
	return out
}
