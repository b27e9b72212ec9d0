package plan

import "testing"

// Near the neck every triangle near by is a closed form; two widths away only
// the nodes of cells count.
func BenchmarkB(b *testing.B) {
	f := solve(b, bar(20, 3, -100, 100, neck(0, 10, 8)), Options{})
	for _, r := range []struct {
		name string
		y    float64
	}{{"near", 3.5}, {"width", 20}, {"two widths", 41.5}, {"far", 200}} {
		b.Run(r.name, func(b *testing.B) {
			for b.Loop() {
				f.B(mm(1.29, r.y, 0))
			}
		})
	}
}

func BenchmarkSolve(b *testing.B) {
	for b.Loop() {
		solve(b, bar(20, 3, -100, 100, neck(0, 10, 8)), Options{})
	}
}
