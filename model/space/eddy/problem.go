package eddy

import (
	"errors"
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/work"
)

// Piece is a prism of metal along z that no current enters or leaves.
type Piece struct {
	Name         string
	Section      geom.Region // sides square to each other; ignored where Ring is set
	Ring         *Ring
	FromZM, ToZM float64
	SigmaSPerM   float64 // 0 for iron that does not conduct: see RespondIron
	Core         Core
}

// Core says where along z the field of a long piece matters; the zero value where all of it does.
type Core struct {
	HalfM float64 // to either side of its middle
	StepM float64 // layers there; beyond they grow
}

// Ring is a section between two circles, with a slit of parallel sides centred on its own +y
// where SlitM > 0.
type Ring struct {
	Centre                geom.Point
	InnerM, OuterM, SlitM float64 // radii, width
	TurnRad               float64
}

// Source is a flux density in empty space, T per unit of the source.
type Source func(q geom.Point3) geom.Point3

// Options steer the solver. The zero value is usable.
type Options struct {
	MaxCells int // of a mesh; 0 means 3000
	// Work is what responses and readings take from; nil: there is no end of it.
	Work *work.Budget
}

const standardCells = 3000

// InputError says what is wrong with a piece.
type InputError struct {
	Piece string
	What  string
}

func (e *InputError) Error() string { return fmt.Sprintf("%q: %s", e.Piece, e.What) }

// TooLargeError says that the mesh would have more cells than allowed.
type TooLargeError struct{ Cells, Max int }

func (e *TooLargeError) Error() string {
	return fmt.Sprintf("the walls need %d cells, %d are allowed", e.Cells, e.Max)
}

// Problem is an arrangement of walls with its two meshes. It may be used from several
// goroutines.
type Problem struct {
	levels [2]*level // coarse, fine
	work   *work.Budget
}

// New meshes the pieces twice. points are the places where the field matters.
func New(pieces []Piece, points []geom.Point3, opt Options) (*Problem, error) {
	if opt.MaxCells == 0 {
		opt.MaxCells = standardCells
	}
	if len(pieces) == 0 {
		return nil, &InputError{What: "no pieces"}
	}
	for i := range pieces {
		if p := &pieces[i]; !(p.ToZM > p.FromZM) || !(p.SigmaSPerM >= 0) || math.IsInf(p.ToZM-p.FromZM, 0) {
			return nil, &InputError{p.Name, "depth must be positive and finite, conductivity not negative"}
		}
	}
	for _, scale := range sparing {
		fine, err := build(pieces, points, scale, opt.MaxCells)
		var large *TooLargeError
		if errors.As(err, &large) && scale > sparing[len(sparing)-1] {
			continue
		}
		if err != nil {
			return nil, err
		}
		coarse, err := build(pieces, points, coarseScale*scale, opt.MaxCells)
		if err != nil {
			return nil, err
		}
		return &Problem{levels: [2]*level{newLevel(coarse), newLevel(fine)}, work: opt.Work}, nil
	}
	panic("eddy: no mesh tried")
}

// sparing are the scales of the fine mesh that are tried one after the other until one is small
// enough. The bounds grow with what the two meshes differ.
var sparing = [...]float64{1, 0.85, 0.72}

// Cells returns the number of cells of the coarse and of the fine mesh.
func (p *Problem) Cells() (coarse, fine int) {
	return len(p.levels[0].m.cells), len(p.levels[1].m.cells)
}

// build lays out the cells of all pieces; only the upper half where they share a mid-plane.
func build(pieces []Piece, points []geom.Point3, scale float64, most int) (*mesh, error) {
	m := &mesh{mirror: sharePlane(pieces)}
	if m.mirror {
		m.midM = (pieces[0].FromZM + pieces[0].ToZM) / 2
	}
	sections := make([]*section, len(pieces))
	layers := make([][]float64, len(pieces))
	cells := 0
	for i := range pieces {
		p := &pieces[i]
		g := p.grading(points, scale)
		var err error
		if sections[i], err = newSection(p, g); err != nil {
			return nil, err
		}
		layers[i] = p.heights(g, m.mirror, m.midM)
		cells += len(sections[i].quads) * (len(layers[i]) - 1)
	}
	if cells > most {
		return nil, &TooLargeError{cells, most}
	}
	for i := range pieces {
		m.add(int32(i), sections[i], layers[i], 1/pieces[i].SigmaSPerM)
	}
	m.finish()
	return m, nil
}

// box returns the box about the section of p.
func (p *Piece) box() geom.Box {
	if r := p.Ring; r != nil {
		return geom.Box{Min: r.Centre, Max: r.Centre}.Grow(r.OuterM)
	}
	return p.Section.Box()
}

