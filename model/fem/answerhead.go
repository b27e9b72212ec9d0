package fem

import (
	"math"

	"busgauss/model/geom"
)

// headKey is that of the head of a table: it is there once the problem was solved.
const headKey = "size"

// nearPlace is a sensor and its distance to what reacts, 0 inside of it: see linear.near.
type nearPlace struct {
	at     geom.Point
	clearM float64
}

// headOf returns what a solution takes and keeps, and the places whose values it knows from the start.
func headOf(e engine, takes []float64) []float64 {
	p := e.cost()
	head := []float64{float64(p.unknowns), p.factor, p.dual, p.point, p.bytes, p.factorB, float64(len(takes))}
	head = append(head, takes...)
	for _, q := range e.valued() {
		head = append(head, q.X, q.Y, e.clear(q))
	}
	return head
}

// read takes the head of the table.
func (k *keptEngine) read() {
	head, _ := k.t.get(headKey)
	k.price = price{unknowns: int(head[0]), factor: head[1], dual: head[2], point: head[3], bytes: head[4], factorB: head[5]}
	n := 7 + int(head[6])
	k.takes = head[7:n]
	for head = head[n:]; len(head) >= 3; head = head[3:] {
		q := geom.Point{X: head[0], Y: head[1]}
		k.bounded[q] = true
		k.near = append(k.near, nearPlace{q, head[2]})
	}
}

// isNear reports whether q takes its bound from a sensor.
func (k *keptEngine) isNear(q geom.Point) bool {
	for _, s := range k.near {
		if s.clearM > 0 && q.Sub(s.at).Norm() <= nearShare*s.clearM {
			return true
		}
	}
	return false
}

// clear implements engine.
func (l *linear[T]) clear(q geom.Point) float64 {
	for i, s := range l.p.Sensors {
		if s == q && l.points[q] != nil && !l.points[q].inside {
			return l.clearM[i]
		}
	}
	return 0
}

// nanC is no phasor.
var nanC = complex(math.NaN(), math.NaN())
