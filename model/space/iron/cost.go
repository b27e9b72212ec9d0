package iron

import "busgauss/model/work"

// Steps of work, rounded up from times of the example layouts, a thousand millions a second of one processor.
const (
	vectorSteps  = 25 // the vector of a tetrahedron at a node
	readingSteps = 20 // the field of a tetrahedron at a place, for one source
	linearSolves = 10 // steps of a linear system, each with the action of all pieces and their factors
	newtonSolves = 8  // matrices that a state takes
	bentSteps    = 4  // of a matrix, for a tetrahedron and a node
)

// sizes are the sums over the pieces of a mesh that steps and bytes are proportional to; of equal pieces one counts where they
// share.
type sizes struct {
	vectors float64 // nodes times tetrahedra
	squares float64 // nodes squared
	cubes   float64
	tets    float64
}

func (m *tetra) sizes() (s sizes) {
	for p, r := range m.nodeRange {
		n, t := float64(r[1]-r[0]), float64(m.tetRange[p][1]-m.tetRange[p][0])
		s.squares += n * n
		s.tets += t
		if int(m.twin[p]) == p {
			s.vectors += n * t
			s.cubes += n * n * n
		}
		for q, of := range m.tetRange { // what others do to it has a rank of some tens, or few nodes
			if q != p {
				s.vectors += min(n, 60) * float64(of[1]-of[0])
				s.squares += min(n, 60) * float64(m.nodeRange[q][1]-m.nodeRange[q][0])
			}
		}
	}
	return s
}

func (m *tetra) sides01() float64 {
	if m.mirror {
		return 2
	}
	return 1
}

// kernelSteps is what the action of a mesh takes.
func (l *level) kernelSteps() float64 { return vectorSteps * l.m.sides01() * l.m.sizes().vectors }

// keptBytes is what the action of a mesh keeps, with its vectors.
func (l *level) keptBytes() int64 {
	s := l.m.sizes()
	return int64(8*l.m.sides01()*s.squares + 12*s.vectors + 4*s.squares)
}

// LinearSteps is what linear iron takes for so many sources; twice as many for sums of phasors.
func (p *Problem) LinearSteps(sources int) float64 {
	sum := 0.0
	for _, l := range p.levels {
		s := l.m.sizes()
		sum += s.cubes/4 + float64(sources)*linearSolves*2*s.squares
	}
	return sum
}

// StateSteps is what one state of saturating iron takes, on the coarse mesh alone for a draft.
func (p *Problem) StateSteps(draft bool) float64 {
	sum := 0.0
	for k, l := range p.levels {
		if k == 1 && draft {
			break
		}
		s := l.m.sizes()
		sum += s.cubes/4 + newtonSolves*(bentSteps*s.vectors+linearSolves*s.squares)
	}
	return sum
}

// StateBytes is what a state keeps.
func (p *Problem) StateBytes() int64 {
	sum := 0.0
	for _, l := range p.levels {
		sum += 48 * l.m.sizes().tets * l.m.sides01()
	}
	return int64(sum)
}

// spendReading takes what readings at a place take.
func spendReading(of *work.Budget, levels *[2]*answer, sources int) {
	sum := 0.0
	for _, a := range levels {
		sum += float64(len(a.l.m.tets)) * a.l.m.sides01()
	}
	of.Spend(sum * (readingSteps + 4*float64(sources)))
}
