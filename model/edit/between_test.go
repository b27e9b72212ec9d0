package edit

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/span"
)

// spot is the place of the nth occurrence of a word in source, from 1.
func spot(t *testing.T, source, word string, n int) span.Span {
	t.Helper()
	at := -1
	for range n {
		next := strings.Index(source[at+1:], word)
		if next < 0 {
			t.Fatalf("no %q in %q", word, source)
		}
		at += 1 + next
	}
	line := strings.Count(source[:at], "\n") + 1
	column := len([]rune(source[strings.LastIndex(source[:at], "\n")+1:at])) + 1
	return span.Span{File: "a.yaml", Start: span.Pos{Line: line, Column: column}, End: span.Pos{Line: line, Column: column + len([]rune(word))}}
}

func num(t *testing.T, source, word string, n int, v float64) layout.Num {
	t.Helper()
	return layout.Num{V: v, Set: true, Span: spot(t, source, word, n)}
}

// Each change is written in the unit and the quotes of the file, and nothing else.
func TestBetween(t *testing.T) {
	const source = "sensors:\n  S: {at: [0 mm, '5.5 mm'], axis: 180 deg} # the first\n  T: {at: [1 in, 6 mm], axis: [0, 1, 0]}\n"
	sensor := func(id string, x, y layout.Num, axis layout.Axis) layout.Sensor {
		return layout.Sensor{ID: id, Part: layout.None, At: layout.Place{X: x, Y: y, Z: layout.Num{V: math.NaN()}}, Axis: axis}
	}
	before := &layout.Layout{Sensors: []layout.Sensor{
		sensor("S", num(t, source, "0 mm", 1, 0), num(t, source, "'5.5 mm'", 1, 5.5e-3),
			layout.Axis{U: geom.Point3{X: -1}, AngleRad: num(t, source, "180 deg", 1, math.Pi)}),
		sensor("T", num(t, source, "1 in", 1, 25.4e-3), num(t, source, "6 mm", 1, 6e-3),
			layout.Axis{U: geom.Point3{Y: 1}, AngleRad: layout.Num{V: math.NaN()}, Span: spot(t, source, "[0, 1, 0]", 1)}),
	}}
	s, u := before.Sensors[0].Moved(geom.Point{X: 1e-21, Y: 0.7e-3}, math.Pi/60), before.Sensors[1].Moved(geom.Point{X: 2.54e-3}, math.Pi/2)
	after := before.WithSensor(0, s).WithSensor(1, u)
	edits, ok := Between(source, before, after)
	if !ok {
		t.Fatal("not written")
	}
	got, err := Apply(source, edits)
	want := "sensors:\n  S: {at: [0 mm, '6.2 mm'], axis: 183 deg} # the first\n  T: {at: [1.1 in, 6 mm], axis: [-1, 0, 0]}\n"
	if err != nil || got != want {
		t.Errorf("%v, got\n%s want\n%s", err, got, want)
	}
	if edits, ok := Between(source, before, before); ok {
		t.Errorf("no change gives %v", edits)
	}
	unset := before.Sensors[0]
	unset.At.Z = layout.Num{V: 1e-3}
	if edits, ok := Between(source, before, before.WithSensor(0, unset)); ok {
		t.Errorf("what the file does not have gives %v", edits)
	}
	if !Same(after, after) || Same(before, after) {
		t.Error("Same does not tell layouts apart")
	}
}

// A key that the file lacks goes behind the wall: in braces or on a line of its own.
func TestBetweenAddsASlit(t *testing.T) {
	for source, want := range map[string]string{
		"ring: {inner: 26 mm, wall: 1 mm}\n":                  "ring: {inner: 26 mm, wall: 1 mm, slit: 2 mm}\n",
		"ring: {wall: 1 mm, inner: 26 mm}\n":                  "ring: {wall: 1 mm, slit: 2 mm, inner: 26 mm}\n",
		"ring:\n  inner: 26 mm\n  wall: 1 mm # thin\nat: x\n": "ring:\n  inner: 26 mm\n  wall: 1 mm # thin\n  slit: 2 mm\nat: x\n",
	} {
		form := layout.Form{Kind: layout.Ring, WallM: num(t, source, "1 mm", 1, 1e-3)}
		before := &layout.Layout{Shields: []layout.Shield{{ID: "R", Form: form}}}
		form.SlitM = layout.Num{V: 2e-3, Set: true}
		after := &layout.Layout{Shields: []layout.Shield{{ID: "R", Form: form}}}
		edits, ok := Between(source, before, after)
		if got, err := Apply(source, edits); !ok || err != nil || got != want {
			t.Errorf("%v %v: %q, want %q", ok, err, got, want)
		}
	}
}
