package rules

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/closedform"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/model/word"
	"busgauss/rules/engine"
)

// BarHeating reminds of a bar that its continuous current warms much, or that a fault
// overheats. It is a reminder: the temperature of a bar hangs on its enclosure, its joints and
// the air round it, and is for a licensed designer to judge by the standards that
// apply.
//
//	Quantity  steady temperature rise over still air of 40 °C in the continuous duty that warms the bar most, K, bare and with
//	          the longer side of its section upright; time that it stands a peak or fault, s; where a house sets a density, the even
//	          current density that loses as much, A/m²
//	Formula   loss per metre F·I²/(σ(T)·S) leaves by natural convection (S. W. Churchill, H. H. S. Chu, 1975) and radiation
//	          (emissivity 0.4) over the outline; sides that face metal as a channel (W. Elenbaas, 1942), less what they see of
//	          it; straight bars within 3 mm of each other pass heat on by the conduction of the air between, along what
//	          both have of length
//	          them; F is the loss over that of direct current, from the plane field with eddy currents of all bars where a
//	          section is not thin against the skin depth, else 1; bonded bars share their common current; what necks, notches,
//	          holes or slots add flows off to both sides as in a fin; a peak or fault heats the narrowest section without
//	          loss of heat, t = k²/J² (factor k of IEC 60364-5-54), to 200 °C (IEC 60865-1)
//	Valid     long bars in free air; undecided where conductivity or field is not known, where the limit lies between the
//	          rise without a shield of undeclared depth and that in a long one, where a bar does not stand a
//	          peak or fault for the time assumed, which no layout says, and for copper of up to 0.21 mm between its rise in free
//	          air and that of a track on the outer layer of a board (IPC-2221)
//	Source    C11000 bars of the Copper Development Association's table: the rise is 0.92 to 1.07 of the table's for its
//	          currents; DIN 43671: 0.80 to 0.90, alternating current's crowding not counted (fixtures/reference)
//	Not seen  enclosure, cooling, shields shorter than both 0.5 m and half of the bar, heat to
//	          and from terminals, joints, sun, altitude, how the bar lies (the message says what a flat one adds), what else
//	          heats a board, the direct component of a fault
var BarHeating = engine.Rule{
	ID:    "bar-heating",
	Title: "reminder: a bar gets hot in continuous duty or at fault",
	Level: finding.Warning,
	Limits: []engine.Limit{{
		Key: "rise", Unit: "K", Default: 40,
		Reason: "common practice: 50 K, the middle column (30, 50, 65 K) of the Copper Development Association's ampacity table, " +
			"less the fifth by which this formula falls short of DIN 43671",
	}, {
		Key: "density", Unit: "A/m2", Default: 4e6,
		Reason: "common practice: about 4 A/mm² for small copper bars in still air; counts beside the rise where a house sets it",
	}, {
		Key: "density-other", Unit: "A/m2", Default: 2.5e6,
		Reason: "common practice: aluminium and brass bars about six tenths of copper; counts beside the rise where a house sets it",
	}, {
		Key: "fault-time", Unit: "s", Default: 1, AtLeast: true,
		Reason: "assumed, for no layout says how long a peak or fault lasts: rated short-time withstand currents are given for 1 s (IEC 61439-1)",
	}},
	NotOfChannels: true,
	Check:         checkBarHeating,
}

func checkBarHeating(run *engine.Run) {
	for b := range run.Layout.Bars {
		warm := checkContinuous(run, layout.BarIndex(b))
		checkFault(run, layout.BarIndex(b), warm)
	}
}

// hottest returns the load of bar b in the duty of some kinds that is worst by a measure, by density
// where no loss is known. It says that a duty is undecided; known is false then.
func hottest(run *engine.Run, b layout.BarIndex, by func(probe.Heat) float64, kinds ...layout.DutyKind) (
	worst probe.Heat, duty string, known bool) {
	bar := &run.Layout.Bars[b]
	known = true
	top := 0.0
	measure := func(h probe.Heat) float64 {
		if !math.IsNaN(h.LossWPerM) {
			return by(h)
		}
		return h.DensityAPerM2
	}
	for i := range run.Layout.Duties {
		d := &run.Layout.Duties[i]
		if !slices.Contains(kinds, d.Kind) {
			continue
		}
		h, err := run.Model.Heat(b, d)
		if err != nil {
			run.Undecided(bar.ID, bar.Span, d.ID, "heating cannot be judged, in %q. %s", d.ID, reason(err))
			known = false
			continue
		}
		if v := measure(h); duty == "" && v > top || duty != "" && bounded.Leads(v, d.ID, top, duty) {
			worst, duty, top = h, d.ID, v
		}
	}
	return worst, duty, known
}

