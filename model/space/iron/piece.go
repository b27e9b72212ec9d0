package iron

import (
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/material"
	"busgauss/model/work"
)

// Piece is a prism of iron along z: a plane section between two heights. Pieces lie
// apart from each other.
type Piece struct {
	Name         string
	Section      geom.Region
	Ring         *Ring // of a piece between circles, whose section is then a polygon near it; else nil
	FromZM, ToZM float64
	MuRel        float64         // relative permeability, above 1; unused when Curve is given and saturation asked for
	Curve        *material.Curve // nil: linear
	Long         bool            // goes on far beyond what stands beside it: layers are thin there alone
}

// Source returns the flux density in tesla that its currents and magnets have in
// empty space at p, per unit of the source (per ampere of a bar, say). It must be a
// pure function, finite in the iron, and may be called from several goroutines.
type Source func(p geom.Point3) geom.Point3

// Options steer the meshes. The zero value is usable.
type Options struct {
	// Certainty is the relative bound aimed at for fields outside and wall flux
	// densities; 0 means 0.01. The bounds that come out may be larger.
	Certainty float64
	// MaxNodes is the ceiling on unknowns of the finest system; 0 means 2600, which
	// stays below 300 MB.
	MaxNodes int
	// MaxUnlike is that on the root of the sum of squares of the unknowns of unlike pieces, whose full matrices take the
	// memory; 0 means none.
	MaxUnlike int
	// Work is what kernels and readings take from, and Shelf is where kernels are kept; nil: there is no end of either.
	Work  *work.Budget
	Shelf *work.Shelf
}

const (
	defaultCertainty = 0.01
	defaultMaxNodes  = 2600
)

func (o Options) resolved() (Options, error) {
	if o.Certainty == 0 {
		o.Certainty = defaultCertainty
	}
	if !(o.Certainty > 0 && o.Certainty < 1) {
		return o, &InputError{What: "certainty must lie between 0 and 1"}
	}
	if o.MaxNodes == 0 {
		o.MaxNodes = defaultMaxNodes
	}
	return o, nil
}

// InputError says what is wrong with a piece or an option.
type InputError struct {
	Piece string // empty: no single piece
	What  string
}

func (e *InputError) Error() string {
	if e.Piece == "" {
		return "iron: " + e.What
	}
	return fmt.Sprintf("iron: piece %s: %s", e.Piece, e.What)
}

// TooLargeError says that the meshes need more unknowns than the ceiling.
type TooLargeError struct {
	Nodes, Max int
	Saturating bool // the ceiling is that of states
}

func (e *TooLargeError) Error() string {
	return fmt.Sprintf("iron: %d unknowns are above the ceiling of %d", e.Nodes, e.Max)
}

func checkPieces(pieces []Piece) error {
	for i := range pieces {
		p := &pieces[i]
		bad := func(what string) error { return &InputError{p.Name, what} }
		switch {
		case !(p.ToZM > p.FromZM) || math.IsInf(p.ToZM-p.FromZM, 0):
			return bad("depth must be positive and finite")
		case len(p.Section.Outer) < 3 || !(p.Section.AreaM2() > 0):
			return bad("section has no area")
		case p.Curve == nil && !(p.MuRel > 1 && !math.IsInf(p.MuRel, 1)):
			return bad("relative permeability must be above 1 and finite")
		}
		for j := range pieces[:i] {
			q := &pieces[j]
			if p.FromZM < q.ToZM && q.FromZM < p.ToZM && geom.OverlapRegions(p.Section, q.Section) {
				return bad("overlaps piece " + q.Name)
			}
		}
	}
	return nil
}

// muRel returns the permeability for linear problems.
func (p *Piece) muRel() float64 {
	if p.MuRel > 0 {
		return p.MuRel
	}
	return p.Curve.MuRelInitial()
}
