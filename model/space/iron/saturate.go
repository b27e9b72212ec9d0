package iron

import (
	"errors"
	"math"

	"busgauss/model/geom"
	"busgauss/model/si"
)

// Draft is the answer of saturating iron on the coarse mesh alone: some per cent off,
// and had for a tenth of the work. It says which of many sources is worth a State.
type Draft struct {
	p      *Problem // whose meshes these are
	source mix
	par    parity
	steps  int
	at     *point
	of     *answer
}

// State is the answer of saturating iron to one source, all currents together. It may
// be used from several goroutines.
type State struct {
	Steps    int     // of Newton's method, on both meshes
	Residual float64 // larger of both meshes, relative to the potential of the source

	p      *Problem // whose meshes these are
	source Source
	levels [2]*answer
}

// Saturate solves for iron that follows its curves; pieces without one stay linear. The
// source is that of all currents together. Newton's method starts from linear iron, or from nothing, on the
// coarse mesh and from its answer on the fine one, which is nearer than the state of
// other currents. The error is a NotConvergedError when it stops short.
func (p *Problem) Saturate(source Source) (*State, error) {
	d, err := p.Draft(source)
	if err != nil {
		return nil, err
	}
	return d.State()
}

// Draft is Saturate on the coarse mesh alone.
func (p *Problem) Draft(source Source) (*Draft, error) {
	return p.DraftOf(NewBasis([]Source{source}), []float64{1})
}

// DraftOf is Draft for the sum of the sources of a basis times weights.
func (p *Problem) DraftOf(basis *Basis, weights []float64) (*Draft, error) {
	source := mix{basis, weights}
	q, par, err := p.saturable(source.at)
	if err != nil {
		return nil, err
	}
	d := &Draft{p: q, source: source, par: par}
	ok := false
	start, err := q.small(0, source, par)
	if err != nil {
		return nil, err
	}
	if start == nil {
		start = make([]float64, len(q.levels[0].m.nodes))
	}
	d.at, d.steps, ok, err = q.newton(0, source, par, start)
	if err != nil {
		return nil, err
	}
	d.of = newAnswer(q.levels[0], d.at, par)
	if !ok {
		stuck := &State{Steps: d.steps, Residual: d.at.norm, p: q, source: source.at, levels: [2]*answer{d.of, d.of}}
		return nil, &NotConvergedError{d.steps, d.at.norm, newtonTolerance, stuck}
	}
	return d, nil
}

// State goes on to the fine mesh.
func (d *Draft) State() (*State, error) {
	phi, err := d.start()
	if err != nil {
		return nil, err
	}
	at, steps, ok, err := d.p.newton(1, d.source, d.par, phi)
	if err != nil {
		return nil, err
	}
	s := &State{
		Steps: d.steps + steps, Residual: math.Max(d.at.norm, at.norm),
		p: d.p, source: d.source.at, levels: [2]*answer{d.of, newAnswer(d.p.levels[1], at, d.par)},
	}
	if !ok {
		return nil, &NotConvergedError{s.Steps, at.norm, newtonTolerance, s}
	}
	return s, nil
}

// start is where Newton's method starts on the fine mesh: what saturation changes on the coarse one, and beside it linear iron
// where that is known.
func (d *Draft) start() ([]float64, error) {
	fine, err := d.p.small(1, d.source, d.par)
	if fine == nil || err != nil {
		return d.p.prolong(d.at.phi), err
	}
	coarse, err := d.p.small(0, d.source, d.par)
	if err != nil {
		return nil, err
	}
	return less(fine, d.p.prolong(less(coarse, d.at.phi, 1)), 1), nil
}

// B returns the flux density at q in tesla, iron and source together, without a bound.
func (d *Draft) B(q geom.Point3) geom.Point3 {
	return d.of.at(q, []geom.Point3{d.source.at(q)})[0]
}

// PeakT returns the mean flux density of a wall where it is largest, without a bound.
func (d *Draft) PeakT(piece int) float64 {
	w := d.of.wall(piece, []complex128{1})
	if d.of.l.m.columns[piece].long {
		return w.EndT
	}
	return w.PeakT
}

// newton solves one mesh from the potential phi.
func (p *Problem) newton(k int, source mix, par parity, phi []float64) (at *point, steps int, ok bool, err error) {
	l := p.levels[k]
	m := l.m
	d, err := p.driveOf(k, source, par)
	if err != nil {
		return nil, 0, false, err
	}
	n := &newton{m: m, act: l.withRaw(par), d: d, size: spread(d.phi)}
	for i := range p.pieces {
		n.laws = append(n.laws, newLaw(&p.pieces[i]))
	}
	for e, h := range d.ring {
		if n.still == nil {
			n.still = make([]geom.Point3, len(d.ring))
		}
		n.still[e], _ = n.laws[m.piece[e]].magnetise(h)
	}
	if par == odd {
		n.size = norm(d.phi)
	}
	if d.ring != nil { // the potential may be what rounding leaves
		n.size = math.Max(n.size, norm(restSize(m, d.ring)))
	}
	if n.size == 0 && d.rest == nil { // nothing drives this iron
		n.size = 1
		return n.at(make([]float64, len(m.nodes))), 0, true, nil
	}
	if n.size == 0 {
		n.size = norm(restSize(m, d.rest))
	}
	mu := make([]float64, len(n.laws))
	for i := range mu {
		mu[i] = 1 + n.laws[i].chi
	}
	n.factors = n.act.factors(mu)
	at, steps, ok = n.solve(phi)
	return at, steps, ok, nil
}