// checkContinuous judges the continuous duties of bar b and returns how hot it gets in
// them, in degrees Celsius, with its bound; NaN where that is not known.
func checkContinuous(run *engine.Run, b layout.BarIndex) bounded.Estimate {
	bar := &run.Layout.Bars[b]
	var rise probe.Rise                   // the largest
	rises := func(h probe.Heat) float64 { // by what stands beside it too
		if h.LossWPerM == 0 {
			return 0
		}
		r := run.Model.Rise(b, h)
		if r.UpToK > rise.UpToK {
			rise = r
		}
		return r.UpToK
	}
	h, duty, known := hottest(run, b, rises, layout.Continuous)
	if duty == "" {
		if known {
			run.NotApplicable(bar.ID, bar.Span, "carries no continuous current")
		}
		return bounded.Exact(math.NaN())
	}
	density, limit := h.EvenDensityAPerM2(), densityLimit(run, bar)
	load := loadWords(h)
	c := engine.Case{Object: bar.ID, Cause: duty, Span: bar.Section.Span, Says: "carries", In: duty}
	if math.IsNaN(h.LossWPerM) {
		if limit.IsDefault() {
			run.Undecided(bar.ID, bar.Section.Span, duty,
				"rise of temperature not known, in %q. %s. Its material declares no conductivity", duty, strings.Join(load, ". "))
			return bounded.Exact(math.NaN())
		}
		c.Found, c.Limit = bounded.Exact(density), limit
		c.Why = append(load, "Its rise is not known: its material declares no conductivity", "A reminder")
		c.Remedy = func() string { return smaller(run, b, h, limit.Value/density) }
		run.Judge(c)
		return bounded.Exact(math.NaN())
	}
	most := run.Limit("rise", "")
	c.Found, c.Limit, c.Says, c.Rest = judged(bar, h, rise), most, "rises "+about(rise), "over still air"
	c.Remedy = func() string { return smaller(run, b, h, run.Model.Carries(b, h, most.Value)) }
	// The density counts where it is the nearer to its limit, or fails while the rise may pass.
	if over := density / limit.Value; !limit.IsDefault() &&
		(over > rise.UpToK/most.Value || over > 1 && over > rise.K/most.Value) {
		c.Found, c.Limit, c.Says, c.Rest = bounded.Exact(density), limit, "carries", ""
		c.Remedy = func() string { return smaller(run, b, h, limit.Value/density) }
	}
	c.Why = append(load, fmt.Sprintf("It loses %s per metre", si.Format(h.LossWPerM, "W")), passedOn(run, h))
	c.Why = append(append(c.Why, inWords(bar, rise)...), "A reminder, no proof of its temperature")
	run.Judge(c)
	return judged(bar, h, rise).Plus(bounded.Exact(probe.AmbientC))
}

// loadWords says what a bar carries in a continuous duty.
func loadWords(h probe.Heat) []string {
	if h.RMSA == 0 {
		return []string{"It carries nothing itself: the field of the duty heats it"}
	}
	out := []string{fmt.Sprintf("It carries %s rms%s", si.Format(h.RMSA, "A"), shared(h)),
		fmt.Sprintf("That is %s%s", si.Format(h.DensityAPerM2, "A/m2"), narrowest(h))}
	if h.Factor > 1.0005 && h.Factor < math.MaxFloat64 {
		out = append(out, fmt.Sprintf("Crowding makes %.3g times the loss of direct current, as an even %s would", h.Factor,
			si.Format(h.EvenDensityAPerM2(), "A/m2")))
	}
	return out
}

// densityLimit returns the limit of density for the metal of a bar.
func densityLimit(run *engine.Run, bar *layout.Bar) engine.Bound {
	if bar.Metal == "copper" {
		return run.Limit("density", "")
	}
	return run.Limit("density-other", "")
}

