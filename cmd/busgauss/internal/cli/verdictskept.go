package cli

import (
	"bytes"
	"compress/flate"
	"encoding/gob"
	"iter"
	"slices"
	"strings"
	"sync"

	"busgauss/model/finding"
	"busgauss/rules/engine"
)

// packFrom is the number of layouts from which on what passed and what did not apply is packed away until a report lists it: of
// thousands of layouts that is most of the memory.
const packFrom = 64

// packing is what becomes of the passes of a layout once it is judged.
type packing uint8

const (
	packNothing packing = iota // they stay as they are
	packCounts                 // no report lists them: their number is enough
	packAll                    // reports list them
)

// packing says what the reports that are asked for need of the passes of so many layouts.
func (o *checkOptions) packing(targets []target, layouts int) packing {
	if layouts < packFrom || o.since != "" {
		return packNothing
	}
	if o.lists(o.format) || slices.ContainsFunc(targets, func(t target) bool { return o.lists(t.format) }) {
		return packAll
	}
	return packCounts
}

// lists reports whether a report of a format lists what passed.
func (o *checkOptions) lists(format string) bool {
	switch format {
	case "json", "junit", "sarif-audit":
		return true
	case "text":
		return !o.quiet && (o.passes || o.detail)
	case "markdown":
		return o.passes
	}
	return false
}

// packed is what passed and what did not apply in one layout.
type packed struct {
	path                  string
	passed, notApplicable int
	body                  []byte // a partOutcome; nil: their numbers are enough
}

// pack takes from the outcome of a layout what passed and what did not apply, and forgets the layout itself.
func (o *outcome) pack(path string, as packing) {
	if as == packNothing {
		return
	}
	p := &packed{path: path}
	var left, away []finding.Finding
	for _, f := range o.said {
		switch f.Verdict {
		case finding.Pass:
			p.passed++
		case finding.NotApplicable:
			p.notApplicable++
		default:
			left = append(left, f)
			continue
		}
		if as == packAll {
			away = append(away, f)
		}
	}
	if as == packAll {
		p.body = squeeze(away)
	}
	o.said, o.layout, o.packed = slices.Clip(left), nil, p
}

// squeezers are for one layout after the other: each is larger than what it takes in.
var squeezers = sync.Pool{New: func() any {
	w, err := flate.NewWriter(nil, flate.BestSpeed)
	if err != nil {
		panic("cli: a level that flate does not know")
	}
	return w
}}

// squeeze returns findings as unpack reads them: nearly alike from one to the next, they shrink to a tenth.
func squeeze(list []finding.Finding) []byte {
	var body bytes.Buffer
	w := squeezers.Get().(*flate.Writer)
	defer squeezers.Put(w)
	w.Reset(&body)
	kept := (&outcome{said: list}).kept()
	if err := gob.NewEncoder(w).Encode(&kept); err != nil {
		panic("cli: findings that cannot be packed")
	}
	if err := w.Close(); err != nil {
		panic("cli: a buffer that does not take what is packed")
	}
	return slices.Clip(body.Bytes())
}

// unpack returns what squeeze took.
func (p *packed) unpack() []finding.Finding {
	var kept partOutcome
	if err := gob.NewDecoder(flate.NewReader(bytes.NewReader(p.body))).Decode(&kept); err != nil {
		panic("cli: packed findings that cannot be read")
	}
	o := kept.outcome()
	return o.said
}

// keptVerdicts are the packed verdicts of all layouts, and those that no longer apply since another is said once: see
// rules.Folded.
type keptVerdicts struct {
	layouts []*packed         // by path
	folded  []finding.Finding // passes of layouts that are not packed among them
}

// newKept returns what outcomes have packed; nil where nothing is.
func newKept(outcomes []outcome) *keptVerdicts {
	k := &keptVerdicts{}
	for i := range outcomes {
		if p := outcomes[i].packed; p != nil {
			k.layouts = append(k.layouts, p)
		}
	}
	if k.layouts == nil {
		return nil
	}
	slices.SortStableFunc(k.layouts, func(a, b *packed) int { return strings.Compare(a.path, b.path) })
	return k
}

// Count is the number of those of a verdict.
func (k *keptVerdicts) Count(v finding.Verdict) int {
	n := 0
	for i := range k.folded {
		if k.folded[i].Verdict == v {
			n++
		}
	}
	for _, p := range k.layouts {
		if v == finding.Pass {
			n += p.passed
		} else {
			n += p.notApplicable
		}
	}
	return n
}

// Each yields those of a verdict in the order of all outputs, one layout in memory at a time.
func (k *keptVerdicts) Each(v finding.Verdict) iter.Seq[*finding.Finding] {
	return func(yield func(*finding.Finding) bool) {
		folded := k.folded
		before := func(f *finding.Finding) bool { // yields what is folded and stands before f; nil: all that is left
			for len(folded) > 0 && (f == nil || engine.Compare(folded[0], *f) < 0) {
				one := &folded[0]
				folded = folded[1:]
				if one.Verdict == v && !yield(one) {
					return false
				}
			}
			return true
		}
		for _, p := range k.layouts {
			if p.body == nil {
				continue
			}
			list := p.unpack()
			for i := range list {
				if f := &list[i]; f.Verdict == v && (!before(f) || !yield(f)) {
					return
				}
			}
		}
		before(nil)
	}
}
