package field

import (
	"flag"
	"fmt"
	"math"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

// Eddy currents of a bar with half sizes a, b and half length c in a field that is even about z = 0, to
// the first order of ω, per jωσ: J = −(A + ∇V), ∇·J = 0, no current through the surface. A is taken with
// Az = 0, its other parts from 0 at z = 0.
// Source: H. A. Haus, J. R. Melcher, Electromagnetic Fields and Energy, 1989, section 10.7 (expansion in ω; from memory).
func firstOrderB(a, b, c float64, n [3]int, field func(p geom.Point3) geom.Point, q geom.Point3) geom.Point3 {
	h := [3]float64{2 * a / float64(n[0]), 2 * b / float64(n[1]), 2 * c / float64(n[2])}
	at := func(i, j, k float64) geom.Point3 {
		return geom.Point3{X: -a + (i+0.5)*h[0], Y: -b + (j+0.5)*h[1], Z: -c + (k+0.5)*h[2]}
	}
	// A at the middles of cells along z, from the field at a few places across, straight between.
	const mx, my = 9, 4
	across := func(i int, m int, half float64) float64 { return -half + 2*half*float64(i)/float64(m-1) }
	var table [mx][my][]geom.Point // ∫ (By, −Bx) dz
	for x := range mx {
		for y := range my {
			out := make([]geom.Point, n[2])
			var sum geom.Point
			for k := n[2] / 2; k < n[2]; k++ {
				z := -c + (float64(k)+0.5)*h[2]
				v := field(geom.Point3{X: across(x, mx, a), Y: across(y, my, b), Z: z})
				step := geom.Point{X: v.Y, Y: -v.X}.Scale(h[2])
				out[k] = sum.Add(step.Scale(0.5))
				sum = sum.Add(step)
				out[n[2]-1-k] = out[k].Scale(-1)
			}
			table[x][y] = out
		}
	}
	potential := func(x, y float64, k int) geom.Point {
		fx, fy := (x+a)/(2*a)*(mx-1), (y+b)/(2*b)*(my-1)
		i, j := min(int(fx), mx-2), min(int(fy), my-2)
		fx, fy = fx-float64(i), fy-float64(j)
		return table[i][j][k].Scale((1 - fx) * (1 - fy)).Add(table[i+1][j][k].Scale(fx * (1 - fy))).
			Add(table[i][j+1][k].Scale((1 - fx) * fy)).Add(table[i+1][j+1][k].Scale(fx * fy))
	}
	total := n[0] * n[1] * n[2]
	index := func(i, j, k int) int { return (k*n[1]+j)*n[0] + i }
	step := [3]int{1, n[0], n[0] * n[1]}
	// Flux through the upper face of each cell along each axis, of A.
	var flux [3][]float64
	for d := range flux {
		flux[d] = make([]float64, total)
	}
	for k := range n[2] {
		for j := range n[1] {
			for i := range n[0] {
				p := at(float64(i), float64(j), float64(k))
				if i+1 < n[0] {
					flux[0][index(i, j, k)] = potential(p.X+h[0]/2, p.Y, k).X
				}
				if j+1 < n[1] {
					flux[1][index(i, j, k)] = potential(p.X, p.Y+h[1]/2, k).Y
				}
			}
		}
	}
	inner := func(d, c int) bool { // whether the cell has one above it along d
		return [3]int{c % n[0], c / n[0] % n[1], c / (n[0] * n[1])}[d]+1 < n[d]
	}
	apply := func(v, out []float64) { // −∇·∇v, per cell
		clear(out)
		for d := range 3 {
			f := 1 / (h[d] * h[d])
			for c := range v {
				if inner(d, c) {
					g := f * (v[c+step[d]] - v[c])
					out[c] -= g
					out[c+step[d]] += g
				}
			}
		}
	}
	r := make([]float64, total)
	for d := range 3 {
		for c := range r {
			if inner(d, c) {
				r[c] += flux[d][c] / h[d]
				r[c+step[d]] -= flux[d][c] / h[d]
			}
		}
	}
	v, p, ap := make([]float64, total), append([]float64(nil), r...), make([]float64, total)
	dot := func(a, b []float64) (s float64) {
		for i := range a {
			s += a[i] * b[i]
		}
		return s
	}
	for rr, start, it := dot(r, r), dot(r, r), 0; rr > 1e-16*start && it < 3000; it++ {
		apply(p, ap)
		alpha := rr / dot(p, ap)
		for i := range v {
			v[i] += alpha * p[i]
			r[i] -= alpha * ap[i]
		}
		next := dot(r, r)
		for i := range p {
			p[i] = r[i] + next/rr*p[i]
		}
		rr = next
	}
	var sum geom.Point3
	volume := h[0] * h[1] * h[2]
	for c := range v {
		for d := range 3 {
			if !inner(d, c) {
				continue
			}
			j := -(flux[d][c] + (v[c+step[d]]-v[c])/h[d])
			i, jj, k := float64(c%n[0]), float64(c/n[0]%n[1]), float64(c/(n[0]*n[1]))
			var u geom.Point3
			switch d {
			case 0:
				i += 0.5
				u.X = 1
			case 1:
				jj += 0.5
				u.Y = 1
			case 2:
				k += 0.5
				u.Z = 1
			}
			e := q.Sub(at(i, jj, k))
			l := e.Norm()
			sum = sum.Add(u.Cross(e).Scale(1e-7 * j * volume / (l * l * l)))
		}
	}
	return sum
}

// Long is asked for by tests outside the package too.
var Long = flag.Bool("long", false, "run cases of minutes too")

// The eddy currents of a bar in a short channel at a low frequency against those of first order in the steady field that the iron
// leaves in its metal, in space: their own field at the sensor, of the bar's current and of a neighbour's, within the
// bound of what the model makes of the iron's part. Three of four arrangements with -long alone.
func TestFirstOrderEddies(t *testing.T) {
	type arrangement struct{ width, thick, opening, leg, wall, depth, pitch float64 }
	arrangements := []arrangement{{15, 4, 18, 12, 1.5, 12, 32}, {15, 4, 18, 12, 1.5, 40, 32}, {30, 3, 34, 14, 2, 20, 45}, {10, 6, 20, 20, 1, 15, 26}}
	if !*Long {
		arrangements = arrangements[:1]
	}
	for _, a := range arrangements {
		l := loaded(t, threeShort(a.width, a.thick, a.opening, a.leg, a.wall, a.depth, a.pitch, sheet))
		const hz = 5
		_, p := solvedAt(t, NewModel(l), hz)
		for src := range 2 {
			in := p.space
			q := l.Sensors[0].At.Point3()
			field := func(r geom.Point3) geom.Point {
				r.X += q.X
				b, _ := in.iron.B(r, src)
				return b.XY()
			}
			local := q
			local.X = 0
			c := math.Max(60, a.depth+30) * 1e-3
			want := firstOrderB(a.width/2e3, a.thick/2e3, c, [3]int{30, 8, 2 * int(700*c)}, field, local).Scale(2 * math.Pi * hz * l.Bars[0].SigmaSPerM)
			sum := func(one complex128, boxes func(of *profile) boxes) geom.Point3 { // bar U alone
				var got geom.Point3
				for i, x := range p.lay.weights(one, p.alone[src], p.answer[src], boxes) {
					if barOf(p.lay, i) == 0 {
						got = got.Add(p.lay.loops.B(i, q).Scale(imag(x)))
					}
				}
				return got
			}
			keep := func(of *profile) boxes { return of.between(src, p.late[src]) }
			got, iron, smooth := sum(1, keep), sum(0, (*profile).whole), sum(0, func(of *profile) boxes { return of.step(src) })
			doubt := p.ironDoubt(layout.BarIndex(src), src == 0, iron.Norm(), smooth.Norm()) + eddyMesh*got.Norm()
			off := got.Sub(want).Norm()
			t.Logf("%v, source %d: off by %.3g of %.3g, bound %.3g", a, src, off/want.Norm(), want.Norm(), doubt/want.Norm())
			if !(off <= doubt) || !(doubt <= 0.35*(iron.Norm()+got.Norm())) {
				t.Errorf("%v, source %d: %v, first order %v, bound %.3g", a, src, got, want, doubt)
			}
		}
	}
}

const sheet = "relative-permeability: 4000, conductivity: 2.2 MS/m, sheet: 0.15 mm"

// threeShort is three bars in channels of a material, in mm.
func threeShort(width, thick, opening, leg, wall, depth, pitch float64, material string) string {
	out := "layout: 1\nmaterials:\n  s: {" + material + "}\nbars:\n"
	for i, id := range []string{"U", "V", "W"} {
		out += fmt.Sprintf("  %s: {section: {width: %g mm, thickness: %g mm}, at: [%g mm, 0 mm], metal: copper, temperature: 80 °C, length: 300 mm}\n",
			id, width, thick, float64(i-1)*pitch)
	}
	out += "shields:\n"
	for i, id := range []string{"U", "V", "W"} {
		out += fmt.Sprintf("  K%s: {form: {channel: {opening: %g mm, leg: %g mm, wall: %g mm}}, at: [%g mm, %g mm], material: s, depth: %g mm}\n",
			id, opening, leg, wall, float64(i-1)*pitch, -thick/2-1, depth)
	}
	out += "sensors:\n"
	for i, id := range []string{"U", "V", "W"} {
		out += fmt.Sprintf("  S%s: {reads: %s, at: [%g mm, %g mm], axis: 180 deg}\n", id, id, float64(i-1)*pitch, thick/2+3)
	}
	return out
}

// barOf returns the bar of loop i.
func barOf(y *strandLayout, i int) int {
	for k, s := range y.strands {
		if i < len(s.at) {
			return k
		}
		i -= len(s.at)
	}
	for k, s := range y.sparse {
		n := len(s.at) * len(y.profiles[k].edgeM)
		if i < n {
			return k
		}
		i -= n
	}
	panic("no such loop")
}
