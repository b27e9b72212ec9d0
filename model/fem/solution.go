package fem

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/sparse"
)

// Solution is the plane field of a linear problem at one frequency, for one
// ampere (peak) in each bar by itself and for one tesla of uniform field. It may be
// used from several goroutines.
type Solution struct {
	FreqHz   float64
	Unknowns int    // of the mesh, 0 when the closed form is exact
	Levels   int    // meshes solved
	Method   string // for people

	p       *Problem
	srcs    []source
	bars    []int
	shields []int
	engine  engine
	key     string // see keyOf; empty: none
}

// engine hides the kind of number a problem was solved in.
type engine interface {
	size() (unknowns, levels int)
	grid() *grid
	letGo()
	// field returns the reaction, or the total where total is true.
	field(q geom.Point, src int) (bx, by complex128, bound float64, total bool)
	// rough is field without the bound.
	rough(q geom.Point, src int) (bx, by complex128, total bool)
	roughAlone(q geom.Point, src int) (bx, by complex128, total bool)
	valued() []geom.Point
	cost() price
	// clear returns the distance of a sensor at q to what reacts: see linear.near; 0 of a place inside.
	clear(q geom.Point) float64
	sketch(q geom.Point, src int) (a, bx, by complex128)
	wall(piece int, currents []complex128) (Wall, error)
	wallParts(piece int) *wallParts
	// wallPairs: see linear.pairs. Other walls are solved with it, the fullest stations for currents.
	wallPairs(piece, station int, currents []complex128) []float64
	eddyCurrents() EddyCurrents
	eddyB(q geom.Point) (bx, by []complex128)
	resistance(bar, src int) Resistance
	losses(currents []complex128) []float64
	filaments() []Filament
	induced(piece, bar, src int) (minusV complex128, bound float64)
}

// roundingRel is the relative error allowed for rounding in closed forms.
const roundingRel = 1e-12

// Solve returns the linear field of p at freqHz, each bar by itself. Shields with a
// curve count with their initial permeability unless MuRel is set.
//
// Errors: *InputError for a bad problem or a frequency above MaxFreqHz,
// *TooLarge when the first mesh would pass the ceiling. When the ceiling stops
// refinement the solution is returned and its bounds are wider than asked.
func Solve(p *Problem, freqHz float64, opt Options) (*Solution, error) {
	if err := p.check(freqHz); err != nil {
		return nil, err
	}
	opt = opt.resolved()
	s := &Solution{FreqHz: freqHz, p: p, srcs: primarySources(p)}
	s.bars, s.shields = p.bars()
	if opt.Answers != nil {
		s.key, _ = keyOf(p, freqHz, opt)
	}
	d := newDrawing(p, freqHz, false)
	if d == nil {
		s.Method = "closed form, long bars"
		return s, nil
	}
	alternating := false
	for k := range d.media {
		alternating = alternating || imag(d.media[k].nu) != 0 || d.media[k].conducts
	}
	s.Method = "finite elements, direct current"
	solve := func(opt Options) (engine, []float64, error) {
		return engineOf(solveLinear(p, d, opt, liftReal, func(z complex128) float64 { return real(z) }))
	}
	if alternating {
		s.Method = "finite elements, alternating"
		solve = func(opt Options) (engine, []float64, error) {
			return engineOf(solveLinear(p, d, opt, liftComplex, func(z complex128) complex128 { return z }))
		}
	}
	var err error
	if s.key != "" {
		s.engine, err = opt.Answers.engine(s.key, opt, solve)
	} else {
		s.engine, _, err = solve(opt)
	}
	if err != nil {
		return nil, err
	}
	s.Unknowns, s.Levels = s.engine.size()
	return s, nil
}

// engineOf returns the steps that each mesh took besides, and keeps a nil *linear out of the interface.
func engineOf[T sparse.Scalar](l *linear[T], err error) (engine, []float64, error) {
	if err != nil {
		return nil, nil, err
	}
	return l, l.takes, nil
}

func (l *linear[T]) size() (unknowns, levels int) { return l.s.g.n, l.levels }

func (l *linear[T]) grid() *grid { return l.s.g }

