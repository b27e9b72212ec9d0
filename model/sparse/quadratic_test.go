package sparse

import "math"

// problem is a matrix with its pattern, as triplets brought it.
type problem struct {
	pattern *Pattern
	stiff   []float64 // stiffness plus a little mass: positive definite
	mass    []float64
}

// quadraticMesh assembles quadratic triangles over the unit square cut into nx×ny
// rectangles, each in two triangles. There are (2nx+1)(2ny+1) unknowns, about 11.5 entries
// a row as in any mesh of quadratic triangles. Nodes are numbered along x, as a
// careless mesher would.
//
// Element matrices: shape functions and the mass matrix area/180·[6 -1 ...; ...] as in
// O. C. Zienkiewicz, R. L. Taylor, J. Z. Zhu, The Finite Element Method, 6th ed., section 4.7 and
// appendix; the stiffness by the midpoint rule, exact for its quadratic integrand.
func quadraticMesh(nx, ny int) problem {
	width := 2*nx + 1
	n := width * (2*ny + 1)
	hx, hy := 1/float64(nx), 1/float64(ny)
	elements := 2 * nx * ny
	rows := make([]int32, 0, 36*elements)
	cols := make([]int32, 0, 36*elements)
	stiff := make([]float64, 0, 36*elements)
	mass := make([]float64, 0, 36*elements)
	for iy := range ny {
		for ix := range nx {
			corner := func(dx, dy int) [2]int { return [2]int{2 * (ix + dx), 2 * (iy + dy)} }
			for _, t := range [2][3][2]int{
				{corner(0, 0), corner(1, 0), corner(1, 1)},
				{corner(0, 0), corner(1, 1), corner(0, 1)},
			} {
				var node [6]int32
				for a := range 3 {
					b := (a + 1) % 3
					node[a] = int32(t[a][0] + width*t[a][1])
					node[3+a] = int32((t[a][0]+t[b][0])/2 + width*(t[a][1]+t[b][1])/2)
				}
				k, m := quadraticElement(
					[3]float64{float64(t[0][0]) * hx / 2, float64(t[1][0]) * hx / 2, float64(t[2][0]) * hx / 2},
					[3]float64{float64(t[0][1]) * hy / 2, float64(t[1][1]) * hy / 2, float64(t[2][1]) * hy / 2})
				for a := range 6 {
					for b := range 6 {
						rows = append(rows, node[a])
						cols = append(cols, node[b])
						stiff = append(stiff, k[a][b]+m[a][b])
						mass = append(mass, m[a][b])
					}
				}
			}
		}
	}
	p, scatter := NewPattern(n, rows, cols)
	out := problem{p, make([]float64, p.Len()), make([]float64, p.Len())}
	Assemble(out.stiff, scatter, stiff)
	Assemble(out.mass, scatter, mass)
	return out
}

// quadraticElement returns the stiffness and mass matrix of a quadratic triangle; nodes are the corners and
// then the middles of edges 0-1, 1-2, 2-0.
func quadraticElement(x, y [3]float64) (k, m [6][6]float64) {
	area := ((x[1]-x[0])*(y[2]-y[0]) - (x[2]-x[0])*(y[1]-y[0])) / 2
	var gx, gy [3]float64 // gradients of the area coordinates
	for a := range 3 {
		b, c := (a+1)%3, (a+2)%3
		gx[a], gy[a] = (y[b]-y[c])/(2*area), (x[c]-x[b])/(2*area)
	}
	for q := range 3 {
		l := [3]float64{0.5, 0.5, 0.5}
		l[q] = 0
		var dx, dy [6]float64
		for a := range 3 {
			b := (a + 1) % 3
			dx[a], dy[a] = (4*l[a]-1)*gx[a], (4*l[a]-1)*gy[a]
			dx[3+a], dy[3+a] = 4*(l[a]*gx[b]+l[b]*gx[a]), 4*(l[a]*gy[b]+l[b]*gy[a])
		}
		for a := range 6 {
			for b := range 6 {
				k[a][b] += area / 3 * (dx[a]*dx[b] + dy[a]*dy[b])
			}
		}
	}
	for a := range 6 {
		for b := range 6 {
			v := 0.0
			switch {
			case a == b && a < 3:
				v = 6
			case a == b:
				v = 32
			case a < 3 && b < 3:
				v = -1
			case a >= 3 && b >= 3:
				v = 16
			case (min(a, b)+1)%3 == max(a, b)-3: // corner opposite the edge
				v = -4
			}
			m[a][b] = v * area / 180
		}
	}
	return k, m
}

// harmonic returns K + j ω M with ω so chosen that both parts matter.
func (p problem) harmonic(omega float64) []complex128 {
	out := make([]complex128, len(p.stiff))
	for k, v := range p.stiff {
		out[k] = complex(v, omega*p.mass[k])
	}
	return out
}

// wave is a right-hand side without zeros or symmetry.
func wave(n, seed int) []float64 {
	b := make([]float64, n)
	for i := range b {
		b[i] = math.Sin(float64(i*(seed+1))*0.7) + 0.3
	}
	return b
}

func complexWave(n, seed int) []complex128 {
	re, im := wave(n, seed), wave(n, seed+5)
	b := make([]complex128, n)
	for i := range b {
		b[i] = complex(re[i], im[i])
	}
	return b
}
