package figure

import (
	"math"
	"strconv"
	"strings"

	"busgauss/model/geom"
)

// thinUnits is how far a curve may move when points are left out: a fifth of a
// drawing unit is 0.05 mm on paper.
const thinUnits = 0.2

// inkPoint is a place in drawing units.
type inkPoint struct{ u, v float64 }

// thin leaves out points of p that lie within tol of the chord of what stays.
//
// Source: D. H. Douglas, T. K. Peucker, Algorithms for the reduction of the
// number of points required to represent a digitized line, Cartographica 10
// (1973) 112, DOI 10.3138/FM57-6770-U75U-7727.
func thin(p []inkPoint, tol float64) []inkPoint {
	if len(p) < 3 {
		return p
	}
	keep := make([]bool, len(p))
	keep[0], keep[len(p)-1] = true, true
	todo := [][2]int{{0, len(p) - 1}}
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		far, at := tol, -1
		for k := s[0] + 1; k < s[1]; k++ {
			if d := offChord(p[k], p[s[0]], p[s[1]]); d > far {
				far, at = d, k
			}
		}
		if at >= 0 {
			keep[at] = true
			todo = append(todo, [2]int{s[0], at}, [2]int{at, s[1]})
		}
	}
	out := p[:0:0]
	for k, yes := range keep {
		if yes {
			out = append(out, p[k])
		}
	}
	return out
}

// offChord returns the distance of q from the segment ab.
func offChord(q, a, b inkPoint) float64 {
	return geom.Point{X: q.u, Y: q.v}.Sub(geom.NearestOnSegment(
		geom.Point{X: q.u, Y: q.v}, geom.Point{X: a.u, Y: a.v}, geom.Point{X: b.u, Y: b.v})).Norm()
}

// outline turns curves into path data. Places are tenths of a unit, written as
// steps from the one before, which makes a third of the bytes; the steps are
// taken between rounded places, so nothing adds up.
func outline(curves []curve, m Map) string {
	var b strings.Builder
	for _, c := range curves {
		p := make([]inkPoint, 0, len(c.points)+1)
		for _, q := range c.points {
			u, v := m.Unit(q)
			p = append(p, inkPoint{u, v})
		}
		if c.closed {
			p = append(p, p[0])
		}
		p = thin(p, thinUnits)
		if c.closed {
			p = p[:len(p)-1]
			if len(p) < 3 {
				continue
			}
		}
		lastU, lastV := tenths(p[0].u), tenths(p[0].v)
		b.WriteByte('M')
		b.WriteString(tenth(lastU) + " " + tenth(lastV))
		letter := "l"
		drawn := false
		for _, q := range p[1:] {
			u, v := tenths(q.u), tenths(q.v)
			if u == lastU && v == lastV {
				continue
			}
			if letter != " " || u >= lastU { // a minus parts numbers as well as a space
				b.WriteString(letter)
			}
			b.WriteString(tenth(u - lastU))
			if v >= lastV {
				b.WriteByte(' ')
			}
			b.WriteString(tenth(v - lastV))
			lastU, lastV, letter, drawn = u, v, " ", true
		}
		if c.closed && drawn {
			b.WriteByte('z')
		}
	}
	return b.String()
}

func tenths(v float64) int { return int(math.Round(10 * v)) }

// tenth writes t tenths: 25 is 2.5, -5 is -.5, 30 is 3.
func tenth(t int) string {
	sign := ""
	if t < 0 {
		sign, t = "-", -t
	}
	switch {
	case t%10 == 0:
		return sign + strconv.Itoa(t/10)
	case t < 10:
		return sign + "." + strconv.Itoa(t)
	}
	return sign + strconv.Itoa(t/10) + "." + strconv.Itoa(t%10)
}
