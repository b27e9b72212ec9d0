package material

import (
	"fmt"
	"math"
	"sort"

	"busgauss/model/si"
)

// Interpolation says how a Curve runs between its points.
type Interpolation uint8

const (
	// Linear joins the points by straight lines in (H, B). The tests against
	// published and recomputed values use it, because those values did.
	Linear Interpolation = iota
	// Cubic is the monotone piecewise cubic H(B) of Fritsch and Butland: its
	// slope is continuous, which Newton's method likes, and it never overshoots.
	Cubic
)

// CurvePoint is a point of a magnetisation curve.
type CurvePoint struct{ FieldAPerM, FluxDensityT float64 }

// Curve is a single-valued magnetisation curve, odd in H, through the origin.
// Beyond its last point the slope is μ0:
//
//	B = B_last + μ0 (H − H_last)
//
// A Curve does not change once made and may be shared.
type Curve struct {
	h, b   []float64 // strictly increasing, from 0
	slope  []float64 // Cubic: dH/dB at the points
	interp Interpolation
}

// CurveError says which point of a curve is unusable and why.
type CurveError struct {
	Point  int // index into the points given, -1 for the whole
	Reason string
}

// Error returns the reason.
func (e *CurveError) Error() string {
	if e.Point < 0 {
		return e.Reason
	}
	return fmt.Sprintf("point %d of the curve: %s", e.Point+1, e.Reason)
}

// NewCurve returns the curve through the points, which must start at (0, 0) or
// at positive H and B (the origin is then added), and rise strictly in both.
// A piece that rises more slowly than B = μ0 H, which no material does, is
// followed as given; BelowVacuum tells.
func NewCurve(points []CurvePoint, interp Interpolation) (*Curve, error) {
	c := &Curve{h: []float64{0}, b: []float64{0}, interp: interp}
	for i, p := range points {
		switch {
		case math.IsNaN(p.FieldAPerM) || math.IsInf(p.FieldAPerM, 0) || math.IsNaN(p.FluxDensityT) || math.IsInf(p.FluxDensityT, 0):
			return nil, &CurveError{i, "not a number"}
		case p.FieldAPerM < 0 || p.FluxDensityT < 0:
			return nil, &CurveError{i, "negative field or flux density"}
		case i == 0 && p == CurvePoint{}:
			continue
		}
		n := len(c.h) - 1
		dh, db := p.FieldAPerM-c.h[n], p.FluxDensityT-c.b[n]
		if !(dh > 0 && db > 0) {
			return nil, &CurveError{i, "field and flux density must both rise"}
		}
		c.h, c.b = append(c.h, p.FieldAPerM), append(c.b, p.FluxDensityT)
	}
	if len(c.h) < 2 {
		return nil, &CurveError{-1, "a curve needs a point besides the origin"}
	}
	if interp == Cubic {
		c.slopes()
	}
	return c, nil
}

// slopes sets the end slopes of the cubic pieces: inside, the weighted harmonic
// mean of the two secants; at the ends, the secant and 1/μ0.
//
// Source: F. N. Fritsch, J. Butland, A method for constructing local monotone
// piecewise cubic interpolants, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304.
func (c *Curve) slopes() {
	n := len(c.b)
	c.slope = make([]float64, n)
	secant := func(i int) float64 { return (c.h[i+1] - c.h[i]) / (c.b[i+1] - c.b[i]) }
	c.slope[0] = secant(0)
	for i := 1; i < n-1; i++ {
		l, r := c.b[i]-c.b[i-1], c.b[i+1]-c.b[i]
		wl, wr := l+2*r, 2*l+r
		c.slope[i] = (wl + wr) / (wr/secant(i-1) + wl/secant(i))
	}
	// Three secants bound a monotone cubic.
	c.slope[n-1] = math.Min(1/si.Mu0HPerM, 3*secant(n-2))
}

// FieldAt returns the field H in A/m and its slope dH/dB in m/H at a flux
// density in tesla of either sign. On a corner of a Linear curve the slope is
// that of the piece above. NaN gives NaN.
func (c *Curve) FieldAt(fluxDensityT float64) (fieldAPerM, slopeMPerH float64) {
	b := math.Abs(fluxDensityT)
	n := len(c.b) - 1
	if b >= c.b[n] {
		return math.Copysign(c.h[n]+(b-c.b[n])/si.Mu0HPerM, fluxDensityT), 1 / si.Mu0HPerM
	}
	if math.IsNaN(b) {
		return math.NaN(), math.NaN()
	}
	i := sort.SearchFloat64s(c.b, b) // first index with c.b[i] >= b
	if c.b[i] > b {
		i--
	}
	h, slope := c.between(i, b)
	return math.Copysign(h, fluxDensityT), slope
}

