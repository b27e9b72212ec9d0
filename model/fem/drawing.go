package fem

import (
	"errors"
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/mesh"
	"busgauss/model/portable"
)

// Sizes of the first mesh, in wall thicknesses and skin depths. Chosen by trial
// so that U-shaped shields reach half a per cent without refinement.
const (
	faceSize    = 1.5  // at faces, of the wall
	cornerSize  = 0.2  // at corners, of the wall
	growth      = 0.55 // of the edge length per distance
	cornerRise  = 0.6
	skinFirst   = 0.4 // first row of a skin layer, of the skin depth
	skinGrowth  = 1.8
	skinRows    = 4
	skinEdge    = 2.0  // longest edge on a layered surface, of the wall
	skinFade    = 2.5  // size of free triangles grows by e in so many skin depths
	skinFree    = 0.9  // free triangles in a conductor, of the skin depth
	layerFrom   = 0.35 // skin layers when the skin depth is below this share of the wall
	originShare = 1.0  // size over the distance from a bar or sensor
	rimEdges    = 36   // edges on the circle, at least
	rimShare    = 1.25 // radius of the circle over that of the pieces
)

const rimTag mesh.Tag = 1

// drawing is a problem at one frequency, ready to be meshed.
type drawing struct {
	pieces   []*Piece // active ones
	index    []int    // their place in the problem
	media    []medium
	outlines []*outline
	centre   geom.Point
	radiusM  float64
	origins  []origin
}

// origin is where a source or a sensor sits: fields near the pieces vary over
// the distance from it.
type origin struct {
	o          *outline   // nil for a sensor
	at         geom.Point // of a sensor
	clearanceM float64    // to the nearest active piece
}

func (g *origin) distanceM(q geom.Point) float64 {
	if g.o == nil {
		return g.at.Sub(q).Norm()
	}
	d, _ := g.o.distanceM(q)
	return d
}

// newDrawing collects the active pieces; nil when there is none.
func newDrawing(p *Problem, freqHz float64, saturating bool) *drawing {
	d := &drawing{}
	box := geom.EmptyBox()
	for i := range p.Pieces {
		m := mediumOf(&p.Pieces[i], freqHz, saturating)
		if !m.active() {
			continue
		}
		o := newOutline(&p.Pieces[i])
		d.pieces, d.index = append(d.pieces, &p.Pieces[i]), append(d.index, i)
		d.media, d.outlines = append(d.media, m), append(d.outlines, o)
		box = box.Join(o.box)
	}
	if len(d.pieces) == 0 {
		return nil
	}
	d.centre = box.Centre()
	for _, o := range d.outlines {
		for _, q := range o.a {
			d.radiusM = math.Max(d.radiusM, q.Sub(d.centre).Norm())
		}
	}
	d.radiusM *= rimShare
	d.findOrigins(p)
	return d
}

// findOrigins lists the bars and sensors that are small or near against the
// walls of some piece; the others change nothing.
func (d *drawing) findOrigins(p *Problem) {
	coarsest := 0.0
	for _, o := range d.outlines {
		coarsest = math.Max(coarsest, faceSize*o.wallM)
	}
	add := func(g origin) {
		g.clearanceM = math.Inf(1)
		if g.o == nil {
			g.clearanceM = d.clearanceM(g.at)
		}
		for _, o := range d.outlines {
			if g.o == nil || g.o == o {
				continue
			}
			for i := range o.a {
				e, _ := g.o.distanceM(o.a[i])
				g.clearanceM = math.Min(g.clearanceM, e)
			}
			for i := range g.o.a {
				e, _ := o.distanceM(g.o.a[i])
				g.clearanceM = math.Min(g.clearanceM, e)
			}
		}
		// A bar is seen as no finer than itself; a sensor on a face not as a point.
		floor := 0.02 * coarsest
		if g.o != nil {
			floor = 0.5 * g.o.wallM
		}
		g.clearanceM = math.Max(g.clearanceM, floor)
		if originShare*g.clearanceM < 0.5*coarsest {
			d.origins = append(d.origins, g)
		}
	}
	for i := range p.Pieces {
		if !p.Pieces[i].IsBar {
			continue
		}
		var o *outline
		for k, idx := range d.index {
			if idx == i {
				o = d.outlines[k]
			}
		}
		if o == nil {
			o = newOutline(&p.Pieces[i])
		}
		add(origin{o: o})
	}
	for _, q := range p.Sensors {
		add(origin{at: q})
	}
}

// layered says whether piece k gets skin layers.
func (d *drawing) layered(k int) bool {
	return d.media[k].conducts && d.media[k].skinM < layerFrom*d.outlines[k].wallM
}

// layerM returns the depth that skin layers of piece k reach, less a little; 0
// without layers. Shallower, triangles are flat and the size field has no say.
func (d *drawing) layerM(k int) float64 {
	if !d.layered(k) {
		return 0
	}
	depth, row := 0.0, float64(skinFirst*d.media[k].skinM)
	for range skinRows {
		if depth+row > 0.4*d.outlines[k].wallM { // as mesh.Layers does
			break
		}
		depth, row = depth+row, float64(row*skinGrowth)
	}
	return 0.95 * depth
}

