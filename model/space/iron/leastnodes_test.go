package iron

import (
	"errors"
	"testing"

	"busgauss/model/geom"
)

// The least number of nodes is that of corners and middles of edges at three heights, and no mesh has fewer; a problem whose
// drawing alone has too many is refused with it.
func TestLeastNodes(t *testing.T) {
	holed := geom.Region{Outer: geom.Rectangle(30*mm, 20*mm), Holes: []geom.Polygon{geom.Rectangle(10*mm, 5*mm)}}
	for _, c := range []struct {
		name   string
		pieces []Piece
		want   int
	}{
		{"plate", []Piece{piece(geom.Solid(geom.Rectangle(20*mm, 2*mm)))}, 2 * 4 * 3},
		{"plate with a hole", []Piece{piece(holed)}, 2 * 8 * 3},
		{"two", []Piece{piece(holed), piece(geom.Solid(geom.Channel(20*mm, 12*mm, 2*mm)).Place(geom.Point{X: 60 * mm}, 0))}, 2 * (8 + 8) * 3},
	} {
		if got := leastNodes(c.pieces); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
		g := standardGrading()
		g.scale = coarsest
		_, fine, err := buildPair(c.pieces, nil, g, true, Options{MaxNodes: defaultMaxNodes})
		if err != nil {
			t.Fatal(err)
		}
		if n := len(fine.nodes); !(n >= c.want) {
			t.Errorf("%s: the coarsest mesh has %d nodes, fewer than the least %d", c.name, n, c.want)
		}
		var large *TooLargeError
		if _, err := New(c.pieces, nil, Options{MaxNodes: c.want - 1}); !errors.As(err, &large) || large.Nodes != c.want {
			t.Errorf("%s with fewer allowed: %v", c.name, err)
		}
	}
	ring := piece(geom.Ring(20*mm, 2*mm, 0, 64))
	ring.Ring = &Ring{InnerM: 10 * mm, OuterM: 12 * mm}
	if got := leastNodes([]Piece{ring}); got != 0 {
		t.Errorf("a ring: %d, its corners are not those of the drawing", got)
	}
}

func piece(r geom.Region) Piece {
	return Piece{Name: "p", Section: r, FromZM: -10 * mm, ToZM: 10 * mm, MuRel: 1000}
}
