package portable

import "math"

// Times returns a b, its four products rounded one by one.
func Times(a, b complex128) complex128 {
	return complex(
		float64(real(a)*real(b))-float64(imag(a)*imag(b)),
		float64(real(a)*imag(b))+float64(imag(a)*real(b)))
}

// Quotient returns a / b without overflow on the way. Where both parts of the result are not a number it is as the language
// has it: infinite for b = 0 and a ≠ 0, and so on.
//
// Source: R. L. Smith, Algorithm 116: Complex division, Communications of the ACM 5(8), 1962, p. 435; the operator / of Go
// does the same.
func Quotient(a, b complex128) complex128 {
	var re, im float64
	if math.Abs(real(b)) >= math.Abs(imag(b)) {
		ratio := imag(b) / real(b)
		d := real(b) + float64(ratio*imag(b))
		re, im = (real(a)+float64(imag(a)*ratio))/d, (imag(a)-float64(real(a)*ratio))/d
	} else {
		ratio := real(b) / imag(b)
		d := imag(b) + float64(ratio*real(b))
		re, im = (float64(real(a)*ratio)+imag(a))/d, (float64(imag(a)*ratio)-real(a))/d
	}
	if math.IsNaN(re) && math.IsNaN(im) {
		return extreme(a, b)
	}
	return complex(re, im)
}

// extreme returns a / b where the plain quotient is not a number: infinite or zero where that can be said.
//
// Source: ISO/IEC 9899:1999, annex G.5.1.
func extreme(a, b complex128) complex128 {
	finite := func(x complex128) bool { return !math.IsNaN(real(x)-real(x)) && !math.IsNaN(imag(x)-imag(x)) }
	infinite := func(x complex128) bool { return math.IsInf(real(x), 0) || math.IsInf(imag(x), 0) }
	switch {
	case b == 0 && !(math.IsNaN(real(a)) && math.IsNaN(imag(a))):
		of := math.Copysign(math.Inf(1), real(b))
		return complex(float64(of*real(a)), float64(of*imag(a)))
	case infinite(a) && finite(b):
		return scaled(math.Inf(1), Times(ones(a), complex(real(b), -imag(b))))
	case infinite(b) && finite(a):
		one := ones(b)
		return scaled(0, Times(a, complex(real(one), -imag(one))))
	}
	return complex(math.NaN(), math.NaN())
}

// ones returns x with each part 1 where it is infinite and else 0, of the same sign.
func ones(x complex128) complex128 {
	one := func(v float64) float64 {
		if math.IsInf(v, 0) {
			return math.Copysign(1, v)
		}
		return math.Copysign(0, v)
	}
	return complex(one(real(x)), one(imag(x)))
}

func scaled(by float64, x complex128) complex128 {
	return complex(float64(by*real(x)), float64(by*imag(x)))
}

// Abs returns the magnitude of x.
func Abs(x complex128) float64 { return Hypot(real(x), imag(x)) }

// Phase returns the angle of x in radians, from -π to π.
func Phase(x complex128) float64 { return Atan2(imag(x), real(x)) }

// Rect returns the complex number of magnitude r and angle theta in radians.
func Rect(r, theta float64) complex128 {
	s, c := Sincos(theta)
	return complex(float64(r*c), float64(r*s))
}

// ComplexTanh returns the hyperbolic tangent of a finite x = u + j v:
//
//	(sinh 2u + j sin 2v) / (cosh 2u + cos 2v)
//
// Beyond |u| = 350, where the parts overflow, the imaginary part is zero to every digit and the real part ±1.
//
// Source: the standard library of Go after Cephes, ctanh.
func ComplexTanh(x complex128) complex128 {
	if math.Abs(real(x)) > 350 {
		return complex(math.Copysign(1, real(x)), 0)
	}
	s, c := Sincos(2 * imag(x))
	d := Cosh(2*real(x)) + c
	return complex(Sinh(2*real(x))/d, s/d)
}

// ProductOf returns a b, rounded as Times does.
func ProductOf[T float64 | complex128](a, b T) T {
	if x, ok := any(a).(complex128); ok {
		return any(Times(x, any(b).(complex128))).(T)
	}
	return any(float64(any(a).(float64) * any(b).(float64))).(T)
}

// QuotientOf returns a / b, rounded as Quotient does.
func QuotientOf[T float64 | complex128](a, b T) T {
	if x, ok := any(a).(complex128); ok {
		return any(Quotient(x, any(b).(complex128))).(T)
	}
	return any(any(a).(float64) / any(b).(float64)).(T)
}
