package remedy

import (
	"cmp"
	"math"
	"slices"

	"busgauss/model/layout"
	"busgauss/model/probe"
)

// Bench is one reading of a sensor.
type Bench struct {
	Flow      probe.Flow
	ReadT     float64 // what was read, as Flow.Factor says
	ComputedT float64 // of the layout as drawn
	WithinT   float64 // how well ReadT and the field are known, apart from what is suspected; 0 or NaN: to a thousandth
}

// Explained is how well one suspect alone explains readings.
type Explained struct {
	Suspect *Suspect
	Amount  float64
	// ComputedT are the readings that the model gives with it.
	ComputedT []float64
	// Left is the largest difference that stays, as a share of its reading, and Misfit the largest one over WithinT: at
	// most 1 where the readings are explained.
	Left, Misfit float64
	// Alike says that readings do not tell it from the best one: the sum of the squares of differences over WithinT
	// is larger by at most 1, which is the 95 % region of one number where WithinT are expanded uncertainties, k = 2;
	// more where nothing fits: see birge.
	Alike   bool
	squares float64
}

// Explain returns what explains readings of the sensor at index at, by least squares with each suspect alone: first what is
// Alike, in the order of its amount over what the layout allows for, then the others by the squares that they leave.
// What makes no reading fit better is left out.
//
// A place or an axis is followed over its whole range, since a reading may have its peak between; what takes another
// solution of the field a step is tried at a few amounts and followed by secants, and its field is that of small signals.
func Explain(m *probe.Model, at layout.SensorIndex, readings []Bench) []Explained {
	steady, mostT := true, 0.0
	for i := range readings {
		steady = steady && readings[i].Flow.Part.FreqHz == 0
		mostT = math.Max(mostT, math.Abs(readings[i].ReadT))
	}
	f := fit{m: m, at: at, readings: readings}
	drawn := make([]float64, len(readings))
	for i := range readings {
		drawn[i] = readings[i].ComputedT
	}
	still := f.squares(drawn)
	list := Suspects(m.Layout, at, steady, mostT)
	var out []Explained
	for i := range list {
		s := &list[i]
		var x float64
		var ok bool
		if s.Solves || s.Apply == nil {
			x, ok = f.stepped(s)
		} else {
			x, ok = f.scanned(s)
		}
		if !ok {
			continue
		}
		computed, ok := f.with(s, x)
		if !ok {
			continue
		}
		one := Explained{Suspect: s, Amount: x, ComputedT: computed, squares: f.squares(computed)}
		if !(one.squares < noBetter*still) {
			continue
		}
		for k := range readings {
			d := math.Abs(readings[k].ReadT - computed[k])
			one.Left = math.Max(one.Left, d/math.Abs(readings[k].ReadT))
			one.Misfit = math.Max(one.Misfit, d/readings[k].within())
		}
		out = append(out, one)
	}
	slices.SortStableFunc(out, func(a, b Explained) int { return cmp.Compare(a.squares, b.squares) })
	n, least := 0, math.Inf(1)
	if len(out) > 0 {
		least = out[0].squares
	}
	for ; n < len(out) && out[n].squares <= least+birge(least, len(readings)); n++ {
		out[n].Alike = true
	}
	slices.SortStableFunc(out[:n], func(a, b Explained) int { return cmp.Compare(a.times(), b.times()) })
	return out
}

// birge returns how much larger the squares of a suspect may be than the least ones, those of n readings, without being told
// apart: 1, and more where even the best one leaves more than the uncertainties, which are then taken as too small by the
// ratio of Birge, √(squares/(n - 1)).
//
// Source: R. T. Birge, The calculation of errors by the method of least squares, Phys. Rev. 40 (1932) 207 (from memory).
func birge(least float64, n int) float64 { return math.Max(1, least/float64(max(1, n-1))) }

// noBetter is the share of the squares that a suspect must take away to be worth a word.
const noBetter = 0.9

// times is the amount over what the layout allows for; infinite where it says nothing.
func (e *Explained) times() float64 { return math.Abs(e.Amount) / e.Suspect.Tolerance }

func (b *Bench) within() float64 {
	if b.WithinT > 0 {
		return b.WithinT
	}
	return math.Max(1e-3*math.Abs(b.ReadT), math.SmallestNonzeroFloat64)
}

// fit is a least-squares fit of one number to readings of one sensor.
type fit struct {
	m        *probe.Model
	at       layout.SensorIndex
	readings []Bench
}

func (f *fit) squares(computed []float64) float64 {
	sum := 0.0
	for i := range f.readings {
		d := (f.readings[i].ReadT - computed[i]) / f.readings[i].within()
		sum += float64(d * d)
	}
	return sum
}

