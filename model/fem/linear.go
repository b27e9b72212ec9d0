package fem

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"sync"

	"busgauss/model/geom"
	"busgauss/model/mesh"
	"busgauss/model/parallel"
	"busgauss/model/portable"
	"busgauss/model/sparse"
	"busgauss/model/work"
)

// linear is a solved linear problem: one reaction for each bar and two for
// uniform fields.
type linear[T sparse.Scalar] struct {
	p          *Problem
	s          *system[T]
	estMu      sync.Mutex
	est        *estimator // nil after it was let go: see estimates
	r          *reaction[T]
	conducting []int32
	clearM     []float64 // of each sensor to what reacts
	levels     int
	// sensorDuals are the dipole reactions of the sensors where they were solved with the sources, until the review.
	sensorDuals []*reaction[T]
	bars        int                       // sources that are currents come first
	volume      func(geom.Point) (x, y T) // field of saturating iron at a point, added to source 0

	mu     sync.Mutex
	points map[geom.Point]*pointValue[T]
	roughs map[geom.Point]*pointValue[T] // without bounds
	cloud  *cloud[T]
	walls  map[wallKey]wallDual
	faces  map[int]*wallParts
	kept   map[string]Wall // by piece and currents: the bound of the rms takes an adjoint solution of its own

	outer outer // for sketches

	priced price
	takes  []float64    // steps that each mesh took
	work   *work.Budget // that answers take from; nil where whoever asks for them does
}

// pointValue is the reaction field at a point, for each source.
type pointValue[T sparse.Scalar] struct {
	bx, by []T
	bound  []float64
	inside bool // bx, by hold the total
}

// boundSafety multiplies the estimated product of errors, since the estimator sees
// only cubics. Chosen by trial: at 1.5 three of 34 values of independent solutions lay up to a
// quarter beyond their bounds; over the random layouts of TestBoundHolds the true
// error stays below about half of it.
const boundSafety = 2

// curveSafety takes its place in saturating iron, where the adjoint knows only the
// tangent of the curve.
const curveSafety = 3

func (l *linear[T]) safety() float64 {
	if l.volume != nil {
		return curveSafety
	}
	return boundSafety
}

// reactionFloor is the share of the reaction added to every bound for what the
// estimator does not see: sources taken at nodes, curved edges, quadrature.
const reactionFloor = 2e-5

// solveLinear meshes, solves and refines until the sensors have the certainty
// asked or a ceiling is met.
func solveLinear[T sparse.Scalar](p *Problem, d *drawing, opt Options, lift func(float64) T, value func(complex128) T) (*linear[T], error) {
	srcs := primarySources(p)
	if err := opt.Work.Take(0, "the plane section"); err != nil { // nothing is meshed once the work has ended
		return nil, err
	}
	g, err := startGrid(p, d, opt)
	if err != nil {
		return nil, err
	}
	m := *g.m
	var best *linear[T]
	var takes []float64
	for level := 1; ; level++ {
		cost := g.priceOf(widthOf[T](), len(srcs), len(p.Sensors), len(g.conductingTriangles()), 0)
		if err := opt.Work.Take(cost.solve, what(g.n, "a solution")); err != nil {
			return nil, err
		}
		takes = append(takes, cost.solve)
		l, err := newLinear(p, g, srcs, opt, lift, value)
		if err != nil {
			if best != nil {
				return best, nil // the last mesh within the ceiling; its bounds say what it is worth
			}
			return nil, err
		}
		l.levels, l.takes = level, takes
		marks, done := l.review(opt)
		if done || level >= opt.MaxLevels {
			return l, nil
		}
		best = l
		best.letGo() // the next is larger
		if err := m.Refine(marks, opt.MaxUnknowns/2); err != nil {
			return best, nil
		}
		if g, err = analysed(d, &m, opt); err != nil {
			return best, nil
		}
	}
}

// startGrid returns the grid that is tried first.
func startGrid(p *Problem, d *drawing, opt Options) (*grid, error) {
	if opt.Like != nil && opt.Like.engine != nil {
		if g := opt.Like.engine.grid().of(d); g != nil {
			return g, nil
		}
	}
	return opt.Meshes.first(d, p.Sensors, opt)
}

