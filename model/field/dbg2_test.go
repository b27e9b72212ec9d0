package field

import (
	"busgauss/schema/load"
	"fmt"
	"os"
	"testing"
	"time"
)

func TestDbgTime(t *testing.T) {
	b, _ := os.ReadFile(os.Getenv("LAYOUT"))
	l, _ := load.Load("x.yaml", b)
	m := NewModel(l)
	st := m.smallSignal()
	for _, hz := range []float64{0, 50, 20000} {
		l2 := *l
		for k := 0; k < 2; k++ {
			t0 := time.Now()
			s, err := solveWith(&l2, hz, 0.005, st, func(r muRange) float64 { return r.low })
			fmt.Println(hz, "with sensors", len(l2.Sensors), time.Since(t0), err, s.Unknowns, s.Levels)
			l3 := l2
			l3.Shields = nil
			t0 = time.Now()
			s, err = solveWith(&l3, hz, 0.005, nil, nil)
			fmt.Println(hz, "alone sensors", len(l2.Sensors), time.Since(t0), err, s.Unknowns, s.Levels)
			l2.Sensors = nil
		}
	}
}
