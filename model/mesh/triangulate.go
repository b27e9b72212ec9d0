package mesh

import (
	"errors"

	"busgauss/model/geom"
)

// Triangulate divides a drawing into triangles.
//
// Every loop edge and line becomes a chain of mesh edges; where loops touch they share them. Inside each
// region triangles are constrained Delaunay, their smallest angle is Options.MinAngleDeg or more except
// beside corners of the drawing sharper than 60°, and their edges stay below Options.Size. Skin layers are exempt
// from both bounds. Edges on arcs have their ends on the arc.
//
// Errors: InputError for malformed input, CrossingError and OverlapError for loops that do, CeilingError
// when the ceiling on triangles is reached. Bad input never panics.
//
// Sources: see the package comment.
func Triangulate(in Input, opt Options) (*Mesh, error) {
	opt, err := opt.resolved()
	if err != nil {
		return nil, err
	}
	var cut [][2]int
	// Each retry takes at least one row away, so the loop ends; the bound is for the eye.
	for {
		b, kept, made, err := build(&in, opt, cut)
		var layer *layerCrossing
		if errors.As(err, &layer) {
			cut = made
			for _, i := range []int32{layer.loop, layer.other} {
				if i >= 0 {
					cut[i][0], cut[i][1] = max(cut[i][0]-1, 0), max(cut[i][1]-1, 0)
				}
			}
			continue
		}
		if err != nil {
			return nil, err
		}
		r := &refiner{triangulation: b.triangulation, pieces: b.pieces, arcs: b.d.arcs}
		findSharp(r.pts, r.pieces, r.arcs)
		r.makeSubs()
		r.setup(opt, b.d.tolM)
		if err := r.run(); err != nil {
			return nil, err
		}
		m := r.mesh(b.d.tolM)
		m.Rows = b.d.rows
		for i, p := range b.d.nodes {
			v := kept[p+boxCorners]
			if v < 0 {
				return nil, &InputError{What: "point lies outside every loop or in a hole", Loop: -1, Edge: i}
			}
			m.InputNodes = append(m.InputNodes, v)
		}
		return m, nil
	}
}

// build makes the carved constrained triangulation. made are the rows of layers it tried.
func build(in *Input, opt Options, cut [][2]int) (b *builder, kept []int32, made [][2]int, err error) {
	d, err := newDrawing(in, opt, cut)
	if err != nil {
		return nil, nil, nil, err
	}
	if len(d.pts) > opt.MaxTriangles {
		return nil, nil, nil, &CeilingError{Triangles: len(d.pts), Max: opt.MaxTriangles}
	}
	if b, err = newBuilder(d); err != nil {
		return nil, nil, nil, err
	}
	if err = b.recoverAll(); err != nil {
		return nil, nil, d.rows, err
	}
	outside, err := b.assign(in)
	if err != nil {
		return nil, nil, nil, err
	}
	kept = b.carve(outside)
	if len(b.tris) == 0 {
		return nil, nil, nil, &InputError{What: "nothing to divide: every region is void", Loop: -1, Edge: -1}
	}
	return b, kept, nil, nil
}

// Mesh is a triangulation. Its slices belong to it; Refine replaces them.
type Mesh struct {
	Nodes  []geom.Point
	Tris   [][3]int32 // corners, counter-clockwise
	Region []RegionID // of each triangle
	Adj    [][3]int32 // neighbour over edge i, which lies opposite corner i; -1 at the rim
	EdgeOf [][3]int32 // index into Edges of edge i; -1 when it is no constraint
	Edges  []Edge     // constraint edges
	Arcs   []Arc

	Layer      []bool   // triangle belongs to a skin layer
	Rows       [][2]int // rows made inside and outside each loop
	InputNodes []int32  // node of each Input.Points

	pieces []piece
	on     []int32
	opt    Options
	tolM   float64
	grid   grid
}

// Edge is a constraint edge between two nodes.
type Edge struct {
	A, B  int32
	From  []Source // loops and lines it belongs to; shared slice, do not change; for layers the surface edge
	Arc   int32    // index into Mesh.Arcs, -1 straight
	Layer bool     // line of a skin layer, not an edge of the drawing
	piece int32
	stuck bool
}

// mesh copies the working state out.
func (r *refiner) mesh(tolM float64) *Mesh {
	m := &Mesh{
		Nodes: r.pts, Arcs: r.arcs, pieces: r.pieces, on: r.on, opt: r.opt, tolM: tolM,
		Tris:   make([][3]int32, len(r.tris)),
		Region: make([]RegionID, len(r.tris)),
		Adj:    make([][3]int32, len(r.tris)),
		EdgeOf: make([][3]int32, len(r.tris)),
		Layer:  make([]bool, len(r.tris)),
		Edges:  make([]Edge, len(r.subs)),
	}
	for k := range r.tris {
		t := &r.tris[k]
		m.Tris[k], m.Adj[k], m.EdgeOf[k], m.Region[k], m.Layer[k] = t.v, t.n, t.s, t.region, t.fixed
	}
	for i := range r.subs {
		s := &r.subs[i]
		p := &r.pieces[s.piece]
		m.Edges[i] = Edge{A: s.a, B: s.b, From: p.from, Arc: p.arc, Layer: p.kind != plain, piece: s.piece, stuck: s.frozen}
	}
	m.grid = newGrid(m)
	return m
}