// newAnswer keeps magnetisation and flux density of a state; both halves are alike, or
// opposite.
func newAnswer(l *level, at *point, par parity) *answer {
	a := &answer{l: l}
	b := make([]geom.Point3, len(at.h))
	for e := range b {
		b[e] = at.h[e].Add(at.mag[e])
		if at.still != nil {
			b[e] = b[e].Add(at.still[e])
		}
		b[e] = b[e].Scale(si.Mu0HPerM)
	}
	a.mag[0], a.b[0] = [][]geom.Point3{at.mag}, [][]geom.Point3{b}
	if !l.m.mirror {
		return a
	}
	a.mag[1], a.b[1] = a.mag[0], a.b[0]
	if par == odd {
		a.mag[1], a.b[1] = [][]geom.Point3{negative(at.mag)}, [][]geom.Point3{negative(b)}
	}
	return a
}

func negative(v []geom.Point3) []geom.Point3 {
	out := make([]geom.Point3, len(v))
	for i := range v {
		out[i] = v[i].Scale(-1)
	}
	return out
}

// spread is the norm of a potential less its mean.
func spread(phi []float64) float64 {
	mean := 0.0
	for _, v := range phi {
		mean += v
	}
	mean /= float64(len(phi))
	sum := 0.0
	for _, v := range phi {
		sum += float64((v - mean) * (v - mean))
	}
	return math.Sqrt(sum)
}

// restSize turns a field without potential into potentials of its size.
func restSize(m *tetra, rest []geom.Point3) []float64 {
	out := make([]float64, len(rest))
	for e, v := range rest {
		out[e] = v.Norm() * m.nearM[e]
	}
	return out
}

// saturable returns the problem to solve a source on and its parity: with the mirror
// only when the source keeps it, and of limited size, because every tetrahedron counts
// apart.
func (p *Problem) saturable(source Source) (*Problem, parity, error) {
	l := p.levels[1].m
	mirror, par := l.mirror, even
	if mirror {
		switch hasEven, hasOdd := l.parities(source); {
		case hasEven && hasOdd:
			mirror = false
		case hasOdd:
			par = odd
		}
	}
	if mirror == l.mirror && (len(l.nodes) <= saturableNodes || l.columns == nil) {
		return p, par, nil
	}
	if l.columns == nil {
		return nil, even, &InputError{What: "a source without the symmetry of the mesh"}
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	at := 0
	if mirror {
		at = 1
	}
	if p.refused[at] != nil {
		return nil, even, p.refused[at]
	}
	if p.other[at] == nil {
		opt := p.opt
		opt.MaxNodes = min(opt.MaxNodes, saturableNodes)
		q, err := newProblem(p.pieces, p.points, opt, mirror)
		var large *TooLargeError
		if errors.As(err, &large) {
			large.Saturating = true
		}
		if err != nil {
			p.refused[at] = err
			return nil, even, err
		}
		q.aside = true
		p.other[at] = q
	}
	return p.other[at], par, nil
}

// Saturable returns the error that Draft would return for the sum of sources of a basis before it solves anything; the meshes of a
// Problem are too large for saturating iron long before they are for linear iron.
func (p *Problem) Saturable(basis *Basis, weights []float64) error {
	_, _, err := p.saturable(mix{basis, weights}.at)
	return err
}

// saturableNodes keeps the vectors of a mesh below 150 MB.
const saturableNodes = 1700

// prolong carries a potential from the coarse to the fine mesh.
func (p *Problem) prolong(coarse []float64) []float64 {
	m := p.levels[1].m
	fine := make([]float64, len(m.nodes))
	for i, par := range m.parents {
		sum := 0.0
		for _, j := range par {
			sum += coarse[j]
		}
		fine[i] = sum / 4
	}
	return fine
}

// B returns the flux density at q, iron and source together, in tesla, and a bound of
// its error. See Linear.B.
func (s *State) B(q geom.Point3) (geom.Point3, Bound) {
	spendReading(s.p.opt.Work, &s.levels, 1)
	r := readings(&s.levels, s.p.scale, q, []Source{s.source})[0]
	return r.b, r.bound
}

// Wall returns the flux densities in a piece.
func (s *State) Wall(piece int) Wall {
	return wallOf(&s.levels, piece, []complex128{1}, s.p.scale)
}
