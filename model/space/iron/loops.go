package iron

import (
	"math"
	"sync"

	"busgauss/model/geom"
	"busgauss/model/parallel"
)

// Loop is a current that closes on itself away from the iron, per ampere: outside of it
// H = −∇φ with one potential φ in every piece.
type Loop struct {
	B          Source
	PotentialA func(geom.Point3) float64 // φ in the iron
}

// Loops is a list of loops. Their potentials at the nodes of a mesh are kept. It may be used from
// several goroutines.
type Loops struct {
	list []Loop
	mu   sync.Mutex
	kept map[loopsKey][][]float32 // seven digits are plenty, and they are many
}

type loopsKey struct {
	m   *tetra
	par parity
}

// NewLoops returns loops, in their order.
func NewLoops(list []Loop) *Loops { return &Loops{list: list, kept: map[loopsKey][][]float32{}} }

// at returns the flux density at q in tesla of the loops times weights.
func (l *Loops) at(q geom.Point3, weights []float64) geom.Point3 {
	var sum geom.Point3
	for k, w := range weights {
		if w != 0 {
			sum = sum.Add(l.list[k].B(q).Scale(w))
		}
	}
	return sum
}

// potentials returns the potential of each loop at the nodes of a mesh in A, its part of one
// parity where the mesh is mirrored; 0 at the first node of each piece where it is even.
func (l *Loops) potentials(m *tetra, par parity) [][]float32 {
	key := loopsKey{m, par}
	l.mu.Lock()
	got, ok := l.kept[key]
	l.mu.Unlock()
	if ok {
		return got
	}
	got = make([][]float32, len(l.list))
	split := l.isSplit(m)
	parallel.Each(len(got), maxWorkers, func(_, k int) {
		phi := make([]float64, len(m.nodes))
		for i, p := range m.nodes {
			phi[i] = l.list[k].PotentialA(p)
			if !split { // the same in its mirror image, or without one
				continue
			}
			image := l.list[k].PotentialA(m.reflect(p))
			if par == odd {
				image = -image
			}
			phi[i] = (phi[i] + image) / 2
		}
		if par == even {
			for _, r := range m.nodeRange {
				zero := phi[r[0]]
				for i := r[0]; i < r[1]; i++ {
					phi[i] -= zero
				}
			}
		}
		got[k] = singles(phi)
	})
	l.mu.Lock()
	defer l.mu.Unlock()
	l.kept[key] = got
	return got
}

// isSplit reports whether some loop is not even about the mirror of m.
func (l *Loops) isSplit(m *tetra) bool {
	if !m.mirror {
		return false
	}
	for k := range l.list {
		largest, oddA := 0.0, 0.0
		for i := 0; i < len(m.nodes); i += max(1, len(m.nodes)/16) {
			a, b := l.list[k].PotentialA(m.nodes[i]), l.list[k].PotentialA(m.reflect(m.nodes[i]))
			largest, oddA = math.Max(largest, math.Abs(a)), math.Max(oddA, math.Abs(a-b))
		}
		if oddA > evenShare*largest {
			return true
		}
	}
	return false
}

// B returns the flux density at q in tesla of loop k by itself, without iron.
func (l *Loops) B(k int, q geom.Point3) geom.Point3 { return l.list[k].B(q) }
