package cli

import (
	"bytes"
	"encoding/gob"
	"errors"
	"reflect"
	"slices"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// somePart is a part of a run over two layouts, with a finding.
func somePart(number int) *partFile {
	return &partFile{
		Run: partRun{Version: version(), Processor: "amd64", Parts: 2, Arguments: []string{"."}, Remedies: "quick",
			Layouts: []partLayout{{Path: "a.yaml", RootPath: "a.yaml", Digest: "1"}, {Path: "b.yaml", RootPath: "b.yaml", Digest: "2"}}},
		Part: number,
		Outcomes: []partOutcome{{Layout: number - 1, Understood: true, Said: []partFinding{{Finding: finding.Finding{
			Rule: "stray-ratio", Verdict: finding.Fail, Level: finding.Error, Object: "S", Measure: &finding.Measure{Value: 0.2, Limit: 0.1, Unit: "1"},
			Changes: []finding.Change{{Title: "move it", Edits: []finding.Edit{{Text: "3 mm"}}}},
		}, Bits: [4]uint64{1, 2, 3, 4}}}}},
	}
}

// FuzzPart takes any bytes for what a part holds, with the digest that it would have, and merges it with a sound one: an
// error, or the outcome of every layout once. Without the digest nothing is read.
func FuzzPart(f *testing.F) {
	for number := range 3 {
		var body bytes.Buffer
		if err := gob.NewEncoder(&body).Encode(somePart(number)); err != nil {
			f.Fatal(err)
		}
		f.Add(body.Bytes())
	}
	f.Add([]byte{})
	inputs := []input{{File: report.File{Path: "a.yaml"}}, {File: report.File{Path: "b.yaml"}}}
	f.Fuzz(func(t *testing.T, body []byte) {
		if len(body) > 8000 {
			return
		}
		if _, err := partIn("x.part", body); err == nil {
			t.Fatal("bytes without the head of a part are read")
		}
		data := slices.Concat([]byte(partMagic+partSum(body)+"\n"), body)
		p, err := partIn("x.part", data)
		if err != nil {
			return
		}
		if why := p.Run.changed(p.Run); why != "" {
			t.Fatalf("a run is not the same as itself: %s", why)
		}
		p.Run.differs(&somePart(1).Run)
		// What is read can be written, and reads the same.
		again, err := p.bytes()
		if err != nil {
			t.Fatal(err)
		}
		q, err := partIn("y.part", again)
		if err != nil || !reflect.DeepEqual(p.Run, q.Run) || p.Part != q.Part || len(p.Outcomes) != len(q.Outcomes) {
			t.Fatalf("%+v comes back as %+v, %v", p, q, err)
		}
		outcomes, err := outcomesOf([]*partFile{somePart(2), p}, inputs, packAll)
		if err != nil {
			var failed *failure
			if !errors.As(err, &failed) {
				t.Fatal(err)
			}
			return
		}
		for i := range outcomes {
			for _, g := range outcomes[i].said {
				if g.Verdict == finding.Pass || g.Verdict == finding.NotApplicable {
					t.Fatalf("%s is not packed", g.Verdict)
				}
			}
		}
		settle(inputs, make([]layoutStandard, 2), outcomes, nil, &standardOptions{}, false)
	})
}

// FuzzKept takes any bytes for what the store holds of a layout: nothing, or an outcome that can be kept again.
func FuzzKept(f *testing.F) {
	var body bytes.Buffer
	if err := gob.NewEncoder(&body).Encode(&partFile{Outcomes: somePart(1).Outcomes}); err != nil {
		f.Fatal(err)
	}
	f.Add(body.Bytes())
	f.Add(body.Bytes()[:body.Len()/2])
	f.Fuzz(func(t *testing.T, body []byte) {
		if len(body) > 8000 {
			return
		}
		o, ok := outcomeIn(body)
		if !ok {
			return
		}
		if kept := o.kept(); len(kept.Said) != len(o.said) || kept.Understood != o.understood {
			t.Fatalf("%+v is kept as %+v", o, kept)
		}
	})
}
