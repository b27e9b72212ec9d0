package probe

import (
	"math"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// AmbientC is the air round the bars, in degrees Celsius: the highest that IEC 61439-1 counts as
// normal service indoors, and that of the ampacity table of the Copper Development Association.
const AmbientC = 40

// Emissivity of bus bars: bare ones that have aged, the value of both ampacity tables of
// fixtures/reference; matt paint, that of DIN 43671; bright new metal (common practice).
const (
	Bare    = 0.4
	Painted = 0.9
	Bright  = 0.1
)

// HottestK is where the search for a temperature rise ends: metal melts below it.
const HottestK = 1000

// Rise is how much warmer than still air a bar gets, in kelvin, at most 1000, which
// stands for anything beyond.
type Rise struct {
	K        float64 // bare, the longer side of its section upright
	FlatK    float64 // bare, that side level
	PaintedK float64 // upright
	BrightK  float64
	AtNeckK  float64 // what the narrowest cut adds to each of these; in K too
	Sees     bool    // there is other metal in front of it, within farSizes longer sides
	Hidden   float64 // share of its outline that neighbours keep from the air or from radiating
	UpToK    float64 // K with every shield of undeclared depth a long one; K where that changes nothing
}

// Rise returns the steady temperature rise of bar b with the load h: what it loses a metre,
// at the temperature that it reaches, leaves it by natural convection in still air and by
// radiation, over its outline.
//
//	F I²/(σ(T) S) = Σ length·(h(ΔT) ΔT + ε σ ((T+ΔT)⁴ - T⁴))
//
// What metal faces at a distance cools as the channel between two hot plates does, where
// that is less, and does not radiate what the other side sees of it. What a cut loses is
// carried off by the bar to both sides as by a long fin; the drop within the neck itself is
// V²σ/(8k) (F. Kohlrausch). Thermal conductivity after Wiedemann and Franz, 2.44e-8 V²/K² T σ.
//
// Long bars, no heat to terminals, no sun, no draught; coefficients of closedform. Against the
// ampacity tables of fixtures/reference: for the currents of the C11000 table its rise is 0.92 to 1.07 of
// the table's, for those of DIN 43671 0.80 to 0.90 (rise_test.go).
// NaN where the conductivity is not known. Source of the fin: Incropera and DeWitt, section 3.6 (from
// memory).
func (m *Model) Rise(b layout.BarIndex, h Heat) Rise {
	bar := &m.Layout.Bars[b]
	s, alpha := m.surface(b, false), m.alphaPerK(b)
	solve := m.warmed(b, s, h, false)
	out := Rise{Hidden: s.hidden(), Sees: slices.ContainsFunc(s.gapM, func(m float64) bool { return !math.IsInf(m, 1) })}
	out.K, out.FlatK = solve(Bare, false), solve(Bare, true)
	out.PaintedK, out.BrightK = solve(Painted, false), solve(Bright, false)
	out.UpToK = out.K
	if m.undeclaredDepth() {
		long := m.surface(b, true)
		out.UpToK = m.warmed(b, long, h, true)(Bare, false)
		if h.Cut {
			out.UpToK = math.Min(HottestK, out.UpToK+m.atNeck(bar, h, long, out.UpToK, alpha))
		}
	}
	if h.Cut {
		out.AtNeckK = m.atNeck(bar, h, s, out.K, alpha)
		for _, k := range []*float64{&out.K, &out.FlatK, &out.PaintedK, &out.BrightK} {
			*k = math.Min(HottestK, *k+out.AtNeckK)
		}
	}
	out.UpToK = math.Max(out.UpToK, out.K)
	return out
}

// warmed returns the rise of bar b, of a surface, with the load h and those beside it, shields of undeclared depth
// counted where undeclared says so, by the emissivity of all and how they lie.
func (m *Model) warmed(b layout.BarIndex, of *surface, h Heat, undeclared bool) func(emissivity float64, flat bool) float64 {
	cools := func(b layout.BarIndex, s *surface, lossWPerM float64) cooled {
		bar, alpha := &m.Layout.Bars[b], m.alphaPerK(b)
		return cooled{s, func(riseK float64) float64 {
			return lossWPerM * (1 + float64(alpha*(AmbientC+riseK-20))) / (1 + float64(alpha*(bar.TemperatureC.V-20)))
		}}
	}
	own := cools(b, of, h.LossWPerM)
	if len(h.Beside) == 0 {
		return func(emissivity float64, flat bool) float64 {
			return balance(func(k float64) float64 { return own.surface.lossWPerM(k, emissivity, flat) - own.loss(k) })
		}
	}
	stack, list := []layout.BarIndex{b}, []cooled{own}
	for _, o := range h.Beside {
		stack, list = append(stack, o.Bar), append(list, cools(o.Bar, m.surface(o.Bar, undeclared), o.LossWPerM))
	}
	between := m.passed(stack, list)
	return func(emissivity float64, flat bool) float64 { return stackRise(list, between, emissivity, flat) }
}

// undeclaredDepth reports whether the depth of a shield is not declared.
func (m *Model) undeclaredDepth() bool {
	return slices.ContainsFunc(m.Layout.Shields, func(s layout.Shield) bool { return !s.Long && !s.DepthM.Set })
}

// Carries returns the largest share of the load h with which bar b gets no more than
// mostK warmer than the air, by UpToK of Rise; 1 where it does not with all of it.
func (m *Model) Carries(b layout.BarIndex, h Heat, mostK float64) float64 {
	low, high := 0.0, 1.0
	for range 40 {
		mid := (low + high) / 2
		part := h
		part.RMSA *= mid
		part.LossWPerM *= mid * mid
		part.ExtraWatt *= mid * mid
		part.Beside = slices.Clone(h.Beside)
		for i := range part.Beside {
			part.Beside[i].LossWPerM *= mid * mid
		}
		if m.Rise(b, part).UpToK <= mostK {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// alphaPerK returns the temperature coefficient of the resistance of bar b; that of most
// metals, 0.004/K (common practice), where its material does not say one.
func (m *Model) alphaPerK(b layout.BarIndex) float64 {
	bar := &m.Layout.Bars[b]
	if bar.Material != layout.None && !m.Layout.Materials[bar.Material].AlphaPerK.Set {
		return 0.004
	}
	return bar.AlphaPerK
}

// atNeck returns how much hotter than the bar the narrowest cut is: a long fin to both
// sides takes what the cuts lose, all of it at one place; never more than a long bar of
// the narrow section alone would be.
func (m *Model) atNeck(bar *layout.Bar, h Heat, s *surface, riseK, alpha float64) float64 {
	if math.IsNaN(h.ExtraWatt) || !(h.ExtraWatt > 0) {
		return h.ExtraWatt
	}
	const lorenz = 2.44e-8 // V²/K²
	hot := func(k float64) float64 {
		return (1 + float64(alpha*(AmbientC+k-20))) / (1 + float64(alpha*(bar.TemperatureC.V-20)))
	}
	added := func(k float64) float64 { // at k in all
		sigma := bar.SigmaSPerM / hot(k)
		conduct := lorenz * (AmbientC + 273.15 + k) * sigma
		perK := (s.lossWPerM(k, Bare, false)) / math.Max(k, 1e-9)
		watt := h.ExtraWatt * hot(k) * h.Factor
		volt := watt / h.RMSA
		return watt/(2*math.Sqrt(perK*conduct*bar.AreaM2())) + volt*volt*sigma/(8*conduct)
	}
	all := balance(func(k float64) float64 { return k - riseK - added(math.Max(k, riseK)) })
	narrow := h.NarrowM / bar.Section.WidthM.V
	alone := balance(func(k float64) float64 {
		return float64(narrow*s.lossWPerM(k, Bare, false)) - float64(h.LossWPerM/narrow*hot(k))
	})
	return math.Max(0, math.Min(all, alone)-riseK)
}

// surface is the outline of a bar as it cools, in stretches.
type surface struct {
	round    bool
	sizeM    float64 // longer side, or diameter
	stretchM []float64
	gapM     []float64         // to the metal in front of each stretch; +Inf for none
	cold     []bool            // that is a shield, which makes no heat of its own
	meets    []layout.BarIndex // the bar that this metal is; None for the bar itself or where there is none
}

// steps is the number of stretches of each side of an outline.
const steps = 32

// coverM is the depth from which a shield keeps a bar from the air; a shorter one warms no more than
// the bar carries off along itself, some decimetres to each side (the length of the fin, √(k S/(h P))).
const coverM = 0.5

// covers reports whether a shield lies along most of a bar; one of undeclared depth where undeclared says so.
func covers(s *layout.Shield, bar *layout.Bar, undeclared bool) bool {
	return s.Long || undeclared && !s.DepthM.Set || s.DepthM.Set && (s.DepthM.V >= coverM || bar.LengthM.Set && s.DepthM.V >= bar.LengthM.V/2)
}

// surface returns the outline of bar b with what stands in front of it: metal that the
// normal meets within farSizes longer sides, bars as if they ran beside it all the way; shields of undeclared depth
// where undeclared says so.
func (m *Model) surface(b layout.BarIndex, undeclared bool) *surface {
	bar := &m.Layout.Bars[b]
	outline := bar.SectionCorners()
	size := outline.Box().Size()
	s := &surface{round: bar.Section.Kind == layout.Round, sizeM: math.Max(size.X, size.Y)}
	outline = bar.Polygon()
	var others, shields []inSight
	var names []layout.BarIndex // of others
	for i := range m.Layout.Bars {
		if i := layout.BarIndex(i); i != b {
			others, names = append(others, seen(geom.Solid(m.Layout.Bars[i].Polygon()), s.sizeM)), append(names, i)
		}
	}
	for i := range m.Layout.Shields {
		if !covers(&m.Layout.Shields[i], bar, undeclared) {
			continue
		}
		shields = append(shields, seen(m.Layout.Shields[i].Region(), s.sizeM))
	}
	per := steps
	if s.round {
		per = 1
	}
	for i := range outline {
		from, to := outline.Edge(i)
		d := to.Sub(from)
		out := geom.Point{X: d.Y, Y: -d.X}.Scale(farSizes * s.sizeM / d.Norm()) // counter-clockwise: outwards
		for k := range per {
			at := from.Add(d.Scale((float64(k) + 0.5) / float64(per)))
			s.stretchM = append(s.stretchM, d.Norm()/float64(per))
			other, which := sight(at, out, others)
			cold, _ := sight(at, out, shields)
			own := ownSight(at, out, bar, outline)
			hot, meets := math.Min(other, own), layout.BarIndex(layout.None)
			if which >= 0 && other < own {
				meets = names[which]
			}
			s.gapM, s.cold, s.meets = append(s.gapM, math.Min(hot, cold)), append(s.cold, cold < hot), append(s.meets, meets)
		}
	}
	return s
}

// ownSight is sight for the outline itself, which sees itself where it turns in.
func ownSight(at, ray geom.Point, bar *layout.Bar, outline geom.Polygon) float64 {
	if bar.Section.Kind != layout.Outline {
		return math.Inf(1)
	}
	const off = 1e-9 // of the ray: away from the side that it starts on
	least := math.Inf(1)
	from, to := at.Add(ray.Scale(off)), at.Add(ray)
	for i := range outline {
		a, b := outline.Edge(i)
		if gap, p, _ := geom.SegmentGapM(from, to, a, b); gap == 0 {
			least = math.Min(least, p.Sub(at).Norm())
		}
	}
	return least
}

// inSight is a region that a bar may see, and a box about it.
type inSight struct {
	geom.Region
	about geom.Box
}

// seen returns r as a bar of size sizeM sees it; the box is as much wider than r as no round-off is.
func seen(r geom.Region, sizeM float64) inSight { return inSight{r, r.Outer.Box().Grow(1e-3 * sizeM)} }

// sight returns how far ray runs from at until it meets one of the regions, and which; +Inf and -1 where it meets none.
func sight(at, ray geom.Point, others []inSight) (leastM float64, which int) {
	leastM, which = math.Inf(1), -1
	passes := geom.EmptyBox().Extend(at).Extend(at.Add(ray))
	for k, r := range others {
		if !r.about.Meets(passes) {
			continue
		}
		if r.Contains(at) {
			return 0, k
		}
		for _, edges := range append([]geom.Polygon{r.Outer}, r.Holes...) {
			for i := range edges {
				a, b := edges.Edge(i)
				if gap, p, _ := geom.SegmentGapM(at, at.Add(ray), a, b); gap == 0 {
					if d := p.Sub(at).Norm(); d < leastM {
						leastM, which = d, k
					}
				}
			}
		}
	}
	return leastM, which
}

// lossWPerM returns what leaves a metre of the bar when it is riseK warmer than the air.
func (s *surface) lossWPerM(riseK, emissivity float64, flat bool) float64 {
	var open float64
	switch {
	case s.round:
		open = closedform.RoundWPerM2K(s.sizeM, riseK, AmbientC)
	case flat:
		open = closedform.FlatWPerM2K(s.sizeM, riseK, AmbientC)
	default:
		open = closedform.UprightWPerM2K(s.sizeM, riseK, AmbientC)
	}
	radiant := closedform.RadiantWPerM2(emissivity, riseK, AmbientC)
	sum, perM2 := 0.0, 0.0
	for i, length := range s.stretchM {
		if i == 0 || s.gapM[i] != s.gapM[i-1] || s.cold[i] != s.cold[i-1] { // else as the stretch before
			perM2 = s.stretchWPerM2(i, open, radiant, riseK)
		}
		sum += float64(length * perM2)
	}
	return sum
}

// stretchWPerM2 returns what leaves stretch i, of which an open one loses open by convection, W/(m²K), and radiant.
func (s *surface) stretchWPerM2(i int, open, radiant, riseK float64) float64 {
	gap, far := s.gapM[i], s.far(i)
	h, kept := open, 0.0
	switch {
	case far == 1 || open == 0:
	case s.cold[i]: // through the gap and then from the shield's far side
		h = 1 / (1/math.Max(closedform.AcrossWPerM2K(gap, riseK, AmbientC), open/2) + 1/open)
	default:
		h = math.Min(h, closedform.ChannelWPerM2K(gap, s.sizeM, riseK, AmbientC))
	}
	if far < 1 {
		kept = closedform.StripView(gap, s.sizeM)
		if s.cold[i] && open != 0 {
			kept /= 2 // a screen halves what radiates
		}
	}
	return float64((float64(far*open)+float64((1-far)*h))*riseK) + float64(radiant*(1-float64((1-far)*kept)))
}

// Metal in front of a stretch counts in full up to nearSizes longer sides of the bar, from farSizes on not at
// all, and between them ever less, so that nothing hangs on round-off.
const nearSizes, farSizes = 2, 4

// far returns how far away what stands in front of stretch i is, from 0, near, to 1, where it does not count.
func (s *surface) far(i int) float64 {
	if math.IsInf(s.gapM[i], 1) {
		return 1
	}
	return math.Min(1, math.Max(0, (s.gapM[i]/s.sizeM-nearSizes)/(farSizes-nearSizes)))
}

// hidden returns the share of the outline that has metal nearer than a tenth of the longer
// side or 10 mm in front of it.
func (s *surface) hidden() float64 {
	all, hidden := 0.0, 0.0
	for i, length := range s.stretchM {
		all += length
		if s.gapM[i] < math.Max(0.010, s.sizeM/10) {
			hidden += length
		}
	}
	return hidden / all
}

// heatCapacity returns the heat capacity of a volume of the metal of a bar, in
// J/(m³K), from least to most.
func heatCapacity(b *layout.Bar) (low, high float64) {
	switch b.Metal {
	case "copper":
		return 3.45e6, 3.45e6 // IEC 60364-5-54, annex A
	case "aluminium":
		return 2.5e6, 2.5e6 // the same
	case "brass":
		return 3.2e6, 3.2e6 // 380 J/(kg K), 8440 kg/m³; from memory
	}
	return 2.4e6, 3.9e6 // aluminium alloys to steel: common practice
}

// ShortTimeC is the highest temperature, in degrees Celsius, of bare conductors of copper and
// aluminium at the end of a short circuit: IEC 60865-1, recommended (from memory).
const ShortTimeC = 200

// Withstand returns the time in seconds that bar b stands the load h, from fromC to
// ShortTimeC without losing heat, over the narrowest section.
func (m *Model) Withstand(b layout.BarIndex, h Heat, fromC float64) bounded.Estimate {
	bar := &m.Layout.Bars[b]
	alpha := m.alphaPerK(b)
	sigma20 := bar.SigmaSPerM * (1 + float64(alpha*(bar.TemperatureC.V-20)))
	low, high := heatCapacity(bar)
	j := h.DensityAPerM2 * math.Sqrt(h.Factor)
	time := func(heat float64) float64 {
		return closedform.AdiabaticTimeS(j, sigma20, alpha, heat, fromC, ShortTimeC)
	}
	return bounded.Estimate{Value: time((low + high) / 2), Low: time(low), High: time(high)}
}
