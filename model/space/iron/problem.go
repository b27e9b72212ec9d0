package iron

import (
	"errors"
	"math"
	"sync"

	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/work"
)

// Problem is an arrangement of iron with its two meshes. The kernels, which hang on the
// geometry alone, are computed when first needed and kept. A Problem may be used from
// several goroutines.
type Problem struct {
	pieces []Piece
	points []geom.Point3
	opt    Options
	scale  float64   // of the meshes; 1 is the standard
	levels [2]*level // coarse, fine

	aside bool // for states that the meshes of linear iron do not serve

	mu      sync.Mutex
	other   [2]*Problem // for saturating duties that need them: without mirror, with mirror
	refused [2]error    // in place of them
}

// level is one mesh with its kernels.
type level struct {
	m      *tetra
	lock   sync.Mutex
	mu     []float64  // relative permeabilities of the pieces for small signals
	kernel *work.Item // *[2]*action, by parity
	work   *work.Budget
	curved bool        // some piece follows a curve
	walls  [][]station // of each piece

	cellShares []float64 // cellShare of each wedge, times the scale of the mesh where it counts
	slit       bool      // some piece has one
}

// New meshes the pieces twice. points are the places where the field matters: the mesh
// is finer where one lies close to the iron.
func New(pieces []Piece, points []geom.Point3, opt Options) (*Problem, error) {
	opt, err := opt.resolved()
	if err != nil {
		return nil, err
	}
	if len(pieces) == 0 {
		return nil, &InputError{What: "no pieces"}
	}
	if err := checkPieces(pieces); err != nil {
		return nil, err
	}
	return newProblem(pieces, points, opt, sharesPlane(pieces))
}

func newProblem(pieces []Piece, points []geom.Point3, opt Options, mirror bool) (*Problem, error) {
	p := &Problem{pieces: pieces, points: points, opt: opt}
	g := standardGrading()
	g.scale = math.Max(finest, portable.Pow(opt.Certainty/defaultCertainty, 1/assumedOrder))
	g.scale = math.Min(g.scale, 1)
	if n := leastNodes(pieces); n > opt.MaxNodes {
		return nil, &TooLargeError{Nodes: n, Max: opt.MaxNodes}
	}
	for {
		m, fine, err := buildPair(pieces, points, g, mirror, opt)
		var large *TooLargeError
		if errors.As(err, &large) && g.scale < coarsest {
			if last := g; large.Nodes > 2*large.Max { // worth asking whether any mesh is small enough
				last.scale = coarsest
				if _, _, err = buildPair(pieces, points, last, mirror, opt); err != nil {
					return nil, err
				}
			}
			g.scale *= 1.15
			continue
		}
		if err != nil {
			return nil, err
		}
		p.levels, p.scale = [2]*level{newLevel(m, pieces, g.scale), newLevel(fine, pieces, g.scale)}, g.scale
		for _, l := range p.levels {
			l.work, l.kernel = opt.Work, opt.Shelf.Item()
		}
		for i := range pieces {
			for _, l := range p.levels {
				l.curved = l.curved || pieces[i].Curve != nil
			}
		}
		return p, nil
	}
}

// standardGrading is the grading of the coarse mesh for a certainty of one per cent.
func standardGrading() grading {
	return grading{scale: 1, corner: 1, far: 3, endZ: 1, endZMax: 3, farZ: 8, growth: 1, nearestShare: 0.8}
}

// leastNodes returns how many nodes the refinement of any mesh of pieces has at least, from their drawing alone: every
// corner is a node, and the middle of every edge, at three heights.
func leastNodes(pieces []Piece) int {
	n := 0
	for i := range pieces {
		if pieces[i].Ring != nil {
			continue
		}
		for _, loop := range append([]geom.Polygon{pieces[i].Section.Outer}, pieces[i].Section.Holes...) {
			n += 2 * 3 * len(loop)
		}
	}
	return n
}

const (
	finest   = 0.4 // of the standard sizes
	coarsest = 2.5
)