// between is FieldAt between points i and i+1.
func (c *Curve) between(i int, b float64) (h, slope float64) {
	db := c.b[i+1] - c.b[i]
	secant := (c.h[i+1] - c.h[i]) / db
	t := (b - c.b[i]) / db
	if c.interp == Linear {
		return c.h[i] + float64(secant*(b-c.b[i])), secant
	}
	s0, s1 := c.slope[i], c.slope[i+1]
	// Hermite form relative to the first point.
	p, q := float64(3*secant)-2*s0-s1, s0+s1-2*secant
	return c.h[i] + float64(db*t*(s0+float64(t*(p+float64(t*q))))), s0 + float64(t*(2*p+float64(3*t*q)))
}

// Reluctivity returns ν = H/B in m/H and dν/d(B²) in m/(H T²) at |B| squared.
func (c *Curve) Reluctivity(fluxDensitySquaredT2 float64) (nu, slope float64) {
	b := math.Sqrt(fluxDensitySquaredT2)
	if b <= 1e-9*c.b[1] {
		_, s := c.FieldAt(0)
		return s, 0
	}
	h, dh := c.FieldAt(b)
	nu = h / b
	return nu, (dh - nu) / (2 * fluxDensitySquaredT2)
}

// FluxDensityAtT returns B in tesla at a field in A/m of either sign, the inverse
// of FieldAt; for a Cubic curve by Newton's
// method, held between bisection's ends, to the last digits.
func (c *Curve) FluxDensityAtT(fieldAPerM float64) float64 {
	h := math.Abs(fieldAPerM)
	n := len(c.h) - 1
	if h >= c.h[n] {
		return math.Copysign(c.b[n]+float64(si.Mu0HPerM*(h-c.h[n])), fieldAPerM)
	}
	if math.IsNaN(h) {
		return math.NaN()
	}
	i := max(sort.SearchFloat64s(c.h, h)-1, 0)
	if c.interp == Linear {
		return math.Copysign(c.b[i]+(h-c.h[i])*(c.b[i+1]-c.b[i])/(c.h[i+1]-c.h[i]), fieldAPerM)
	}
	lo, hi := c.b[i], c.b[i+1]
	b := lo + (h-c.h[i])*(hi-lo)/(c.h[i+1]-c.h[i])
	for range 60 {
		v, slope := c.between(i, b)
		if v < h {
			lo = b
		} else {
			hi = b
		}
		next := b - (v-h)/slope
		if !(lo < next && next < hi) {
			next = (lo + hi) / 2
		}
		done := math.Abs(next-b) <= 1e-14*next
		b = next
		if done {
			break
		}
	}
	return math.Copysign(b, fieldAPerM)
}

// MuRelMax returns the largest relative permeability B/(μ0 H) at the points of
// the curve and the flux density, in tesla, where it occurs.
func (c *Curve) MuRelMax() (muRel, atT float64) {
	for i := 1; i < len(c.h); i++ {
		if m := c.b[i] / (si.Mu0HPerM * c.h[i]); m > muRel {
			muRel, atT = m, c.b[i]
		}
	}
	return muRel, atT
}

// MuRelInitial returns the relative permeability at the origin.
func (c *Curve) MuRelInitial() float64 {
	_, s := c.FieldAt(0)
	return 1 / (si.Mu0HPerM * s)
}

// BelowVacuum returns the lowest flux density, in tesla, from which the points
// rise more slowly than B = μ0 H by more than rounding: the table means
// something else there, or is wrong.
func (c *Curve) BelowVacuum() (fromT float64, ok bool) {
	for i := 1; i < len(c.h); i++ {
		// Tables print few digits; a thousandth is rounding.
		if c.b[i]-c.b[i-1] < 0.999*si.Mu0HPerM*(c.h[i]-c.h[i-1]) {
			return c.b[i-1], true
		}
	}
	return 0, false
}

// LastT returns the flux density in tesla of the last point given.
func (c *Curve) LastT() float64 { return c.b[len(c.b)-1] }

// Points returns the points of the curve, the origin first.
func (c *Curve) Points() []CurvePoint {
	out := make([]CurvePoint, len(c.h))
	for i := range out {
		out[i] = CurvePoint{c.h[i], c.b[i]}
	}
	return out
}