// size is the size field: region 0 is air, region k+1 piece k. scale multiplies
// all sizes.
func (d *drawing) size(scale float64) func(geom.Point, mesh.RegionID) float64 {
	far := 2 * math.Pi * d.radiusM / rimEdges
	return func(q geom.Point, r mesh.RegionID) float64 {
		h := far
		for k, o := range d.outlines {
			face := float64(faceSize * o.wallM)
			corner := float64(cornerSize * o.wallM)
			inside := int(r) == k+1
			if !inside && corner+float64(math.Min(growth, cornerRise)*boxDistanceM(o.box, q)) >= h {
				continue
			}
			edgeM, cornerM := o.distanceM(q)
			h = math.Min(h, face+float64(growth*edgeM))
			if inside && d.media[k].conducts && edgeM >= d.layerM(k) {
				h = math.Min(h, skinFree*d.media[k].skinM*portable.Exp(edgeM/(skinFade*d.media[k].skinM)))
			}
			h = math.Min(h, corner+float64(cornerRise*cornerM))
		}
		for k := range d.origins {
			g := &d.origins[k]
			if limit := originShare * g.clearanceM; limit < h {
				h = math.Min(h, math.Max(limit, originShare*g.distanceM(q)))
			}
		}
		return h * scale
	}
}

// loops returns the loops of piece k.
func (d *drawing) loops(k int, scale float64) []mesh.Loop {
	c, region := d.pieces[k], mesh.RegionID(k+1)
	var skin mesh.Layers
	if d.layered(k) {
		delta := d.media[k].skinM
		skin = mesh.Layers{
			FirstM: skinFirst * delta, Growth: skinGrowth, Count: skinRows,
			EdgeM: skinEdge * d.outlines[k].wallM * scale,
		}
	}
	var out []mesh.Loop
	if r := c.Round; r != nil && r.SlitM > 0 {
		l := r.slitLoop(region)
		l.Inside = skin
		return append(out, l)
	}
	if r := c.Round; r != nil {
		l := mesh.CircleLoop(r.Centre, r.OuterM, 0, region, 0)
		l.Inside = skin
		out = append(out, l)
		if r.InnerM > 0 && !d.fillsCircle(r) {
			l := mesh.CircleLoop(r.Centre, r.InnerM, 0, 0, 0)
			l.Outside = skin
			out = append(out, l)
		}
		return out
	}
	out = append(out, mesh.Loop{Points: c.Region.Outer, Region: region, Inside: skin})
	for _, h := range c.Region.Holes {
		if d.fillsPolygon(h) {
			continue
		}
		out = append(out, mesh.Loop{Points: h, Region: 0, Outside: skin})
	}
	return out
}

// fillsCircle says whether another piece fills the hole of a ring exactly: then its
// outline is the loop of both.
func (d *drawing) fillsCircle(r *Round) bool {
	for _, p := range d.pieces {
		if p.Round != nil && p.Round.Centre == r.Centre && p.Round.OuterM == r.InnerM && p.Round.SlitM == 0 {
			return true
		}
	}
	return false
}

// fillsPolygon is fillsCircle for a polygon, whatever corner it starts at.
func (d *drawing) fillsPolygon(h geom.Polygon) bool {
	for _, p := range d.pieces {
		o := p.Region.Outer
		if p.Round != nil || len(o) != len(h) {
			continue
		}
		same := 0
		for _, q := range o {
			for _, r := range h {
				if q == r {
					same++
				}
			}
		}
		if same == len(h) {
			return true
		}
	}
	return false
}

// triangulate makes the first mesh.
func (d *drawing) triangulate(opt Options, scale float64) (*mesh.Mesh, error) {
	rim := mesh.CircleLoop(d.centre, d.radiusM, 0, 0, rimTag)
	rim.MaxEdgeM = 2 * math.Pi * d.radiusM / rimEdges
	in := mesh.Input{Loops: []mesh.Loop{rim}}
	owner := []int{-1}
	for k := range d.pieces {
		for _, l := range d.loops(k, scale) {
			in.Loops = append(in.Loops, l)
			owner = append(owner, k)
		}
	}
	m, err := mesh.Triangulate(in, mesh.Options{Size: d.size(scale), MaxTriangles: opt.MaxUnknowns / 2, ArcStepDeg: 10})
	if err != nil {
		return nil, d.explain(err, owner, opt)
	}
	return m, nil
}

// explain turns errors of the mesh into those of this package.
func (d *drawing) explain(err error, owner []int, opt Options) error {
	var ceiling *mesh.CeilingError
	var overlap *mesh.OverlapError
	var crossing *mesh.CrossingError
	name := func(loop int) string {
		if loop <= 0 || loop >= len(owner) {
			return "the boundary"
		}
		return fmt.Sprintf("%q", d.pieces[owner[loop]].Name)
	}
	switch {
	case errors.As(err, &ceiling):
		a, b, gapM := d.narrowest()
		why := "the mesh"
		if a >= 0 {
			why = fmt.Sprintf("the mesh (narrowest gap %.3g mm, between %q and %q)", gapM*1e3, d.pieces[a].Name, d.pieces[b].Name)
		}
		return &TooLarge{NeededUnknowns: 2 * ceiling.Triangles, MaxUnknowns: opt.MaxUnknowns, Why: why}
	case errors.As(err, &overlap):
		return &InputError{-1, fmt.Sprintf("%s and %s overlap", name(overlap.First), name(overlap.Second))}
	case errors.As(err, &crossing):
		return &InputError{-1, fmt.Sprintf("outlines of %s and %s cross", name(crossing.First.Loop), name(crossing.Second.Loop))}
	}
	return fmt.Errorf("plane field: mesh: %w", err)
}

// narrowest returns the two pieces with the smallest gap above zero, -1 for
// fewer than two.
func (d *drawing) narrowest() (a, b int, gapM float64) {
	a, b, gapM = -1, -1, math.Inf(1)
	for i := range d.pieces {
		for j := range i {
			if d.pieces[i].Round != nil || d.pieces[j].Round != nil {
				continue
			}
			if g, _, _ := geom.GapRegionsM(d.pieces[i].Region, d.pieces[j].Region); g > 0 && g < gapM {
				a, b, gapM = j, i, g
			}
		}
	}
	return a, b, gapM
}
