package channel

import (
	"fmt"
	"math"
	"math/cmplx"
	"strconv"
	"strings"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/uncertainty"
)

// EarthAtCalibration is the line of the field in which a zero is taken.
const EarthAtCalibration = "Earth at the calibration"

// moved is what a place within the tolerances changes: a share of the own reading,
// and the stray in amperes, in phase with the own current and out of it.
type moved struct {
	share, inPhaseA, otherA float64
}

// axisOf is one tolerance of placement.
type axisOf struct {
	name, unit string
	num        layout.Num
	shift      func(x float64) layout.Shift
	optional   bool // not given, it is taken as 0
}

// placement adds the lines of a shifted and tilted board. The coefficients are
// secants of the field model over the whole tolerance, (f(+a) − f(−a))/2a. Where
// the reading has its peak near the middle, the slope says nothing: the second order
// q = (f(+a) + f(−a))/2 − f(0) of a rectangular input has the mean q/3, which is a known
// error, and the variance q² 4/45. Products of two shifts are left out.
//
// Source: JCGM 100:2008, 5.1.2, note, and 5.1.3, note 2; moments of x² for a
// rectangular x.
func (b *accuracyBuilder) placement() error {
	p := b.s.Placement
	if p == nil {
		p = &layout.Placement{Span: b.s.Span}
	}
	axes := []axisOf{
		{"x", "m", p.XM, func(x float64) layout.Shift { return layout.Shift{DX: x} }, false},
		{"y", "m", p.YM, func(x float64) layout.Shift { return layout.Shift{DY: x} }, false},
		{"z", "m", p.ZM, func(x float64) layout.Shift { return layout.Shift{DZ: x} }, !b.cut()},
		{"tilt", "rad", p.TiltRad, func(x float64) layout.Shift { return layout.Shift{TiltRad: x} }, false},
		{"yaw", "rad", p.YawRad, func(x float64) layout.Shift { return layout.Shift{YawRad: x} }, true},
	}
	for _, axis := range axes {
		if err := b.placed(axis); err != nil {
			return err
		}
	}
	return b.pieces()
}

// cut reports whether a bar has cuts, beside which the field changes along z.
func (b *accuracyBuilder) cut() bool {
	for i := range b.m.Layout.Bars {
		if len(b.m.Layout.Bars[i].Cuts) > 0 {
			return true
		}
	}
	return false
}

// pieces adds the lines of bars, shields and materials that have tolerances of their own.
func (b *accuracyBuilder) pieces() error {
	list, err := b.m.Displacements()
	if err != nil {
		return err
	}
	for i := 0; i+1 < len(list); i += 2 { // both ends of each tolerance
		down, err := b.changeIn(list[i].Drawn, list[i].Model, *b.s)
		if err != nil {
			return err
		}
		up, err := b.changeIn(list[i+1].Drawn, list[i+1].Model, *b.s)
		if err != nil {
			return err
		}
		line := toleranceLine
		if list[i].Placed {
			line = placementLine
		}
		b.placedLines(line+list[i].Name, list[i].Unit, (list[i+1].By-list[i].By)/2, up, down)
	}
	return nil
}

func (b *accuracyBuilder) placed(axis axisOf) error {
	name := "placement " + axis.name
	own := AccuracyLine{Name: name, Group: GroupGain, Unit: axis.unit, Cause: causeOf(name), LeftGain: tillOnePoint}
	let := AccuracyLine{Name: "stray let in by " + name, Group: GroupLetIn, Unit: axis.unit, LeftZero: tillMatrix}
	let.Cause = causeOf(let.Name)
	if !axis.num.Set && axis.optional {
		return nil
	}
	if !axis.num.Set {
		own.SharePerUnit, own.Spread = 1, uncertainty.Within(math.NaN())
		own.Missing = []string{"sensors." + b.s.ID + ".placement." + axis.name}
		b.add(own)
		if !b.m.Layout.Alone(b.s) && b.d != nil {
			let.ZeroPerUnit, let.Spread, let.Missing = 1, own.Spread, own.Missing
			b.add(let)
		}
		return nil
	}
	a := axis.num.V
	if a == 0 {
		return nil
	}
	up, err := b.changeIn(b.m, b.m, b.s.Displaced(axis.shift(a)))
	if err != nil {
		return err
	}
	down, err := b.changeIn(b.m, b.m, b.s.Displaced(axis.shift(-a)))
	if err != nil {
		return err
	}
	b.placedLines(name, axis.unit, a, up, down)
	return nil
}

