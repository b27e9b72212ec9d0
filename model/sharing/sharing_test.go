package sharing

import (
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"reflect"
	"testing"
)

func diagonal(r ...float64) [][]complex128 {
	z := make([][]complex128, len(r))
	for i := range z {
		z[i] = make([]complex128, len(r))
		z[i][i] = complex(r[i], 0)
	}
	return z
}

func mustMatrix(t *testing.T, z [][]complex128, circuits ...Circuit) [][]complex128 {
	t.Helper()
	m, err := Matrix(z, circuits)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func near(t *testing.T, what string, got, want complex128, tol float64) {
	t.Helper()
	if !(cmplx.Abs(got-want) <= tol) {
		t.Errorf("%s is %.9g, want %.9g within %.3g", what, got, want, tol)
	}
}

// Legs of 60 × 10 and 30 × 10 mm copper, the second 20 K warmer, α = 0.00393/K at
// 20 °C (IEC 60028). By hand: conductances as 600 to 300/1.0786 = 278.138, so shares
// 0.683264 and 0.316736. Rounded to six digits, hence the tolerance.
func TestDirectCurrentByHand(t *testing.T) {
	r := func(areaM2, riseK float64) float64 { return (1 + 0.00393*riseK) / (58e6 * areaM2) }
	m := mustMatrix(t, diagonal(r(600e-6, 0), r(300e-6, 20)), Circuit{Bars: []int{0, 1}})
	near(t, "cool leg", m[0][0], 0.683264, 5e-7)
	near(t, "warm leg", m[1][0], 0.316736, 5e-7)
}

// A coil and a resistor side by side, by hand: Z = j over 1 + j and 1 over 1 + j;
// coupled by 0.5j they have I0 + 0.5j I1 = 0.5j I0 + j I1, so I0 = 0.5j where I0 + I1 = 1.
func TestComplexByHand(t *testing.T) {
	m := mustMatrix(t, [][]complex128{{1, 0}, {0, 1i}}, Circuit{Bars: []int{0, 1}})
	near(t, "resistor", m[0][0], 0.5+0.5i, 1e-15)
	near(t, "coil", m[1][0], 0.5-0.5i, 1e-15)
	m = mustMatrix(t, [][]complex128{{1, 0.5i}, {0.5i, 1i}}, Circuit{Bars: []int{0, 1}})
	near(t, "resistor coupled", m[0][0], 0.5i, 1e-15)
	near(t, "coil coupled", m[1][0], 1-0.5i, 1e-15)
}

// A bar beside a pair of legs of equal R + jX: the loop has 2(R + jX − jM) and the
// voltages of its sides differ by j(m0 − m1), by hand.
func TestCirculating(t *testing.T) {
	z := [][]complex128{{1 + 2i, 0.5i, 0.75i}, {0.5i, 1 + 2i, 0.25i}, {0.75i, 0.25i, 1 + 2i}}
	m := mustMatrix(t, z, Circuit{Bars: []int{2}, Factors: []float64{-1}}, Circuit{Bars: []int{0, 1}})
	round := 0.5i / (2 * (1 + 1.5i)) // driven by −1 A
	for b, row := range [][]complex128{{round, 0.5}, {-round, 0.5}, {-1, 0}} {
		for c := range row {
			near(t, "entry", m[b][c], row[c], 1e-15)
		}
	}
}

func TestSeriesAndDeclared(t *testing.T) {
	z := diagonal(math.NaN(), 0, 0, 0, 0) // rows of fixed bars are not read
	series, shares := Circuit{[]int{0, 3}, []float64{1, -1}}, Circuit{[]int{2, 1}, []float64{0.3, 0.7}}
	m := mustMatrix(t, z, series, shares)
	want := [][]complex128{{1, 0}, {0, 0.7}, {0, 0.3}, {-1, 0}, {0, 0}}
	if !reflect.DeepEqual(m, want) {
		t.Errorf("%v, want %v", m, want)
	}
	if m, err := Matrix(nil, nil); err != nil || len(m) != 0 {
		t.Errorf("of nothing: %v, %v", m, err)
	}
}

// randomImpedances are symmetric, with a positive definite real part.
func randomImpedances(r *rand.Rand, n int) [][]complex128 {
	z := diagonal(make([]float64, n)...)
	for i := range n {
		for j := range i {
			z[i][j] = complex(0.1*r.NormFloat64(), r.NormFloat64()) / 10
			z[j][i] = z[i][j]
		}
		z[i][i] = complex(1+r.Float64(), 1+r.Float64())
	}
	return z
}

// What the matrix says obeys both laws, with a constant added to all impedances too;
// a swap of legs swaps rows; identical legs in symmetric places get equal halves.
func TestLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	const n = 8
	circuits := []Circuit{
		{Bars: []int{5, 1, 2}}, {Bars: []int{0, 7}, Factors: []float64{1, -1}}, {Bars: []int{3, 4}}, {Bars: []int{6}},
	}
	for range 50 {
		z := randomImpedances(r, n)
		m := mustMatrix(t, z, circuits...)
		for c := range circuits {
			for g := range circuits {
				if circuits[g].Factors != nil {
					continue
				}
				var sum complex128
				voltages := make([]complex128, 0, 3)
				for _, b := range circuits[g].Bars {
					var u complex128
					for k := range n {
						u += z[b][k] * m[k][c]
					}
					voltages = append(voltages, u)
					sum += m[b][c]
				}
				want := complex128(0)
				if g == c {
					want = 1
				}
				near(t, "sum", sum, want, 1e-14)
				for _, u := range voltages {
					near(t, "voltage", u, voltages[0], 1e-13)
				}
			}
		}
		shifted := make([][]complex128, n)
		for i := range z {
			for _, v := range z[i] {
				shifted[i] = append(shifted[i], 1e-3*(v+3-40i)) // and in other units
			}
		}
		again := mustMatrix(t, shifted, circuits...)
		swapped := mustMatrix(t, z, circuits[2], Circuit{Bars: []int{2, 5, 1}}, circuits[1], circuits[3])
		for b := range n {
			for c, at := range []int{1, 2, 0, 3} {
				near(t, "with a constant", again[b][c], m[b][c], 1e-12) // 40 of 1 takes two digits
				near(t, "in another order", swapped[b][at], m[b][c], 1e-13)
			}
		}
	}
	twins := mustMatrix(t, [][]complex128{{2 + 3i, 1i}, {1i, 2 + 3i}}, Circuit{Bars: []int{0, 1}})
	near(t, "twin", twins[0][0], 0.5, 1e-15)
	near(t, "twin", twins[1][0], 0.5, 1e-15)
}