// analysed returns the grid of a mesh, of which it keeps a header of its own: Refine replaces the contents of m.
func analysed(d *drawing, m *mesh.Mesh, opt Options) (*grid, error) {
	own := *m
	g := newGrid(d, &own)
	if g.n > opt.MaxUnknowns {
		return nil, &TooLarge{NeededUnknowns: g.n, MaxUnknowns: opt.MaxUnknowns, Why: "the mesh"}
	}
	g.matrix()
	return g, nil
}

func primarySources(p *Problem) []source {
	bars, _ := p.bars()
	var srcs []source
	for _, k := range bars {
		srcs = append(srcs, p.currentOf(k))
	}
	return append(srcs, uniform{0}, uniform{1})
}

func newLinear[T sparse.Scalar](p *Problem, g *grid, srcs []source, opt Options, lift func(float64) T, value func(complex128) T) (*linear[T], error) {
	s := &system[T]{g: g, lift: lift}
	for k := range g.d.media {
		s.nu, s.mass = append(s.nu, value(g.d.media[k].nu)), append(s.mass, value(g.d.media[k].mass))
	}
	width := int64(8)
	if _, ok := any(s.nu).([]complex128); ok {
		width = 16
	}
	vectors := int64(2*len(srcs) + 2*len(p.Sensors) + 2*len(g.d.pieces))
	if need := g.matrix().sym.Bytes(width == 16) + vectors*int64(g.n)*width; need > opt.MaxBytes {
		return nil, &TooLarge{NeededBytes: need, MaxBytes: opt.MaxBytes, NeededUnknowns: g.n, MaxUnknowns: opt.MaxUnknowns,
			Why: fmt.Sprintf("a plane problem of %d unknowns and %d sources", g.n, len(srcs))}
	}
	if err := s.factorise(); err != nil {
		return nil, fmt.Errorf("plane field: factorising %d unknowns: %w", g.n, err)
	}
	s.makeGroups(p)
	l := &linear[T]{p: p, s: s, est: newEstimator(s), conducting: g.conductingTriangles(), clearM: g.d.clearances(p.Sensors), bars: len(srcs) - 2}
	at, dipoles := g.dipolesAt(p.Sensors)
	drives := slices.Concat(g.primaryDrives(srcs), newDrives(g, dipoles))
	r := s.solve(drives, l.est)
	l.r, l.sensorDuals = r.part(0, len(srcs)), r.part(len(srcs), len(dipoles)).pairs(at, len(p.Sensors))
	for i, x := range l.r.ar {
		l.r.ar[i] = slices.Clone(x) // of the sources alone: the others go after the review
	}
	l.points = map[geom.Point]*pointValue[T]{}
	l.walls = map[wallKey]wallDual{}
	l.kept = map[string]Wall{}
	return l, nil
}

// review computes the sensors, and returns the triangles to refine, or done.
func (l *linear[T]) review(opt Options) (marks []bool, done bool) {
	nt := len(l.s.g.q.Tris)
	score := make([]float64, nt)
	done = true
	duals := l.sensorDuals
	if duals == nil {
		duals = l.duals(l.p.Sensors)
	}
	l.sensorDuals = nil // not wanted again
	values := make([]*pointValue[T], len(duals))
	parallel.Each(len(duals), maxWorkers, func(_, i int) { values[i] = l.value(l.p.Sensors[i], duals[i]) })
	for i, q := range l.p.Sensors {
		pv := values[i]
		l.points[q] = pv
		if pv.inside {
			continue
		}
		size := make([]float64, len(pv.bx))
		largest := 0.0
		for j := range size {
			exact := l.r.drives[j].src.flux(q)
			size[j] = portable.Hypot(modulus(pv.bx[j]+l.s.lift(exact.X)), modulus(pv.by[j]+l.s.lift(exact.Y)))
			if j < l.bars {
				largest = math.Max(largest, size[j])
			}
		}
		for j := range size {
			floor := 0.01 * largest
			if j >= l.bars {
				floor = 0.01
			}
			target := opt.Certainty * math.Max(size[j], floor)
			if j >= l.bars && opt.Certainty >= firstCertainty {
				target *= uniformSlack
			}
			if pv.bound[j] <= target {
				continue
			}
			done = false
			for t, e := range l.r.eta[j] {
				score[t] = math.Max(score[t], e*portable.Hypot(duals[i].eta[0][t], duals[i].eta[1][t])/target)
			}
		}
	}
	if done {
		return nil, true
	}
	return mark(score, markedShare), false
}