// placedLines adds the lines of a tolerance a, at whose ends up and down are changed.
func (b *accuracyBuilder) placedLines(name, unit string, a float64, up, down moved) {
	own := AccuracyLine{Name: name, Group: GroupGain, Unit: unit, Cause: causeOf(name), LeftGain: tillOnePoint}
	let := AccuracyLine{Name: "stray let in by " + name, Group: GroupLetIn, Unit: unit, LeftZero: tillMatrix}
	let.Cause = causeOf(let.Name)
	own.Spread, let.Spread = uncertainty.Within(a), uncertainty.Within(a)
	own.SharePerUnit = (up.share - down.share) / (2 * a)
	let.ZeroPerUnit = (up.inPhaseA - down.inPhaseA) / (2 * a)
	b.add(own)
	if let.ZeroPerUnit != 0 {
		b.add(let)
	}
	if q := (up.share + down.share) / 2; q != 0 {
		b.add(shareLine("bow of "+name, GroupGain, bow(q), tillOnePoint))
		b.add(known(shareLine("mean of the bow of "+name, GroupGain, uncertainty.Spread{}, tillOnePoint), q/3))
	}
	if q := (up.inPhaseA + down.inPhaseA) / 2; q != 0 {
		b.add(zeroLine("bow of stray let in by "+name, GroupLetIn, bow(q), tillMatrix))
	}
	if other := max(up.otherA, down.otherA); other > 0 {
		// Rectangular although it is also a sinusoid: on the safe side.
		b.add(zeroLine("stray out of phase let in by "+name, GroupLetIn, uncertainty.Within(other), tillMatrix))
	}
}

// bow is the spread of q x² about its mean for a rectangular x within ±1.
func bow(q float64) uncertainty.Spread {
	return uncertainty.WithinSigmas(math.Abs(q), math.Sqrt(45)/2)
}

// changeIn returns what the place s of the sensor, or a piece at an end of a tolerance in m, changes against base.
func (b *accuracyBuilder) changeIn(base, m *probe.Model, s layout.Sensor) (moved, error) {
	still, err := b.atIn(base, b.s, 0)
	if err != nil {
		return moved{}, err
	}
	shifted, err := b.atIn(m, &s, 0)
	if err != nil {
		return moved{}, err
	}
	slope := still.own
	out := moved{share: real(portable.Quotient(shifted.own, slope)) - 1}
	if b.d == nil {
		return out, nil
	}
	parts := b.m.Currents(b.d).Components
	for i := range parts {
		c := &parts[i]
		before, err := b.atIn(base, b.s, c.FreqHz)
		if err != nil {
			return moved{}, err
		}
		after, err := b.atIn(m, &s, c.FreqHz)
		if err != nil {
			return moved{}, err
		}
		var sum complex128
		for k, current := range c.PeakA {
			sum += portable.Times(portable.Quotient(after.beside[k]-before.beside[k], slope), current)
		}
		sum = portable.Times(sum, complex(b.damping(c.FreqHz), 0))
		own := after.ownA(c.PeakA)
		switch {
		case c.Role == b.main.Role && own != 0:
			sum = portable.Times(sum, cmplx.Conj(portable.Quotient(own, complex(portable.Abs(own), 0))))
			out.inPhaseA += real(sum)
			out.otherA += math.Abs(imag(sum))
		case c.FreqHz == 0:
			out.inPhaseA += real(sum)
		default:
			out.otherA += portable.Abs(sum)
		}
	}
	return out, nil
}

