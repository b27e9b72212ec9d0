package decouple

import "busgauss/model/portable"

// LeftoverOf returns what is left where the fit is used while a holds, for currents
// whose known sums are zero. Among such currents an error E_jk is settled but for
// multiples of the sums, which change nothing:
//
//	E = Inverse · a − 1 + X · zero
//
// Each row of X is the one that makes Σ|E_jk|² over k ≠ j least, so that what the
// own current explains counts as its own: of a go and return pair whose sum is
// zero, all of it. Without sums it is the function LeftoverOf.
func (f *Fit) LeftoverOf(a [][]complex128) Leftover {
	l := LeftoverOf(f.Inverse, a)
	if len(f.zero) == 0 {
		return l
	}
	for j := range l.E {
		l.E[j] = f.least(l.E[j], j)
	}
	return l
}

// least adds multiples of the sums to the error row of circuit j.
func (f *Fit) least(row []complex128, j int) []complex128 {
	if len(row) == 1 {
		return row
	}
	var others, want [][]complex128 // a row for each other circuit
	for k, v := range row {
		if k == j {
			continue
		}
		var coefficients []complex128
		for q := range f.zero {
			coefficients = append(coefficients, f.zero[q][k])
		}
		others, want = append(others, coefficients), append(want, []complex128{-v})
	}
	e := embedding{complex: !isReal(others) || !isReal(want)}
	inverse, _ := pseudoInverse(e.of(others))
	factors := e.back(product(inverse, e.of(want)), len(f.zero), 1)
	out := make([]complex128, len(row))
	for k, v := range row {
		sum, terms := v, portable.Abs(v)
		for q := range f.zero {
			term := portable.Times(factors[q][0], f.zero[q][k])
			sum += term
			terms += portable.Abs(term)
		}
		out[k] = complex(beyond(real(sum), terms), beyond(imag(sum), terms))
	}
	return out
}

// Worst is the function Worst with LeftoverOf of the fit.
func (f *Fit) Worst(matrices [][][]complex128) []ChannelExtremes {
	return worst(len(f.Inverse), matrices, f.LeftoverOf)
}
