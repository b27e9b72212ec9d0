package load

import (
	"bytes"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/edit"
	"busgauss/schema/node"
)

// fullInPieces returns the file of every key in several, each with the sections that it refers to.
func fullInPieces(f *testing.F) [][]byte {
	f.Helper()
	text := full(f)
	root, problems := node.Parse("full.yaml", text, node.Limits{})
	if len(problems) > 0 {
		f.Fatal(lines(problems))
	}
	inLines := bytes.SplitAfter(text, []byte("\n"))
	var out [][]byte
	for _, p := range pieces {
		file := piece(root, append(p.changed[:len(p.changed):len(p.changed)], p.kept...)...)
		var one []byte
		for _, m := range file.Members {
			for k := m.KeySpan.Start.Line; k <= m.Value.Span.End.Line; k++ {
				if k == m.Value.Span.End.Line && m.Value.Span.End.Column == 1 {
					break
				}
				one = append(one, inLines[k-1]...)
			}
		}
		if _, problems := Load("piece.yaml", one); len(problems) > 0 {
			f.Fatalf("%s: %s", p.changed, lines(problems))
		}
		out = append(out, one)
	}
	return out
}

// FuzzLoad reads any text as a layout: a layout or problems, each inside the file and in words of the reader, and each change
// that a problem offers can be carried out.
func FuzzLoad(f *testing.F) {
	names, err := fixtures.Layouts()
	if err != nil {
		f.Fatal(err)
	}
	for _, name := range names {
		if text := fixture(f, name); len(text) < 1500 { // a large one is slow to read and slower to make small
			f.Add(text)
		}
	}
	for _, text := range fullInPieces(f) {
		f.Add(text)
	}
	f.Add([]byte(base))
	f.Add([]byte(joined))
	for _, keys := range []string{
		"run: [[20 mm, 0 mm, 150 mm], [20 mm, 0 mm, 50 mm], [0 mm, 0 mm, 50 mm], [0 mm, 0 mm, -50 mm]], cuts: [{hole: {along: -47 mm, diameter: 4 mm}}]",
		"cuts: [{neck: {length: 10 mm, width: 6 mm}}, {hole: {diameter: 7 mm}}, {notch: {along: 8 mm, length: 8 mm, depth: 12 mm, side: right}}]",
		"length: 60 mm, cuts: [{slot: {across: 1 mm, along: 25 mm, width: 3 mm, length: 20 mm}}]",
	} {
		f.Add([]byte(strings.Replace(base, "metal: copper}", "metal: copper, "+keys+"}", 1)))
	}
	for _, keys := range []string{
		"readout: {amplifier: {gain: -2, low: 0 V, high: 3 V}, divider: {top: 1 kohm, bottom: 1 kohm, place: before-amplifier}, channels: {SU: {converter: {low: -1 V, high: 1 V, bits: 12}}}}",
		"phase-sums: [{channels: [SU, SV, W], measured: two, ripple: 1 %}]\ncalibration: {all: {kind: one-point, conductor: ribbon, turns: 9, pitch: 2 mm}, SU: {kind: zero}}",
		"needs: {all: {trip: {current: 9 A, within: 9 us, by: output}, lag: {angle: 2 deg, at: 50 Hz}, battery: {charge: 40 mAh}}}\nreadout: {sampling: {rate: 9 kHz, carrier: 9 kHz, shift: -1 us}}",
	} {
		f.Add([]byte(channels + keys + "\n"))
	}
	for _, text := range []string{"", "{}", "layout: 1\nbar: {U: {}}\n", "bars: &a {U: *a}\n", "layout: 1\nbars: {U: {section: {outline: [[1 mm, 2 mm]]}}}", "{\"layout\": 1, \"bars\": {\"~/\": {\"a/b~\": 1}}}"} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 5000 {
			return
		}
		l, problems := Load("fuzz.yaml", data)
		if (l == nil) != (len(problems) > 0) {
			t.Fatalf("layout %v with %d problems", l != nil, len(problems))
		}
		last := lastLine(data)
		for _, p := range problems {
			if !p.Span.Valid() || p.Span.File != "fuzz.yaml" || p.Span.End.Line > last {
				t.Fatalf("%s at %+v in a file of %d lines", p.Message, p.Span, last)
			}
			if p.Message == "" || strings.ContainsAny(p.Message, "\n\r") || strings.Contains(p.Message, "does not fit the format") {
				t.Fatalf("message %q", p.Message)
			}
			for _, c := range p.Changes {
				if text, err := edit.Apply(string(data), c.Edits); err != nil || text == string(data) {
					t.Fatalf("%s: %q changes nothing, %v", p.Message, c.Title, err)
				}
			}
		}
		if l != nil {
			for _, a := range l.Assumed {
				if !a.Span.Valid() || a.Span.End.Line > last {
					t.Fatalf("%s at %+v", a.Text, a.Span)
				}
			}
		}
	})
}
