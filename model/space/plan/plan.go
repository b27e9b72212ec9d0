package plan

import (
	"errors"
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/mesh"
)

// Plan is a flat conductor of any outline. Entry and Exit are edges of
// Region.Outer (counter-clockwise): one ampere enters evenly over the one and
// leaves evenly over the other; all other rims are insulated.
type Plan struct {
	Region      geom.Region
	Entry, Exit int
	ThicknessM  float64
}

// Options steer the refinement. The zero value is usable.
type Options struct {
	// Certainty is the error aimed at: of the field relative to itself a thickness
	// from the bar, and of the resistance in squares; 0 means 1e-3.
	Certainty float64
	// MaxTriangles is the ceiling; 0 means 12 000. At the ceiling the result is
	// returned with the bound it has reached.
	MaxTriangles int
	// uniform refines every triangle instead of the worst ones, for levels meshes:
	// for studies of convergence.
	uniform bool
	levels  int
}

const (
	defaultCertainty    = 1e-3
	defaultMaxTriangles = 12_000
	// gapShare is the part of the certainty allowed as distance between the two
	// energies, in squares. Chosen by trial, see TestBoundHolds.
	gapShare  = 1.0
	maxLevels = 30
	// First mesh: longest edge far from everything in entry widths, edge at a corner
	// that turns into the metal in lengths of the sides beside it, and growth.
	firstFar, firstCorner, firstGrowth = 0.6, 0.08, 0.5
	// bulk is the share of the squared error that the triangles marked make up.
	bulk = 0.7
)

// SolvePlan finds the flow in a plan.
//
// Method: package comment. Errors are those of an impossible outline; a ceiling
// reached is none, as the bounds tell.
func SolvePlan(p Plan, opt Options) (*Flow, error) {
	if !positive(p.ThicknessM) {
		return nil, errors.New("flow in a plan: the thickness must be above zero")
	}
	opt, err := opt.resolved()
	if err != nil {
		return nil, err
	}
	f := &Flow{thicknessM: p.ThicknessM, region: p.Region, narrowestM: math.NaN(), narrowestAtM: math.NaN(), evenSquares: math.NaN()}
	if err := f.solve(p, opt); err != nil {
		return nil, err
	}
	f.finish()
	return f, nil
}

// Solve finds the flow in a bar with cuts. Only the part from 3.5 widths before the
// first cut to 3.5 widths behind the last is meshed; beyond, the flow is even and the
// field a closed form. An end nearer than that is taken as it is drawn: the
// current enters evenly over the width that is left at the end.
//
// Errors are those of Outline.
func Solve(d Drawing, opt Options) (*Flow, error) {
	opt, err := opt.resolved()
	if err != nil {
		return nil, err
	}
	parts, err := d.parts()
	if err != nil {
		return nil, err
	}
	near, far := d.window(parts)
	region, entry, exit, err := d.outline(parts, near, far)
	if err != nil {
		return nil, err
	}
	f := &Flow{thicknessM: d.ThicknessM, widthM: d.WidthM, fromM: d.FromM, toM: d.ToM, nearM: near, farM: far, region: region}
	f.narrowestM, f.narrowestAtM = d.narrowest(parts)
	f.evenSquares = (d.ToM - d.FromM) / d.WidthM
	if len(d.Cuts) > 0 {
		if err := f.solve(Plan{Region: region, Entry: entry, Exit: exit, ThicknessM: d.ThicknessM}, opt); err != nil {
			return nil, err
		}
		f.addTails()
	} else {
		f.addEven(d.FromM, d.ToM)
	}
	f.finish()
	return f, nil
}

// Rims of the mesh.
const (
	tagLow mesh.Tag = iota + 1 // ψ = 0
	tagEntry
	tagHigh // ψ = 1
	tagExit
	tagHole // and upwards
)

// input draws a plan for the mesh.
func (p *Plan) input() (mesh.Input, error) {
	outer := p.Region.Outer
	n := len(outer)
	if n < 3 || p.Entry == p.Exit || p.Entry < 0 || p.Exit < 0 || p.Entry >= n || p.Exit >= n {
		return mesh.Input{}, errors.New("flow in a plan: two edges of the outline are needed for the current to enter and to leave")
	}
	if outer.SignedAreaM2() <= 0 {
		return mesh.Input{}, errors.New("flow in a plan: the outline must run counter-clockwise")
	}
	tags := make([]mesh.Tag, n)
	tag := tagLow
	for i := range n {
		k := (p.Exit + 1 + i) % n
		switch k {
		case p.Entry:
			tags[k], tag = tagEntry, tagHigh
		case p.Exit:
			tags[k] = tagExit
		default:
			tags[k] = tag
		}
	}
	in := mesh.Input{Loops: []mesh.Loop{{Points: outer, Tags: tags}}}
	for i, h := range p.Region.Holes {
		in.Loops = append(in.Loops, mesh.Loop{Points: h, Region: mesh.Void, Tag: tagHole + mesh.Tag(i)})
	}
	return in, nil
}

// triangulate returns the first mesh, finer at corners that turn into the metal.
func (p *Plan) triangulate(opt Options) (*mesh.Mesh, error) {
	in, err := p.input()
	if err != nil {
		return nil, err
	}
	a, b := p.Region.Outer.Edge(p.Entry)
	c, d := p.Region.Outer.Edge(p.Exit)
	far := firstFar * max(b.Sub(a).Norm(), d.Sub(c).Norm())
	var sources []mesh.SizeSource
	for i, q := range p.Region.Outer {
		before, _ := p.Region.Outer.Edge((i + len(p.Region.Outer) - 1) % len(p.Region.Outer))
		_, after := p.Region.Outer.Edge(i)
		u, v := q.Sub(before), after.Sub(q)
		if u.Cross(v) < -1e-6*u.Norm()*v.Norm() {
			sources = append(sources, mesh.SizeSource{A: q, B: q, SizeM: firstCorner * min(u.Norm(), v.Norm(), far), Growth: firstGrowth})
		}
	}
	m, err := mesh.Triangulate(in, mesh.Options{Size: mesh.GradedSize(sources, far), MaxTriangles: opt.MaxTriangles})
	if err != nil {
		return nil, fmt.Errorf("flow in a plan: %w", err)
	}
	return m, nil
}

func (o Options) resolved() (Options, error) {
	if o.Certainty == 0 {
		o.Certainty = defaultCertainty
	}
	if o.MaxTriangles == 0 {
		o.MaxTriangles = defaultMaxTriangles
	}
	if !(o.Certainty > 0) || o.MaxTriangles < 0 {
		return o, errors.New("flow in a plan: certainty and ceiling must be above zero")
	}
	return o, nil
}

// solve refines until the two energies agree.
func (f *Flow) solve(p Plan, opt Options) error {
	m, err := p.triangulate(opt)
	if err != nil {
		return err
	}
	for level := 1; ; level++ {
		s, err := newSystem(&p, m)
		if err != nil {
			return err
		}
		f.upper, f.lower, f.mesh = s.upper, s.lower, s.sheets
		f.Triangles, f.Levels = len(m.Tris), level
		if opt.uniform {
			if level >= opt.levels {
				return nil
			}
		} else if s.upper-s.lower <= gapShare*opt.Certainty || level >= maxLevels {
			return nil
		}
		if err := m.Refine(s.worst(opt.uniform), opt.MaxTriangles); err != nil {
			var full *mesh.CeilingError
			if errors.As(err, &full) {
				return nil // the bounds say what this mesh is worth
			}
			return fmt.Errorf("flow in a plan: %w", err)
		}
	}
}