// grading returns the sizes for p: a sixth of its larger side, and no more than its distance
// to a point of interest, down to a twentieth.
func (p *Piece) grading(points []geom.Point3, scale float64) grading {
	size := p.box().Size()
	extent := math.Max(size.X, size.Y)
	far := extent / 6
	for _, q := range points {
		far = math.Min(far, math.Max(p.distanceM(q), extent/20))
	}
	return grading{scale: scale, farM: far}
}

func (p *Piece) distanceM(q geom.Point3) float64 {
	over := math.Max(0, math.Max(p.FromZM-q.Z, q.Z-p.ToZM))
	if r := p.Ring; r != nil {
		rho := q.XY().Sub(r.Centre).Norm()
		return portable.Hypot(over, math.Max(0, math.Max(r.InnerM-rho, rho-r.OuterM)))
	}
	return portable.Hypot(over, p.Section.DistanceM(q.XY()))
}

// heights returns the layers of p, crowded towards its ends; from the mid-plane up with a
// mirror.
func (p *Piece) heights(g grading, mirror bool, midM float64) []float64 {
	depth := p.ToZM - p.FromZM
	size := p.box().Size()
	width := math.Max(size.X, size.Y)
	half := g.halfCount(depth, width)
	if p.Core.StepM > 0 {
		return p.grown(g, mirror)
	}
	if !mirror {
		z := crowded(2 * half)
		for i := range z {
			z[i] = p.FromZM + float64(depth*z[i])
		}
		return z
	}
	z := make([]float64, half+1)
	for i := range z {
		z[i] = midM + float64(depth/2*portable.Sin(math.Pi/2*float64(i)/float64(half)))
	}
	z[0], z[half] = midM, p.ToZM
	return z
}

// grown returns the layers of a piece with a core: equal within, each coreGrowth of the one before beyond.
func (p *Piece) grown(g grading, mirror bool) []float64 {
	half := (p.ToZM - p.FromZM) / 2
	core := math.Min(p.Core.HalfM, half)
	n := max(1, int(math.Round(core/p.Core.StepM*g.scale)))
	z := []float64{0}
	for i := range n {
		z = append(z, core*float64(i+1)/float64(n))
	}
	growth := portable.Pow(coreGrowth, 1/g.scale)
	for step := float64(core / float64(n) * growth); z[len(z)-1]+float64(1.5*step) < half; step = float64(step * growth) {
		z = append(z, z[len(z)-1]+step)
	}
	if half > core {
		z = append(z, half)
	}
	mid := (p.FromZM + p.ToZM) / 2
	var out []float64
	for i := len(z) - 1; i > 0 && !mirror; i-- {
		out = append(out, mid-z[i])
	}
	for _, v := range z {
		out = append(out, mid+v)
	}
	return out
}

const coreGrowth = 1.6

// halfCount is the number of layers in half the depth: three where the piece is flat, five where
// that is half the width, a few more beyond, since the ends alone want small ones.
func (g grading) halfCount(depthM, widthM float64) int {
	k := depthM / widthM
	n := 3 + 2*min(1, 2*k) + float64(1.5*portable.Log(max(1, k)))
	return max(2, int(math.Round(n*g.scale)))
}

func (m *mesh) add(piece int32, s *section, z []float64, rho float64) {
	base, n := int32(len(m.nodes)), int32(len(s.pts))
	for _, h := range z {
		for _, p := range s.pts {
			m.nodes = append(m.nodes, p.Space(h))
		}
	}
	for l := range len(z) - 1 {
		low := base + int32(l)*n
		for _, q := range s.quads {
			a, b, c, d := low+q[0], low+q[1], low+q[2], low+q[3]
			m.cells = append(m.cells, [8]int32{a, b, d, c, a + n, b + n, d + n, c + n})
			m.piece, m.rho = append(m.piece, piece), append(m.rho, rho)
		}
	}
	height := z[len(z)-1] - z[0]
	for _, o := range s.holes {
		h := hole{rims: map[[2]int32]float64{}, area: o.area, partM2: o.partM2, from: z[0], to: z[len(z)-1]}
		for l := range len(z) - 1 {
			for _, k := range o.rim {
				a := base + int32(l)*n + k
				h.rims[[2]int32{a, a + n}] = (z[l+1] - z[l]) / height
			}
		}
		m.holes = append(m.holes, h)
	}
}

// sharePlane reports whether all pieces have the same mid-plane.
func sharePlane(pieces []Piece) bool {
	mid := pieces[0].FromZM + pieces[0].ToZM
	for _, p := range pieces {
		if math.Abs(p.FromZM+p.ToZM-mid) > 1e-9*(p.ToZM-p.FromZM) {
			return false
		}
	}
	return true
}