// passedOn says which bars pass heat on to one with the load h, or take it.
func passedOn(run *engine.Run, h probe.Heat) string {
	var names []string
	for _, o := range h.Beside {
		names = append(names, fmt.Sprintf("bar %q", run.Layout.Bars[o.Bar].ID))
	}
	if names == nil {
		return ""
	}
	return "Heat passes between it and " + word.And(names)
}

// about goes before a rise, which is cut off where nothing is that hot.
func about(r probe.Rise) string {
	if !(r.K < probe.HottestK) {
		return "at least"
	}
	return "about"
}

// inWords says a rise and what it hangs on.
func inWords(bar *layout.Bar, r probe.Rise) []string {
	stands, flat := " and upright", fmt.Sprintf(", flat by %s", si.Format(r.FlatK, "K"))
	if bar.Section.Kind == layout.Round {
		stands, flat = "", ""
	}
	out := []string{
		fmt.Sprintf("Bare%s in air of %d °C it rises by %s %s", stands, probe.AmbientC, about(r), si.Format(r.K, "K")),
		fmt.Sprintf("Painted it rises by %s%s", si.Format(r.PaintedK, "K"), flat)}
	if r.AtNeckK > 0.05 {
		out = append(out, fmt.Sprintf("The cut adds %s of it", si.Format(r.AtNeckK, "K")))
	}
	if r.Hidden > 0.1 {
		out = append(out, fmt.Sprintf("Other metal is close to %s of its outline", si.Percent(r.Hidden)))
	}
	if bar.TemperatureC.Set && bar.TemperatureC.V > probe.AmbientC+r.K+5 {
		out = append(out, fmt.Sprintf("It is declared at %s, which is hotter", si.Format(bar.TemperatureC.V, "°C")))
	}
	if r.UpToK > r.K {
		out = append(out, fmt.Sprintf("It rises by %s where the shields whose depth is not declared are long: give their depth", si.Format(r.UpToK, "K")))
	}
	if thin(bar) {
		out = append(out, "Copper on a board, as it seems: the laminate carries off heat, its neighbours there add some, see IPC-2152")
	}
	return out
}

// thin reports whether a bar is no thicker than the copper of printed boards: six ounces a
// square foot.
func thin(bar *layout.Bar) bool {
	const sixOunces = 0.21e-3
	s := &bar.Section
	return s.Kind == layout.Rectangle && math.Min(s.WidthM.V, s.ThicknessM.V) <= sixOunces
}

// sightError is the share of a rise by which the stretches of an outline that see other metal may move it: half of one
// of 32 a side at each of two corners, on sides that are half of the outline. meshError is that of a loss that comes
// out of a mesh.
const (
	sightError = 0.01
	meshError  = 0.002
)

// judged returns the rise of a bar to be judged: that in free air, with shields of undeclared depth up to that in long
// ones, and for copper that is as thin as on a board down to that of a track on its outer layer.
func judged(bar *layout.Bar, h probe.Heat, r probe.Rise) bounded.Estimate {
	share := 0.0
	if r.Sees {
		share += sightError
	}
	if h.Factor > 1 {
		share += meshError
	}
	out := bounded.Around(r.K, share*r.K)
	if r.UpToK > r.K {
		out.High = math.Max(out.High, (1+math.Max(share, sightError))*r.UpToK)
	}
	if track := closedform.TrackRiseK(h.RMSA*math.Sqrt(h.Factor), bar.AreaM2()); thin(bar) && track < r.K {
		out.Low = track
	}
	return out
}

func shared(h probe.Heat) string {
	if h.Shared {
		return ", its share of what it is joined to"
	}
	return ""
}

// smaller says what would pass: less current, by a share of what flows now.
func smaller(run *engine.Run, b layout.BarIndex, h probe.Heat, share float64) string {
	bar := &run.Layout.Bars[b]
	if !(share > 0 && share < 1) {
		return "a proof of its temperature by the standard that applies"
	}
	if h.RMSA == 0 {
		return "keep it away from the bars whose field heats it"
	}
	way := fmt.Sprintf("at most %s rms", si.Format(h.RMSA*share, "A"))
	if len(h.Beside) > 0 {
		way += fmt.Sprintf(" in %s and as much less in what passes heat on to it", bar.ID)
	}
	way += fmt.Sprintf(", or %s more section and surface", si.Percent(1/share-1))
	if h.Cut {
		way += fmt.Sprintf(", or a wider cut than %s at z = %s", si.Format(h.NarrowM, "m"), si.Format(h.AlongM, "m"))
	}
	if strings.HasPrefix(bar.Metal, "al") {
		way += ", or copper"
	}
	return way + ", or a proof of its temperature by the standard that applies"
}

