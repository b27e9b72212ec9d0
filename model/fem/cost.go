package fem

import (
	"fmt"

	"busgauss/model/sparse"
)

// Steps of work, of an unknown where nothing else is said: rounded up from times of the example layouts, a thousand millions a
// second of one processor, which does ten in dense matrices.
const (
	meshSteps     = 3000 // mesh, elements and the analysis of the matrix
	estimateSteps = 200  // the error of one source
	faceSteps     = 60   // the field of an edge of iron at a point
	eddySteps     = 200  // that of a conducting triangle
	curveSteps    = 600  // that of a triangle of saturating iron
	tangentSteps  = 1200 // tangent and residuals of such a triangle in a step of Newton's method
)

// price is what a solution costs on its grid, in steps, and the bytes that it keeps.
type price struct {
	unknowns       int
	solve          float64 // mesh, factor, sources and sensors
	factor         float64 // one factorisation
	dual           float64 // one adjoint solution with its estimates
	point          float64 // the field of all sources at a point, without bounds
	bytes, factorB float64
}

// priceOf returns the price on a grid for so many sources and sensors; width is 1 for real numbers, 4 for products of complex
// ones.
func (g *grid) priceOf(width float64, sources, sensors, conducting, curved int) price {
	n := float64(g.n)
	sym := g.matrix().sym
	fill := float64(sym.FactorNonzeros())
	factor := width*sym.Flops()/10 + float64(20*n)
	side := width*fill/2 + float64(estimateSteps*n) // one right-hand side
	points := float64(faceSteps*float64(len(g.surface))) + float64(eddySteps*float64(conducting)) + float64(curveSteps*float64(curved))
	scalar := 8 * (1 + width/4)
	p := price{unknowns: g.n, factor: factor, dual: 2*side + float64(4*n*float64(sources))}
	p.point = points + float64(float64(sources)*(float64(10*float64(len(g.surface)))+float64(20*float64(conducting))))
	p.solve = float64(meshSteps*n) + factor + float64(float64(sources)*side) + float64(float64(sensors)*(p.dual+points))
	// A drive and a reaction hold a number an unknown, an estimate one for each of half as many triangles.
	p.bytes = float64(n*(100+float64(float64(sources)*(8+scalar+4)))) + float64(100*float64(conducting))
	p.factorB = float64(sym.Bytes(width > 1))
	return p
}

// what names a plane solution of n unknowns.
func what(n int, of string) string {
	return fmt.Sprintf("%s of %d unknowns in the plane section", of, n)
}

// widthOf is how many real products one of T takes.
func widthOf[T sparse.Scalar]() float64 {
	if _, ok := any(*new(T)).(complex128); ok {
		return 4
	}
	return 1
}

// cost implements engine; it is told once.
func (l *linear[T]) cost() price {
	if l.priced.unknowns == 0 {
		l.priced = l.priceNow()
	}
	return l.priced
}

func (l *linear[T]) priceNow() price {
	return l.s.g.priceOf(widthOf[T](), len(l.r.drives), len(l.p.Sensors), len(l.conducting), len(l.s.tangent))
}

// take takes steps for an answer of a solution that takes its own; false where they are not there.
func (l *linear[T]) take(steps float64) bool {
	return l.work == nil || l.work.Take(steps, what(l.s.g.n, "an answer of a solution")) == nil
}

// again is what the factor takes where it was let go.
func (l *linear[T]) again() float64 {
	if l.s.factor != nil {
		return 0
	}
	return l.cost().factor + meshSteps*float64(l.s.g.n)/2
}