func (l *linear[T]) letGo() {
	l.s.letGo()
	l.estMu.Lock()
	defer l.estMu.Unlock()
	l.est = nil
}

// LetGo frees the factor of the matrix, most of what a solution holds, where little more will be asked than was solved at once;
// what asks for more makes it again, with the same result.
func (s *Solution) LetGo() {
	if s.engine != nil {
		s.engine.letGo()
	}
}

// WhenFactored has f called whenever a factor that was let go is made again.
func (s *Solution) WhenFactored(f func()) {
	if k, ok := s.engine.(*keptEngine); ok {
		k.factored = f
	}
}

// B returns the flux density at q in tesla per ampere of bar number bar (peak
// phasors), and the half-width of its error, of |ΔB|, in the same unit. In air the
// bound is that of the package comment; inside iron and conductors it is a local
// estimate.
func (s *Solution) B(q geom.Point, bar int) (bx, by complex128, boundT float64) {
	return s.field(q, bar)
}

// Uniform returns the flux density at q in tesla per tesla of uniform field along
// +x (dir 0) or +y (dir 1), the field itself included.
func (s *Solution) Uniform(q geom.Point, dir int) (bx, by complex128, bound float64) {
	return s.field(q, len(s.bars)+dir)
}

func (s *Solution) field(q geom.Point, src int) (bx, by complex128, bound float64) {
	if s.engine != nil {
		var total bool
		if bx, by, bound, total = s.engine.field(q, src); total {
			return bx, by, bound
		}
	}
	exact := s.srcs[src].flux(q)
	bx += complex(exact.X, 0)
	by += complex(exact.Y, 0)
	return bx, by, bound + float64(roundingRel*exact.Norm())
}

func toComplex[T sparse.Scalar](x T) complex128 {
	switch v := any(x).(type) {
	case float64:
		return complex(v, 0)
	case complex128:
		return v
	}
	panic("fem: unknown scalar")
}

func (l *linear[T]) field(q geom.Point, src int) (bx, by complex128, bound float64, total bool) {
	pv := l.at(q)
	return toComplex(pv.bx[src]), toComplex(pv.by[src]), pv.bound[src], pv.inside
}

// Wall is the flux density of a shield.
type Wall struct {
	PeakT, PeakBoundT float64    // largest over the stations of flux through the wall over its thickness
	At                geom.Point // middle of that station
	// Rms returns the root of the mean of |B|² over the section, and its bound, computed once when asked for.
	Rms func() (rmsT, boundT float64)
}

// noRms is that of a wall without elements.
func noRms() (rmsT, boundT float64) { return math.NaN(), math.NaN() }

// Wall returns the flux density of shield number shield for the given currents
// (peak phasors, one a bar, and after them none or the flux densities of a uniform field along x and y): the largest mean over the wall thickness along the
// wall, |A(a) − A(b)| over the distance of faces a and b, never a corner value;
// and the area-rms of the peak phasor's magnitude √(|Bx|² + |By|²). A shield without elements (not
// magnetic, no eddy currents) gets NaN bounds and values from the closed form.
func (s *Solution) Wall(shield int, currents []complex128) (Wall, error) {
	if n := len(currents) - len(s.bars); n != 0 && n != 2 {
		panic("fem: one current for each bar, and two uniform fields or none")
	}
	if s.engine == nil {
		return s.bareWall(s.shields[shield], currents), nil
	}
	return s.engine.wall(s.shields[shield], currents)
}

// bareWall is Wall for a piece that does not react while nothing else does.
func (s *Solution) bareWall(piece int, currents []complex128) Wall {
	o := newOutline(&s.p.Pieces[piece])
	w := Wall{PeakBoundT: math.NaN(), Rms: noRms}
	for _, st := range o.walls {
		var flux complex128
		for j, c := range currents {
			flux += portable.Times(c, complex(s.srcs[j].potential(st.a)-s.srcs[j].potential(st.b), 0))
		}
		if b := cabs(flux) / st.lengthM; b > w.PeakT {
			w.PeakT, w.At = b, st.a.Add(st.b).Scale(0.5)
			w.PeakBoundT = roundingRel * b
		}
	}
	return w
}
