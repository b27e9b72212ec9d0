package waveform

import (
	"math"

	"busgauss/model/layout"
	"busgauss/model/portable"
)

const (
	mostOrders     = 40   // orders kept of a waveform given by points
	pointsLeftOver = 0.02 // of the peak to peak: fewer orders when less is left out
	smallestLine   = 1e-4 // of the peak: smaller lines join the left-over
	countedOrders  = 1024 // coefficients added up one by one; the tail has a formula
)

// corner is a point of a waveform: the line that leaves it, and what changes there.
type corner struct {
	timeS, lastsS float64 // until the next point
	a, slope      float64 // A, A/s of the line that leaves
	jump, turn    float64 // A, A/s: change of value and of slope at the point
}

// outline is one period that is linear between its points and closes on itself.
type outline struct {
	periodS float64
	corners []corner
	meanA   float64
	lowA    float64
	highA   float64
}

// drawn is what the points of a circuit's current say of its extremes; mixed where something
// else flows in it too.
type drawn struct {
	outlines    int
	lowA, highA float64
	mixed       bool
	tails       []tail
}

// tail is what bounds the high orders of an outline.
type tail struct {
	baseHz, steepA, spanA float64 // order k has at most steepA/k²; peak to peak
	jumps                 bool
}

// FromHzA bounds what all orders at or above freqHz of what points draw in a circuit make together, A, by
//
//	Σ_{k>K} |P_k| ≤ T·Σ|Δs|/(2π²) · 1/(K+½)
//
// with Δs the changes of slope, and by its peak to peak: 0 where no points are given.
func (c *Currents) FromHzA(circuit layout.CircuitIndex, freqHz float64) float64 {
	sum := 0.0
	for _, t := range c.drawn[circuit].tails {
		below := math.Ceil(freqHz/t.baseHz*(1-sameFrequency)) - 1 // an order at freqHz itself counts
		if more := t.steepA / (below + 0.5); !t.jumps {
			sum += min(more, t.spanA)
		} else {
			sum += t.spanA
		}
	}
	return sum
}

// newOutline joins the last point to the first one a period later. A last point a whole
// period after the first is the first again; if its current differs, the waveform jumps there.
func newOutline(points []layout.Point, periodS float64) *outline {
	o := &outline{periodS: periodS, lowA: math.Inf(1), highA: math.Inf(-1)}
	n := len(points)
	end := points[0].CurrentA.V
	if n > 1 && points[n-1].TimeS.V-points[0].TimeS.V >= periodS*(1-sameFrequency) {
		end = points[n-1].CurrentA.V
		n--
	}
	for i := range n {
		p := &points[i]
		c := corner{timeS: p.TimeS.V, a: p.CurrentA.V}
		next, until := end, points[0].TimeS.V+periodS
		if i+1 < n {
			next, until = points[i+1].CurrentA.V, points[i+1].TimeS.V
		}
		c.lastsS = until - c.timeS
		c.slope = (next - c.a) / c.lastsS
		o.meanA += (c.a + next) / 2 * c.lastsS / periodS
		o.lowA, o.highA = min(o.lowA, c.a, next), max(o.highA, c.a, next)
		o.corners = append(o.corners, c)
	}
	for i := range o.corners {
		before := &o.corners[(i+n-1)%n]
		o.corners[i].turn = o.corners[i].slope - before.slope
	}
	o.corners[0].jump = points[0].CurrentA.V - end
	if math.Abs(o.meanA) < rounding*max(o.highA, -o.lowA) {
		o.meanA = 0 // what cancels but for rounding
	}
	return o
}