// ambient adds foreign fields: the Earth's and other steady ones within their
// largest value of either sign, alternating ones as sinusoids.
func (b *accuracyBuilder) ambient() error {
	list, _, err := b.m.AmbientIn(b.s, b.d)
	if err != nil {
		return err
	}
	perA := math.Abs(b.slopeTPerA)
	still, moving, err := b.throughMatrix()
	if err != nil {
		return err
	}
	for _, o := range list {
		fieldT := o.Amperes.High * perA // the bound of a shielded field is in it
		line := AccuracyLine{Name: o.Name, Group: GroupForeign, Unit: "T", ZeroPerUnit: 1 / perA, LeftZero: always, Spread: uncertainty.Within(fieldT)}
		if o.Name == "immunity level" || b.alternatingWire(o.Name) {
			line.Spread, line.Alternating = uncertainty.Sinusoid(fieldT), true
		}
		anyway := o.Name == earthLine || o.Name == uniformLine && !b.m.Layout.Surroundings.Uniform.DirectionRad.Set
		if SharedField(&line) {
			// What tolerances let in is this channel's own, which no inverse takes away.
			more := line
			more.Name = o.Name + letInByTolerances
			more.Spread = uncertainty.Within((o.Amperes.High - o.DrawnA.High) * perA)
			if o.Amperes.High > float64(o.DrawnA.High*(1+1e-9))+math.SmallestNonzeroFloat64 {
				b.add(more)
				if anyway {
					more.Name, more.Group, more.LeftZero = EarthAtCalibration+letInByTolerances, GroupBench, Left{0, 1, 1, 1, 1, 1}
					b.add(more)
				}
			}
			line.Spread = uncertainty.Within(o.DrawnA.High * perA)
			line.LeftZero[AfterMatrix], line.LeftZero[AfterMatrixAtFrequency] = still, moving
		}
		b.add(line)
		if anyway {
			line.Name, line.Group, line.LeftZero = EarthAtCalibration, GroupBench, Left{0, 1, 1, 1, still, moving}
			b.add(line)
		}
	}
	return nil
}

// throughMatrix returns what a matrix at direct current, and one at frequency, make of a uniform field against
// what the channel by itself reads of it: other channels with parallel axes read the same field, and the inverse
// takes its share of them. Of any direction the largest counts for both. 1 where there is no inverse, of which the
// stray lines tell.
func (b *accuracyBuilder) throughMatrix() (still, moving float64, err error) {
	still, moving = 1, 1
	l := b.m.Layout
	var responses []geom.Point3
	var own float64
	for i := range l.Sensors {
		f, err := b.m.ForeignIn(&l.Sensors[i], b.d, 0)
		if err != nil {
			return still, moving, err
		}
		r := geom.Point3{X: real(f.X.V), Y: real(f.Y.V), Z: real(f.Z.V)}
		responses = append(responses, r)
		if l.Sensors[i].ID == b.s.ID {
			own = r.Norm() / math.Abs(b.slopeTPerA)
		}
	}
	if own == 0 {
		return still, moving, nil // a pair: what it reads of the Earth is none or a bound
	}
	for _, one := range []struct {
		hz   float64
		left *float64
	}{{0, &still}, {b.matrixHz(), &moving}} {
		c, err := b.m.Coupling(one.hz)
		if err != nil {
			return still, moving, err
		}
		if c.Fit != nil {
			*one.left = throughInverse(c, b.s.Circuit, responses).Norm() / own
		}
	}
	return still, moving, nil
}

func (b *accuracyBuilder) alternatingWire(name string) bool {
	for _, w := range b.m.Layout.Surroundings.Wires {
		if strings.HasPrefix(name, "wire") && strings.Contains(name, strconv.Quote(w.ID)) {
			return w.FreqHz.V > 0
		}
	}
	return false
}

// shields adds what iron keeps, said of the shield nearest to the sensor, and where it bends.
func (b *accuracyBuilder) shields() error {
	l := b.m.Layout
	iron, unknown := false, ""
	for i := range l.Shields {
		mat := &l.Materials[l.Shields[i].Material]
		iron = iron || mat.Magnetic()
		if mat.Magnetic() && !mat.CoercivityAPM.Set && unknown == "" {
			unknown = mat.ID
		}
	}
	if near := probe.NearestIron(l, b.s); near != layout.None {
		sh := &l.Shields[near]
		mat := &l.Materials[sh.Material]
		amps, err := b.m.RemanenceA(b.s)
		line := zeroLine(fmt.Sprintf("remanence of shield %q", sh.ID), GroupForeign, uncertainty.Within(amps), always)
		switch {
		case unknown != "":
			line.Missing = []string{"materials." + unknown + ".coercivity"}
		case err != nil:
			line.Missing = []string{"materials." + mat.ID + ".coercivity"}
			if mat.CoercivityAPM.Set {
				line.Missing = []string{"shields." + sh.ID + ".form (" + err.Error() + ")"}
			}
		}
		b.add(line)
	}
	if !iron {
		return nil
	}
	worst := 0.0
	for i := range l.Duties {
		d := &l.Duties[i]
		if d.Kind == layout.Fault || b.m.OwnPeakA(b.s, d) == 0 {
			continue
		}
		r, err := b.m.Linearity(b.s, d)
		if err != nil {
			return err
		}
		worst = max(worst, r.Change.High)
	}
	b.add(shareLine("iron at the peak", GroupGain, uncertainty.Within(worst), always))
	return nil
}
