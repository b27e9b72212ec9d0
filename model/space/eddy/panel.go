package eddy

import (
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/sparse"
)

// panel is a quarter of a side of a cell in the surface of a mesh: a polygon, or two triangles where its corners lie off
// a plane. A density given at the nodes of the side is on it what it is at its centre.
type panel struct {
	nodes  [4]int32
	share  [4]float64 // of the nodes in the density; they sum to 1
	flat   []*shape   // each of one face
	areaM2 float64
	centre geom.Point3
	moment [6]float64 // ∫ (r−c)(r−c)ᵀ dS / areaM2: xx, yy, zz, xy, xz, yz
	reach  float64
}

// panels returns the surface of a mesh. A mirror has none.
func (m *mesh) panels() []panel {
	var out []panel
	for _, f := range m.surface(through) {
		at := func(u, v float64) (p geom.Point3) {
			for k, w := range bilinear(u, v) {
				p = p.Add(m.nodes[f[k]].Scale(w))
			}
			return p
		}
		for q := range 4 {
			u, v := float64(q%2)/2, float64(q/2)/2
			p := panel{nodes: f, share: bilinear(u+0.25, v+0.25)}
			p.fill([4]geom.Point3{at(u, v), at(u+0.5, v), at(u+0.5, v+0.5), at(u, v+0.5)})
			out = append(out, p)
		}
	}
	return out
}

// bilinear returns the shares of the corners of a unit square, counter-clockwise from (0, 0), at a place in it.
func bilinear(u, v float64) [4]float64 {
	return [4]float64{(1 - u) * (1 - v), u * (1 - v), u * v, (1 - u) * v}
}

// fill sets the outline of p.
func (p *panel) fill(x [4]geom.Point3) {
	for _, q := range x {
		p.centre = p.centre.Add(q.Scale(0.25))
	}
	for _, q := range x {
		p.reach = math.Max(p.reach, q.Sub(p.centre).Norm())
	}
	p.spread(x)
	d, e := x[2].Sub(x[0]), x[3].Sub(x[1])
	n := d.Cross(e)
	if math.Abs(n.Dot(x[1].Sub(x[0]))) <= flatWithin*n.Norm()*d.Norm() {
		p.add(x, 0, 1, 2, 3)
		return
	}
	p.add(x, 0, 1, 2)
	p.add(x, 0, 2, 3)
}

func (p *panel) add(x [4]geom.Point3, loop ...int8) {
	s := &shape{}
	copy(s.corners[:], x[:])
	s.addFace(loop)
	p.flat = append(p.flat, s)
	var twice geom.Point3
	for i := 1; i+1 < len(loop); i++ {
		twice = twice.Add(x[loop[i]].Sub(x[loop[0]]).Cross(x[loop[i+1]].Sub(x[loop[0]])))
	}
	p.areaM2 += twice.Norm() / 2
}

// spread sets the moments, at Gauss points of the bilinear patch.
func (p *panel) spread(x [4]geom.Point3) {
	const half = 0.28867513459481287 // 1/√12
	for q := range 4 {
		w := bilinear(0.5+float64(half*float64(2*(q%2)-1)), 0.5+float64(half*float64(2*(q/2)-1)))
		d := p.centre.Scale(-1)
		for k := range x {
			d = d.Add(x[k].Scale(w[k]))
		}
		for k, v := range [6]float64{d.X * d.X, d.Y * d.Y, d.Z * d.Z, d.X * d.Y, d.X * d.Z, d.Y * d.Z} {
			p.moment[k] += v / 4
		}
	}
}

// panelFar is how many times its reach a panel must be away for moments to serve: there off by some ten thousandths.
const panelFar = 4

// potential returns ∫ dS'/|r−r'| in m; far away the expansion of mean.
func (p *panel) potential(r geom.Point3) float64 {
	d := r.Sub(p.centre)
	r2 := d.Dot(d)
	if far := panelFar * p.reach; r2 > far*far {
		m := &p.moment
		q := float64(d.X*d.X*m[0]) + float64(d.Y*d.Y*m[1]) + float64(d.Z*d.Z*m[2]) + 2*(float64(d.X*d.Y*m[3])+float64(d.X*d.Z*m[4])+float64(d.Y*d.Z*m[5]))
		i := 1 / math.Sqrt(r2)
		return p.areaM2 * (i + 0.5*(float64(3*q)-float64((m[0]+m[1]+m[2])*r2))*i/(r2*r2))
	}
	sum := 0.0
	for _, s := range p.flat {
		_, v := s.integrals(r)
		sum += v.Dot(s.faces[0].normal)
	}
	return sum
}

// field returns ∫ (r−r')/|r−r'|³ dS', a pure number.
func (p *panel) field(r geom.Point3) geom.Point3 {
	d := r.Sub(p.centre)
	if l := d.Norm(); l > 3*panelFar*p.reach {
		return d.Scale(p.areaM2 / (l * l * l))
	}
	var sum geom.Point3
	for _, s := range p.flat {
		n := s.faces[0].normal
		along := s.fieldOfFaces(r)
		sum = sum.Add(along[0].Scale(n.X)).Add(along[1].Scale(n.Y)).Add(along[2].Scale(n.Z))
	}
	return sum
}

// density prepares the densities at outer nodes that have given ∮ψ q dS.
func (y *potentials) density() (*sparse.Factor[float64], error) {
	var rows, cols []int32
	var values []float64
	for i := range y.sides {
		p := &y.sides[i]
		for a, n := range p.nodes {
			for b, k := range p.nodes {
				if i, j := y.outer[n], y.outer[k]; i >= 0 && j >= 0 {
					rows, cols, values = append(rows, i), append(cols, j), append(values, p.areaM2*p.share[a]*p.share[b])
				}
			}
		}
	}
	pattern, scatter := sparse.NewPattern(y.counts[0], rows, cols)
	sum := make([]float64, pattern.Len())
	sparse.Assemble(sum, scatter, values)
	f, err := sparse.FactorNumeric(sparse.Analyse(pattern), sum, nil)
	if err != nil {
		return nil, fmt.Errorf("flux through the surface of iron: %w", err)
	}
	return f, nil
}