// series returns the peak phasors of orders 1 to n, in closed form for a piecewise
// linear function:
//
//	P_k = −2/(T·k²ω²)·Σ Δs_i·e^{−jkωt_i} + 2/(jkωT)·Σ ΔI_i·e^{−jkωt_i}
//
// Δs_i and ΔI_i the changes of slope and of value at t_i, ω = 2π/T.
//
// Source: the second derivative is a sum of impulses, whose coefficients are known;
// A. Papoulis, The Fourier Integral and Its Applications, 1962, section 3-3 (from memory).
func (o *outline) series(n int) []complex128 {
	out := make([]complex128, n)
	omega := 2 * math.Pi / o.periodS
	for _, c := range o.corners {
		turn := portable.Rect(1, -omega*c.timeS)
		z := turn
		for i := range out {
			out[i] += complex(float64(real(z)*c.turn), float64(imag(z)*c.turn))
			z = portable.Times(z, turn)
		}
	}
	first := &o.corners[0] // the only one that may jump
	for i := range out {
		k := float64(i+1) * omega
		out[i] = portable.Times(out[i], complex(-2/(o.periodS*k*k), 0))
		if first.jump != 0 {
			out[i] += portable.Rect(2*first.jump/(o.periodS*k), float64(-k*first.timeS)-math.Pi/2)
		}
	}
	return out
}

// tail returns what bounds the high orders of o.
func (o *outline) tail(baseHz float64) tail {
	out := tail{baseHz: baseHz, spanA: o.highA - o.lowA}
	for _, c := range o.corners {
		out.steepA += o.periodS * math.Abs(c.turn) / (2 * math.Pi * math.Pi)
		out.jumps = out.jumps || c.jump != 0
	}
	return out
}

// orders returns how many orders leave out less than pointsLeftOver by the sum of the
// coefficients, and that sum. The tail is
//
//	|P_k| ≤ T·Σ|Δs|/(2π²k²),  Σ_{k>K} 1/k² < 1/(K+½)
func (o *outline) orders(series []complex128, most int) (n int, left float64) {
	turns, jumps := 0.0, 0.0
	for _, c := range o.corners {
		turns, jumps = turns+math.Abs(c.turn), jumps+math.Abs(c.jump)
	}
	if jumps > 0 {
		return most, math.Inf(1)
	}
	left = o.periodS * turns / (2 * math.Pi * math.Pi) / (float64(len(series)) + 0.5)
	for k := len(series); k > most; k-- {
		left += portable.Abs(series[k-1])
	}
	for n = most; n > 0; n-- {
		more := left + portable.Abs(series[n-1])
		if !(more < pointsLeftOver*(o.highA-o.lowA)) {
			break
		}
		left = more
	}
	return n, left
}

// leftOut bounds |waveform − mean − Σ kept| at every instant. Between samples of the difference,
// h apart on a straight piece, it exceeds the larger one by at most
//
//	h²/8·Σ (kω)²|P_k|
//
// Source: error of linear interpolation, J. Stoer, R. Bulirsch, Introduction to
// Numerical Analysis, 2.1.4 (from memory).
func (o *outline) leftOut(kept []complex128) float64 {
	omega := 2 * math.Pi / o.periodS
	curve, highest := 0.0, 1
	for i, p := range kept {
		if p != 0 {
			highest = i + 1
			curve += float64(portable.Pow(float64(highest)*omega, 2) * portable.Abs(p))
		}
	}
	step := o.periodS / float64(128*highest)
	worst := 0.0
	for _, c := range o.corners {
		count := int(math.Ceil(c.lastsS/step)) + 1
		h := c.lastsS / float64(count)
		difference := make([]float64, count+1)
		for j := range difference {
			difference[j] = c.a + float64(c.slope*float64(j)*h) - o.meanA
		}
		for i, p := range kept {
			if p == 0 {
				continue
			}
			k := float64(i+1) * omega
			z, turn := portable.Times(p, portable.Rect(1, k*c.timeS)), portable.Rect(1, k*h)
			for j := range difference {
				difference[j] -= real(z)
				z = portable.Times(z, turn)
			}
		}
		for _, x := range difference {
			worst = max(worst, math.Abs(x)+float64(h*h/8*curve))
		}
	}
	return worst
}

// flows reports whether order k of the series of an outline is more than what arithmetic leaves.
func (o *outline) flows(series []complex128, k int) bool {
	return portable.Abs(series[k-1]) > 1e-10*max(o.highA, -o.lowA)
}

