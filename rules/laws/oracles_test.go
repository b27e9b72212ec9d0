package laws

import (
	"math"
	"testing"
)

// Threads against what a field must be: round a whole bar the circulation is μ0 times its current
// (Ampère's law), and far away the bar is one thread.
func TestThreads(t *testing.T) {
	d := roll(3, 3)
	for k := range 40 {
		bar := obj("section", section(&draft{dice: d}), "at", place(0.01, -0.02), "turn", q(float64(k)*0.1, angle))
		threads := filaments(bar, 48)
		around, n := 0.0, 720
		for i := range n {
			phi := 2 * math.Pi * (float64(i) + 0.5) / float64(n)
			p := vec{0.01, -0.02}.plus(direction(phi).times(0.09))
			around += fieldOf(threads, p).dot(direction(phi+math.Pi/2)) * 2 * math.Pi * 0.09 / float64(n)
		}
		if math.Abs(around-mu0) > 1e-9*mu0 {
			t.Errorf("section %d: circulation %g of μ0", k, around/mu0)
		}
		far := fieldOfLength(threads, vec{5, 0}, 0, 1e4)
		if want := mu0 / (2 * math.Pi * 5); math.Abs(far.y-want) > 0.01*want {
			t.Errorf("section %d: %g T five metres away, want %g", k, far.y, want)
		}
	}
}
