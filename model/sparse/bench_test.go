package sparse

import (
	"fmt"
	"runtime"
	"testing"
)

// Sizes of quadratic meshes: 10 201, 50 625 and 151 321 unknowns.
var benchSides = []int{50, 112, 194}

func BenchmarkAnalyse(b *testing.B) {
	for _, side := range benchSides {
		p := quadraticMesh(side, side)
		b.Run(fmt.Sprintf("n=%d", p.pattern.Size()), func(b *testing.B) {
			var s *Symbolic
			for b.Loop() {
				s = Analyse(p.pattern)
			}
			b.ReportMetric(float64(s.FactorNonzeros()), "entries")
			b.ReportMetric(s.Flops()/1e6, "Mflop")
		})
	}
}

func BenchmarkPattern(b *testing.B) {
	for _, side := range benchSides[:2] {
		b.Run(fmt.Sprintf("side=%d", side), func(b *testing.B) {
			for b.Loop() {
				quadraticMesh(side, side)
			}
		})
	}
}

func benchFactor[T Scalar](b *testing.B, values func(problem) []T) {
	for _, procs := range []int{1, 2} {
		for _, side := range benchSides {
			p := quadraticMesh(side, side)
			s := Analyse(p.pattern)
			v := values(p)
			b.Run(fmt.Sprintf("procs=%d/n=%d", procs, p.pattern.Size()), func(b *testing.B) {
				defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(procs))
				f, err := FactorNumeric(s, v, nil)
				if err != nil {
					b.Fatal(err)
				}
				for b.Loop() {
					if _, err = FactorNumeric(s, v, f); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(s.Flops()*float64(b.N)/b.Elapsed().Seconds()/1e9, "Gflop/s")
			})
		}
	}
}

func BenchmarkFactorReal(b *testing.B) {
	benchFactor(b, func(p problem) []float64 { return p.stiff })
}

func BenchmarkFactorComplex(b *testing.B) {
	benchFactor(b, func(p problem) []complex128 { return p.harmonic(100) })
}

func BenchmarkSolve(b *testing.B) {
	for _, side := range benchSides[:2] {
		p := quadraticMesh(side, side)
		s := Analyse(p.pattern)
		n := p.pattern.Size()
		real, err := FactorNumeric(s, p.stiff, nil)
		if err != nil {
			b.Fatal(err)
		}
		cplx, err := FactorNumeric(s, p.harmonic(100), nil)
		if err != nil {
			b.Fatal(err)
		}
		for _, nrhs := range []int{1, 8} {
			b.Run(fmt.Sprintf("real/n=%d/rhs=%d", n, nrhs), func(b *testing.B) {
				x := wave(n*nrhs, 1)
				for b.Loop() {
					real.Solve(x, nrhs)
				}
			})
			b.Run(fmt.Sprintf("complex/n=%d/rhs=%d", n, nrhs), func(b *testing.B) {
				x := complexWave(n*nrhs, 1)
				for b.Loop() {
					cplx.Solve(x, nrhs)
				}
			})
		}
	}
}