// checkFault judges how long bar b stands the peak or fault that heats it most, beginning as warm as
// its continuous duties make it.
func checkFault(run *engine.Run, b layout.BarIndex, warm bounded.Estimate) {
	bar := &run.Layout.Bars[b]
	h, duty, _ := hottest(run, b, func(h probe.Heat) float64 { return h.LossWPerM }, layout.Peak, layout.Fault)
	if duty == "" || h.RMSA == 0 {
		return
	}
	from := "as its continuous duty leaves it"
	if math.IsNaN(warm.Value) {
		warm, from = bounded.Exact(probe.AmbientC+run.Limit("rise", "").Value), "as the limit of its rise allows"
	}
	if bar.TemperatureC.Set && bar.TemperatureC.V > warm.Value {
		warm, from = bounded.Most(warm, bounded.Exact(bar.TemperatureC.V)), "as declared"
	}
	limit := run.Limit("fault-time", "")
	kind := layout.Fault
	for i := range run.Layout.Duties {
		if d := &run.Layout.Duties[i]; d.ID == duty {
			kind = d.Kind
		}
	}
	load := []string{fmt.Sprintf("It carries %s rms%s", si.Format(h.RMSA, "A"), shared(h)),
		fmt.Sprintf("That is %s%s", si.Format(h.DensityAPerM2, "A/m2"), narrowest(h))}
	if math.IsNaN(bar.SigmaSPerM) {
		run.Undecided(bar.ID, bar.Section.Span, duty,
			"how long it stands %v duty %q is not known. %s. Its material declares no conductivity", kind, duty, strings.Join(load, ". "))
		return
	}
	found := run.Model.Withstand(b, h, warm.Value)
	found.Low, found.High = run.Model.Withstand(b, h, warm.High).Low, run.Model.Withstand(b, h, warm.Low).High
	if warm.High-warm.Value > 2*sightError*(warm.Value-probe.AmbientC) {
		from += fmt.Sprintf(" (%s where the shields whose depth is not declared are long: give their depth)", si.Format(warm.High, "°C"))
	}
	load = append(load, fmt.Sprintf("It begins at %s, %s, and loses no heat", si.Format(warm.Value, "°C"), from))
	if limit.IsDefault() && engine.Decide(found, limit.Value, true) != finding.Pass {
		run.Undecided(bar.ID, bar.Section.Span, duty, "reaches %d °C in %s, before the %s that a %v is taken to last, in %q. %s. A reminder. "+
			"No layout says how long a %v lasts: set fault-time of this rule in a house standard",
			probe.ShortTimeC, si.Format(found.Value, "s"), engine.ShowLimit(limit.Value, "s"), kind, duty, strings.Join(load, ". "), kind)
		return
	}
	run.Judge(engine.Case{
		Object: bar.ID, Cause: duty, Span: bar.Section.Span, Found: found, Limit: limit,
		Says: fmt.Sprintf("reaches %d °C in", probe.ShortTimeC), In: duty, Why: append(load, "A reminder"),
		Remedy: func() string {
			return fmt.Sprintf("end it within %s, or %s more section", si.Format(found.Low, "s"),
				si.Percent(math.Sqrt(limit.Value/found.Low)-1))
		},
	})
}

// narrowest says where the density of a bar with cuts is taken, and what they add.
func narrowest(h probe.Heat) string {
	if !h.Cut {
		return ""
	}
	text := fmt.Sprintf(" over the %s that conduct at z = %s", si.Format(h.NarrowM, "m"), si.Format(h.AlongM, "m"))
	if !math.IsNaN(h.ExtraOhm) {
		text += fmt.Sprintf(" (the cuts add %s, %s)", si.Format(h.ExtraOhm, "Ω"), si.Format(h.ExtraWatt, "W"))
	}
	return text
}
