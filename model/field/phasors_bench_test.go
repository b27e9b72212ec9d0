package field

import (
	"testing"

	"busgauss/model/layout"
)

// Three short channels of sheet at four frequencies: the meshes, the steady field, and at each frequency what three
// sensors read of three bars and what the walls carry.
func BenchmarkShortSheetAtFrequencies(b *testing.B) {
	l := loaded(b, threeShort(15, 4, 18, 12, 1.5, 16, 32, sheet))
	b.ReportAllocs()
	for b.Loop() {
		m := NewModel(l)
		for _, hz := range []float64{50, 400, 3000, 20000} {
			f, err := m.Field(hz)
			if err != nil {
				b.Fatal(err)
			}
			for i := range l.Sensors {
				for c := range l.Circuits {
					f.PerAmpere(&l.Sensors[i], layout.CircuitIndex(c))
				}
			}
			for i := range l.Shields {
				if _, err := f.Wall(layout.ShieldIndex(i), []complex128{200, 200, 200}); err != nil {
					b.Fatal(err)
				}
			}
		}
	}
}
