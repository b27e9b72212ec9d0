package laws

import (
	"math"
	"slices"
)

// mu0 is the magnetic constant, 4π·1e-7 H/m to nine digits (CODATA 2018).
const mu0 = 4e-7 * math.Pi

// filament is a straight thread of current along z with a share of its bar's current.
type filament struct {
	at    vec
	share float64
}

// filaments cuts the section of a bar into threads, n to its longer side; a cell that the edge
// cuts has its thread in the middle of what lies inside, with that much of the current. It is all
// that the oracles know of a section: no closed form is in it.
func filaments(bar *node, n int) []filament {
	inside, half := sectionOf(bar)
	at, turn, centre := bar.get("at").point(), bar.turn(), outlineCentre(bar)
	step := 2 * math.Max(half.x, half.y) / float64(n)
	xs, ys := []float64{centre.x - half.x, centre.x + half.x}, []float64{centre.y - half.y, centre.y + half.y}
	if o := bar.get("section", "outline"); o != nil {
		for _, c := range o.items { // edges along the axes are no stairs then
			xs, ys = append(xs, c.point().x), append(ys, c.point().y)
		}
	}
	xs, ys = lattice(xs, step), lattice(ys, step)
	var out []filament
	total := 0.0
	for i := range len(xs) - 1 {
		for j := range len(ys) - 1 {
			low, size := vec{xs[i], ys[j]}, vec{xs[i+1] - xs[i], ys[j+1] - ys[j]}
			const coarse, fine = 8, 24
			mean, share := within(inside, low, size, coarse)
			if 0 < share && share < 1 {
				mean, share = within(inside, low, size, fine)
			}
			if share > 0 {
				area := share * size.x * size.y
				out = append(out, filament{at: at.plus(mean.turned(turn)), share: area})
				total += area
			}
		}
	}
	for i := range out {
		out[i].share /= total
	}
	return out
}

// within returns the middle of what of a cell lies inside, and its share of the cell, by n samples each way.
func within(inside func(vec) bool, low, size vec, n int) (middle vec, share float64) {
	hits := 0
	for k := range n * n {
		p := low.plus(vec{(float64(k%n) + 0.5) / float64(n) * size.x, (float64(k/n) + 0.5) / float64(n) * size.y})
		if inside(p) {
			middle = middle.plus(p)
			hits++
		}
	}
	if hits == 0 {
		return middle, 0
	}
	return middle.times(1 / float64(hits)), float64(hits) / float64(n*n)
}

// lattice sorts lines and adds more between them, so that none is farther from the next than step.
func lattice(lines []float64, step float64) []float64 {
	slices.Sort(lines)
	lines = slices.CompactFunc(lines, func(a, b float64) bool { return math.Abs(b-a) < step/1000 })
	var out []float64
	for i := range len(lines) - 1 {
		n := int(math.Ceil((lines[i+1]-lines[i])/step - 1e-9))
		for k := range n {
			out = append(out, lines[i]+(lines[i+1]-lines[i])*float64(k)/float64(n))
		}
	}
	return append(out, lines[len(lines)-1])
}

// sectionOf returns whether a local point lies in the section, and half of its extent.
func sectionOf(bar *node) (inside func(vec) bool, half vec) {
	s := bar.get("section")
	switch {
	case s.get("diameter") != nil:
		r := s.num(0, "diameter") / 2
		return func(p vec) bool { return p.dot(p) <= r*r }, vec{r, r}
	case s.get("outline") != nil:
		low, high := outlineBox(s)
		return func(p vec) bool { return inOutline(s, p) }, high.minus(low).times(0.5)
	}
	return func(vec) bool { return true }, vec{s.num(0, "width") / 2, s.num(0, "thickness") / 2}
}

// outlineCentre is the middle of the box round a section, zero for those that are centred.
func outlineCentre(bar *node) vec {
	if s := bar.get("section"); s.get("outline") != nil {
		low, high := outlineBox(s)
		return low.plus(high).times(0.5)
	}
	return vec{}
}

func outlineBox(s *node) (low, high vec) {
	low, high = vec{math.Inf(1), math.Inf(1)}, vec{math.Inf(-1), math.Inf(-1)}
	for _, c := range s.get("outline").items {
		p := c.point()
		low = vec{math.Min(low.x, p.x), math.Min(low.y, p.y)}
		high = vec{math.Max(high.x, p.x), math.Max(high.y, p.y)}
	}
	return low, high
}

// inOutline counts the crossings of a ray along +x.
func inOutline(s *node, p vec) bool {
	in := false
	corners := s.get("outline").items
	for i := range corners {
		a, b := corners[i].point(), corners[(i+1)%len(corners)].point()
		if (a.y > p.y) != (b.y > p.y) && p.x < a.x+(p.y-a.y)/(b.y-a.y)*(b.x-a.x) {
			in = !in
		}
	}
	return in
}

// fieldOf sums the fields of endless threads, B = μ0 I/(2πr), at p in tesla per ampere of the bar.
func fieldOf(threads []filament, p vec) vec {
	var b vec
	for _, f := range threads {
		r := p.minus(f.at)
		k := mu0 / (2 * math.Pi) * f.share / r.dot(r)
		b.x -= k * r.y
		b.y += k * r.x
	}
	return b
}

// fieldOfLength sums threads that end at ±half along z, at p in the plane z: each gives
// μ0 I/(4πr)·(sin α1 + sin α2) (Biot and Savart along a straight piece).
func fieldOfLength(threads []filament, p vec, z, half float64) vec {
	var b vec
	for _, f := range threads {
		r := p.minus(f.at)
		d := math.Sqrt(r.dot(r))
		sines := (half-z)/math.Hypot(half-z, d) + (half+z)/math.Hypot(half+z, d)
		k := mu0 / (4 * math.Pi) * f.share * sines / r.dot(r)
		b.x -= k * r.y
		b.y += k * r.x
	}
	return b
}