func TestRefuses(t *testing.T) {
	both := Circuit{Bars: []int{0, 1}}
	fixed := Circuit{Bars: []int{2}, Factors: []float64{1}}
	var singular *Singular
	_, err := Matrix(diagonal(0, 0, 1, 2, 1), []Circuit{fixed, {Bars: []int{3, 4}}, both})
	if !errors.As(err, &singular) || singular.Circuit != 2 {
		t.Errorf("no resistance: %v", err)
	}
	if _, err := Matrix([][]complex128{{1i, 1i}, {1i, 1i}}, []Circuit{both}); !errors.As(err, &singular) {
		t.Errorf("one bar twice: %v", err)
	}
	m := mustMatrix(t, diagonal(0, 1), both)
	near(t, "the one without resistance", m[0][0], 1, 0)
	for _, v := range []complex128{complex(math.NaN(), 0), complex(0, math.Inf(1))} {
		z := diagonal(1, 1, 1)
		z[1][2] = v
		if _, err := Matrix(z, []Circuit{both, fixed}); !errors.Is(err, ErrNotFinite) {
			t.Errorf("%v: %v", v, err)
		}
	}
	for name, circuits := range map[string][]Circuit{
		"twice":   {both, {Bars: []int{1}, Factors: []float64{1}}},
		"none":    {{}},
		"unknown": {{Bars: []int{3}}},
		"factors": {{Bars: []int{0, 1}, Factors: []float64{1}}},
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			_, _ = Matrix(diagonal(1, 1, 1), circuits)
		}()
	}
}