// buildPair returns the coarse mesh and its refinement.
func buildPair(pieces []Piece, points []geom.Point3, g grading, mirror bool, opt Options) (coarse, fine *tetra, err error) {
	b, err := build(pieces, points, g, mirror)
	if err != nil {
		return nil, nil, err
	}
	nodes, unlike := b.refinedNodes()
	if nodes > opt.MaxNodes {
		return nil, nil, &TooLargeError{Nodes: nodes, Max: opt.MaxNodes}
	}
	if opt.MaxUnlike > 0 && unlike > opt.MaxUnlike {
		return nil, nil, &TooLargeError{Nodes: unlike, Max: opt.MaxUnlike}
	}
	coarse = b.mesh()
	return coarse, coarse.refined(), nil
}

func newLevel(m *tetra, pieces []Piece, scale float64) *level {
	l := &level{m: m, kernel: (*work.Shelf)(nil).Item()}
	for i := range pieces {
		l.mu = append(l.mu, pieces[i].muRel())
	}
	for i := range m.columns {
		c := &m.columns[i]
		l.walls = append(l.walls, stationsOf(c.s))
		share := cellShare[c.s.shape()]
		if c.s.shape() == slit {
			l.slit = true
		} else {
			share *= scale
		}
		for range len(c.s.tris) * (len(c.z) - 1) {
			l.cellShares = append(l.cellShares, share)
		}
	}
	return l
}

// Unknowns returns the number of unknowns of the coarse and of the fine mesh.
func (p *Problem) Unknowns() (coarse, fine int) {
	return len(p.levels[0].m.nodes), len(p.levels[1].m.nodes)
}

// action returns what the mesh does for one parity. Where iron saturates the vectors of the even one,
// which nearly all states ask for, come with it: they cost the same work.
func (l *level) action(par parity) *action {
	l.lock.Lock()
	defer l.lock.Unlock()
	acts, _ := l.make(par, false, nil)
	return acts[par]
}

// withRaw returns the action with its vectors for one parity, of which one at a time is kept: they are
// large.
func (l *level) withRaw(par parity) *action {
	l.lock.Lock()
	defer l.lock.Unlock()
	acts, _ := l.make(par, true, nil)
	a := *acts[par]
	return &a
}

// aside says that sources break the mirror, so that states stand on other meshes and
// the vectors of this one are not worth their memory.
func (l *level) aside() {
	l.lock.Lock()
	defer l.lock.Unlock()
	l.curved = false
}

// LetGo lets go of the kernels, which hold most of the memory of a problem and which only further solutions ask for: they
// are made anew then.
func (p *Problem) LetGo() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, l := range p.levels {
		l.lock.Lock()
		l.kernel.Drop()
		l.lock.Unlock()
	}
	for _, o := range p.other {
		if o != nil {
			o.LetGo()
		}
	}
}

// apply returns (1/4π) Σ G·v at every node, for each field given.
func (l *level) apply(par parity, fields []field) [][]float64 {
	l.lock.Lock()
	defer l.lock.Unlock()
	_, rows := l.make(par, false, fields)
	return rows
}

// make makes what is missing of the action for one parity, and what fields do.
func (l *level) make(par parity, raw bool, fields []field) (*[2]*action, [][]float64) {
	acts, _ := l.kernel.Value().(*[2]*action)
	if acts == nil {
		acts = &[2]*action{newAction(l), newAction(l)}
		l.kernel.Put(acts, l.keptBytes())
	}
	a := acts[par]
	raw = (raw || l.curved && par == even) && a.raw == nil
	if raw {
		acts[1-par].raw = nil
	}
	rows := l.m.emptyRows(len(fields))
	if raw || a.own == nil || fields != nil {
		l.work.Spend(l.kernelSteps())
		l.m.fill(*acts, par, raw, fields, rows)
	}
	if a.far == nil {
		a.meet(par)
	}
	a.apart(fields, rows)
	return acts, rows
}
