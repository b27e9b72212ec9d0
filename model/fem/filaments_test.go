package fem

import (
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
)

// The filaments of a bar add up to nothing and, with the even density, to the field of the
// solution beside the bar.
func TestFilaments(t *testing.T) {
	p := &Problem{Pieces: []Piece{{Name: "A", Region: geom.Solid(geom.Rectangle(18e-3, 4e-3)), IsBar: true, SigmaSPerM: 58e6}}}
	s, err := Solve(p, 5000, Options{})
	if err != nil {
		t.Fatal(err)
	}
	q := geom.Point{X: 3e-3, Y: 5e-3}
	even := closedform.RectangleB(q, 18e-3, 4e-3, 1)
	sum, size := complex(0, 0), 0.0
	x, y := complex(even.X, 0), complex(even.Y, 0)
	for _, f := range s.Filaments() {
		sum += f.CurrentA[0]
		size += cmplx.Abs(f.CurrentA[0])
		b := closedform.FilamentB(q.Sub(f.At), 1)
		x += f.CurrentA[0] * complex(b.X, 0)
		y += f.CurrentA[0] * complex(b.Y, 0)
	}
	if !(size > 0.1) || !(cmplx.Abs(sum) < 1e-9) {
		t.Errorf("filaments of %g A in all add up to %g", size, sum)
	}
	wantX, wantY := s.Rough(q, 0)
	if off := math.Hypot(cmplx.Abs(x-wantX), cmplx.Abs(y-wantY)); !(off < 1e-5*cmplx.Abs(wantX)) {
		t.Errorf("field %g %g, want %g %g", x, y, wantX, wantY)
	}
	if math.Abs(real(x)/even.X-1) < 0.01 {
		t.Errorf("at 5 kHz the field is that of an even density")
	}
}
