package figure

import (
	"slices"
	"testing"

	"busgauss/model/geom"
)

// Things that look the same from the side share a label, and the name of a channel
// stands by a wall, not in the opening, where it would seem to name what lies there.
func TestLabelsOfThingsBehindEachOther(t *testing.T) {
	bar := []geom.Region{geom.Solid(geom.Rectangle(0.4, 0.003))}
	other := []geom.Region{geom.Solid(geom.Rectangle(0.2, 0.003).Place(geom.Point{Y: 0.03}, 0))}
	d := Drawing{Frame: Frame{ID: "side", Title: "side"}, Bars: []Part{{Name: "U", Regions: bar}, {Name: "V", Regions: bar}, {Name: "W", Regions: other}}}
	var texts []string
	for _, e := range parse(t, Draw(d)) {
		if e.attr["class"] == "fg-part" {
			texts = append(texts, e.text)
		}
	}
	slices.Sort(texts)
	if want := []string{"U, V", "W"}; !slices.Equal(texts, want) {
		t.Errorf("names %q, want %q", texts, want)
	}
	channel := Part{Name: "K", Regions: []geom.Region{geom.Solid(geom.Channel(0.02, 0.014, 0.001))}}
	d = Drawing{Frame: Frame{ID: "section", Title: "section"}, Shields: []Part{channel}}
	s := d.sheet()
	b, ok := channel.shown(s)
	if all := s.m.units(channel.box()); !ok || b.v1-b.v0 > 0.6*(all.v1-all.v0) && b.u1-b.u0 > 0.6*(all.u1-all.u0) {
		t.Errorf("the name stands by %v of %v", b, all)
	}
}

// A label covers of a channel what lies on its walls, and nothing in its opening.
func TestShareOfWalls(t *testing.T) {
	r := geom.Solid(geom.Channel(0.02, 0.014, 0.001))
	d := Drawing{Shields: []Part{{Regions: []geom.Region{r}}}}
	s := d.sheet()
	shape := body{s.m.units(r.Box()), r, s.m}
	middle := shape.centre()
	if got := shape.share(box{middle.u - 20, middle.v - 8, middle.u + 20, middle.v + 8}); got != 0 {
		t.Errorf("in the opening %g is covered", got)
	}
	if got := shape.share(box{shape.u0, shape.v0 + 30, shape.u0 + 4, shape.v0 + 60}); got != 1 {
		t.Errorf("on a leg %g is covered", got)
	}
}