// with returns what is computed with a suspect by an amount, of one that takes a solution the reading as drawn and
// the difference that it makes; false where the field is not known or the sensor would stand in metal.
func (f *fit) with(s *Suspect, x float64) ([]float64, bool) {
	out := make([]float64, len(f.readings))
	base, changed := f.m.Rough(), f.m.Rough()
	if s.Apply != nil {
		l := s.Apply(x)
		if s.Solves {
			base = &probe.Model{Model: f.m.Small().Rough()}
			changed = base
		}
		changed = changed.With(l)
		if !stands(changed, f.at) {
			return nil, false
		}
	}
	for i := range f.readings {
		b := &f.readings[i]
		t := b.ComputedT
		if s.Apply != nil {
			is, err := changed.ReadT(&changed.Layout.Sensors[f.at], &b.Flow)
			if err != nil {
				return nil, false
			}
			if t = is.Value; s.Solves {
				was, err := base.ReadT(&base.Layout.Sensors[f.at], &b.Flow)
				if err != nil {
					return nil, false
				}
				t = b.ComputedT + is.Value - was.Value
			}
		}
		if s.Reads != nil {
			t = s.Reads(x, t)
		}
		if out[i] = t; math.IsNaN(t) || math.IsInf(t, 0) {
			return nil, false
		}
	}
	return out, true
}

// of returns the sum of the squares with a suspect by an amount, infinite where that cannot be.
func (f *fit) of(s *Suspect, x float64) float64 {
	computed, ok := f.with(s, x)
	if !ok {
		return math.Inf(1)
	}
	return f.squares(computed)
}

const (
	scanSteps   = 20 // to each side, closer together near what is drawn
	goldenSteps = 36 // each narrows by 0.618
	secantSteps = 5
	sameSquares = 0.01 // of the readings: what fits no worse than that may be the smaller amount
)

// scanned returns the amount of least squares over the whole range of a suspect; of several that fit alike the smallest.
func (f *fit) scanned(s *Suspect) (float64, bool) {
	grid := make([]float64, 0, 2*scanSteps+1)
	for i := -scanSteps; i <= scanSteps; i++ {
		share := float64(i*i) / (scanSteps * scanSteps)
		if i < 0 {
			grid = append(grid, s.Low*share)
		} else {
			grid = append(grid, s.High*share)
		}
	}
	at := make([]float64, len(grid))
	for i, x := range grid {
		at[i] = f.of(s, x)
	}
	bestX, best, found := 0.0, math.Inf(1), false
	for i := range grid {
		if math.IsInf(at[i], 1) || i > 0 && at[i-1] < at[i] || i+1 < len(grid) && at[i+1] < at[i] {
			continue
		}
		x := f.golden(s, grid[max(i-1, 0)], grid[min(i+1, len(grid)-1)])
		y := f.of(s, x)
		slack := float64(sameSquares * float64(len(f.readings)))
		if y < best-slack || y < best+slack && math.Abs(x) < math.Abs(bestX) {
			bestX, best, found = x, y, true
		}
	}
	return bestX, found
}

// golden returns the place of a minimum between two amounts.
//
// Source: J. Kiefer, Sequential minimax search for a maximum, Proc. AMS 4 (1953) 502.
func (f *fit) golden(s *Suspect, a, b float64) float64 {
	ratio := (math.Sqrt(5) - 1) / 2
	c, d := b-float64(ratio*(b-a)), a+float64(ratio*(b-a))
	fc, fd := f.of(s, c), f.of(s, d)
	for range goldenSteps {
		if fc <= fd {
			b, d, fd = d, c, fc
			c = b - float64(ratio*(b-a))
			fc = f.of(s, c)
		} else {
			a, c, fc = c, d, fd
			d = a + float64(ratio*(b-a))
			fd = f.of(s, d)
		}
	}
	return (a + b) / 2
}

// coarse are the shares of the range of a suspect from which secants set out.
var coarse = [...]float64{-1, -0.5, -0.25, -0.1, 0, 0.1, 0.25, 0.5, 1}

// stepped returns the amount of least squares by secants from the best of a few amounts: Gauss and Newton with one unknown,
// the slope of each reading from the last two amounts; false where no reading moves.
func (f *fit) stepped(s *Suspect) (float64, bool) {
	type trial struct {
		x, squares float64
		computed   []float64
	}
	var tried []trial
	add := func(x float64) bool {
		y, ok := f.with(s, x)
		if ok {
			tried = append(tried, trial{x, f.squares(y), y})
		}
		return ok
	}
	for _, share := range coarse {
		if share < 0 {
			add(-share * s.Low)
		} else {
			add(share * s.High)
		}
	}
	for range secantSteps {
		slices.SortStableFunc(tried, func(a, b trial) int { return cmp.Compare(a.squares, b.squares) })
		if len(tried) < 2 {
			return 0, false
		}
		one := &tried[0]
		near := &tried[1] // the nearest to the best of all
		for k := range tried[1:] {
			if t := &tried[1+k]; math.Abs(t.x-one.x) < math.Abs(near.x-one.x) {
				near = t
			}
		}
		along, size := 0.0, 0.0
		for i := range f.readings {
			w := 1 / f.readings[i].within()
			slope := (one.computed[i] - near.computed[i]) / (one.x - near.x) * w
			along += float64(slope * (f.readings[i].ReadT - one.computed[i]) * w)
			size += float64(slope * slope)
		}
		if !(size > 0) {
			break
		}
		next := math.Min(s.High, math.Max(s.Low, one.x+along/size))
		if math.Abs(next-one.x) <= 1e-6*(s.High-s.Low) || !add(next) {
			break
		}
	}
	best := slices.MinFunc(tried, func(a, b trial) int { return cmp.Compare(a.squares, b.squares) })
	return best.x, best.x != 0
}
