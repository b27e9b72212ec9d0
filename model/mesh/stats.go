package mesh

import (
	"math"

	"busgauss/model/portable"
)

// Stats describes the shape of a mesh. The layer figures cover triangles of skin layers, which are flat on
// purpose; the others cover the rest.
type Stats struct {
	Triangles, Nodes, Edges int     // Edges are constraint edges
	LayerTriangles          int     // triangles in skin layers
	MinAngleDeg             float64 // smallest angle outside layers, degrees; 180 when there are no triangles
	MaxAspect               float64 // largest ratio of longest edge to the height on it, outside layers
	Thin                    int     // triangles outside layers below the angle asked: beside sharp corners
	LayerMinAngleDeg        float64
	LayerMaxAspect          float64
	ShortestEdgeM           float64
	LongestEdgeM            float64
}

// Stats returns the figures of the mesh.
func (m *Mesh) Stats() Stats {
	s := Stats{
		Triangles: len(m.Tris), Nodes: len(m.Nodes), Edges: len(m.Edges),
		MinAngleDeg: 180, LayerMinAngleDeg: 180, ShortestEdgeM: math.Inf(1),
	}
	sin := portable.Sin(m.opt.MinAngleDeg * math.Pi / 180)
	for k, t := range m.Tris {
		a, b, c := m.Nodes[t[0]], m.Nodes[t[1]], m.Nodes[t[2]]
		la, lb, lc := math.Sqrt(squareM2(b, c)), math.Sqrt(squareM2(c, a)), math.Sqrt(squareM2(a, b))
		low, high := min(la, lb, lc), max(la, lb, lc)
		mid := max(min(la, lb), min(max(la, lb), lc))
		cross := orient(a, b, c)
		sinLow := min(cross/(mid*high), 1)
		angle, aspect := portable.Asin(sinLow)*180/math.Pi, high*high/cross
		s.ShortestEdgeM, s.LongestEdgeM = min(s.ShortestEdgeM, low), max(s.LongestEdgeM, high)
		if m.Layer[k] {
			s.LayerTriangles++
			s.LayerMinAngleDeg, s.LayerMaxAspect = min(s.LayerMinAngleDeg, angle), max(s.LayerMaxAspect, aspect)
			continue
		}
		s.MinAngleDeg, s.MaxAspect = min(s.MinAngleDeg, angle), max(s.MaxAspect, aspect)
		if sinLow < sin*(1-1e-9) {
			s.Thin++
		}
	}
	return s
}

// AreaM2 returns the area in square metres of the triangles of a region, straight-sided.
func (m *Mesh) AreaM2(region RegionID) float64 {
	sum := 0.0
	for k, t := range m.Tris {
		if m.Region[k] == region {
			sum += orient(m.Nodes[t[0]], m.Nodes[t[1]], m.Nodes[t[2]]) / 2
		}
	}
	return sum
}