// uniformSlack is how many times the certainty asked of a bar's field that of a uniform field may be in a solution of the usual
// certainty: foreign fields are small beside those of bars, and who needs them better asks for a finer solution.
const uniformSlack = 4

// firstCertainty is the usual certainty.
const firstCertainty = 0.005

// markedShare is the share of the summed indicators that is refined at once.
// Source: W. Dörfler, SIAM J. Numer. Anal. 33 (1996) 1106.
const markedShare = 0.85

// mark returns the triangles that hold the given share of all indicators.
func mark(score []float64, share float64) []bool {
	order := make([]int, len(score))
	sum := 0.0
	for i, v := range score {
		order[i] = i
		sum += v
	}
	sort.SliceStable(order, func(a, b int) bool { return score[order[a]] > score[order[b]] })
	out := make([]bool, len(score))
	got := 0.0
	for _, t := range order {
		if got >= share*sum {
			break
		}
		out[t] = true
		got += score[t]
	}
	return out
}

// dipolesAt returns the dipoles of points outside pieces, two for each, and which points those are.
func (g *grid) dipolesAt(points []geom.Point) (at []int, srcs []source) {
	for i, q := range points {
		if g.d.pieceAt(q) < 0 {
			srcs = append(srcs, dipole{q, 0}, dipole{q, 1})
			at = append(at, i)
		}
	}
	return at, srcs
}

// pairs returns the dipole reactions of n points, nil for those that at does not name.
func (r *reaction[T]) pairs(at []int, n int) []*reaction[T] {
	out := make([]*reaction[T], n)
	for k, i := range at {
		out[i] = r.part(2*k, 2)
	}
	return out
}

// duals returns the dipole reactions of points, nil for points inside pieces.
func (l *linear[T]) duals(points []geom.Point) []*reaction[T] {
	at, srcs := l.s.g.dipolesAt(points)
	if len(srcs) == 0 {
		return make([]*reaction[T], len(points))
	}
	return l.s.solve(newDrives(l.s.g, srcs), l.estimates()).pairs(at, len(points))
}

// value returns the field of every source at q with its bound; dual is nil inside
// pieces.
func (l *linear[T]) value(q geom.Point, dual *reaction[T]) *pointValue[T] {
	n := len(l.r.drives)
	if dual == nil {
		pv := newPointValue[T](n)
		pv.inside = true
		for j := range n {
			pv.bx[j], pv.by[j], pv.bound[j] = l.r.inside(q, j)
		}
		return pv
	}
	pv := l.reacted(q)
	for j := range n {
		x, y := 0.0, 0.0
		for t, e := range l.r.eta[j] {
			x += float64(e * dual.eta[0][t])
			y += float64(e * dual.eta[1][t])
		}
		pv.bound[j] = float64(l.safety()*portable.Hypot(x, y)) + float64(reactionFloor*portable.Hypot(modulus(pv.bx[j]), modulus(pv.by[j])))
	}
	return pv
}

// estimates returns the estimator.
func (l *linear[T]) estimates() *estimator {
	l.estMu.Lock()
	defer l.estMu.Unlock()
	if l.est == nil {
		l.est = newEstimator(l.s)
	}
	return l.est
}

// at returns the value at q, computed once.
func (l *linear[T]) at(q geom.Point) *pointValue[T] {
	l.mu.Lock()
	defer l.mu.Unlock()
	if pv, ok := l.points[q]; ok {
		return pv
	}
	at, rise, ok := l.near(q)
	ok = ok && l.s.g.d.pieceAt(q) < 0
	if l.work != nil {
		cost := l.cost()
		if !ok {
			cost.point += l.again() + cost.dual
		}
		if !l.take(cost.point) {
			return newPointValue[T](len(l.r.drives)).unpaid()
		}
	}
	if ok {
		l.points[q] = l.nearValue(q, at, rise)
	} else {
		l.points[q] = l.value(q, l.duals([]geom.Point{q})[0])
	}
	return l.points[q]
}