// mainOf returns the order that is the fundamental of the outlines: the first, unless another is more than twice as large, as
// in a burst of cycles that are not quite alike; no more than highest.
func mainOf(all [][]complex128, highest int) int {
	main, most, first := 1, 0.0, 0.0
	for _, series := range all {
		first = max(first, portable.Abs(series[0]))
		for k := range highest {
			if a := portable.Abs(series[k]); a > most {
				main, most = k+1, a
			}
		}
	}
	if most > 2*first {
		return main
	}
	return 1
}

// cyclesOf returns how many cycles all outlines have in their period: the largest number that divides every order that
// flows.
func cyclesOf(outlines []*outline, all [][]complex128) int {
	cycles := 0
	for i, o := range outlines {
		for k := 1; k <= len(all[i]) && cycles != 1; k++ {
			if o.flows(all[i], k) {
				cycles = divisor(cycles, k)
			}
		}
	}
	return max(1, cycles)
}

// divisor is the greatest common divisor of a and b.
func divisor(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// firstCycle returns the points of the first cycle of a waveform.
func firstCycle(points []layout.Point, cycleS float64) []layout.Point {
	n := 0
	for n < len(points) && points[n].TimeS.V-points[0].TimeS.V < cycleS*(1-sameFrequency) {
		n++
	}
	return points[:n]
}

// points adds the currents of a set that are given by points. They share their orders: the
// number that the most demanding one needs, without orders that are small in all of them.
// The fundamentals are added to first.
func (b *builder) points(s *layout.Set, group, number int, list []*layout.Current, first []complex128) {
	period := 1 / s.FreqHz.V
	if s.PeriodS.Set {
		period = s.PeriodS.V
	}
	outlines := make([]*outline, len(list))
	all := make([][]complex128, len(list))
	for i, c := range list {
		outlines[i] = newOutline(c.Points, period)
		all[i] = outlines[i].series(countedOrders)
	}
	// Several cycles that are drawn in one period are the same current as one of them.
	base, cycles := s.FreqHz.V, 1
	alone := len(list) == len(s.Currents) && s.ThreePhase == nil
	if alone {
		cycles = cyclesOf(outlines, all)
	}
	if cycles > 1 && base*float64(cycles) <= HighestHz {
		base, period = base*float64(cycles), period/float64(cycles)
		for i, c := range list {
			outlines[i] = newOutline(firstCycle(c.Points, period), period)
			all[i] = outlines[i].series(countedOrders)
		}
	}
	most := int(min(mostOrders, HighestHz*(1+sameFrequency)/base))
	kept := 1
	for i := range list {
		n, _ := outlines[i].orders(all[i], most)
		kept = max(kept, n)
	}
	main := 1
	if alone {
		main = mainOf(all, most)
	}
	kept = min(max(kept, main), most)
	for k := range kept {
		large := k+1 == main
		for i, o := range outlines {
			large = large || !(portable.Abs(all[i][k]) < smallestLine*max(math.Abs(o.lowA), math.Abs(o.highA)))
		}
		for i, c := range list {
			if !large {
				all[i][k] = 0
				continue
			}
			p := portable.Times(all[i][k], complex(c.Sign, 0))
			if k+1 == main {
				b.put(Component{FreqHz: float64(k+1) * base, Role: role(number, 1), Group: group}, c.Circuit, p)
			} else {
				b.addOrder(k+1, group, float64(k+1)*base, harmonicName(number, float64(k+1)), c.Circuit, p)
			}
			if k+1 == main {
				first[c.Circuit] += p
			}
		}
	}
	for i, c := range list {
		if outlines[i].meanA != 0 {
			b.direct.PeakA[c.Circuit] += complex(float64(c.Sign*outlines[i].meanA), 0)
			b.hasDirect = true
		}
		b.leftOverA[c.Circuit] += outlines[i].leftOut(all[i][:kept])
		d := &b.drawn[c.Circuit]
		d.mixed = d.mixed || d.outlines > 0
		d.tails = append(d.tails, outlines[i].tail(base))
		d.outlines++
		d.lowA, d.highA = min(c.Sign*outlines[i].lowA, c.Sign*outlines[i].highA),
			max(c.Sign*outlines[i].lowA, c.Sign*outlines[i].highA)
	}
}
