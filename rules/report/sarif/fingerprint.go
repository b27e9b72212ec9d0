package sarif

import (
	"fmt"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// Names of the partial fingerprints, section 3.27.17. Hosts know the first; the
// second is our own, and its number changes when its recipe does.
const (
	lineHashName = "primaryLocationLineHash"
	identityName = "busgaussFinding/v1"
)

// fingerprints hands out what lets two runs recognise one finding.
type fingerprints struct {
	files *files
	lines map[int][]string  // line hashes by index of the file
	seen  map[[2]string]int // how often a path and identity came up
}

func newFingerprints(f *files) *fingerprints {
	return &fingerprints{files: f, lines: map[int][]string{}, seen: map[[2]string]int{}}
}

// of returns the fingerprints of f. The line hash is absent when the file was
// not read or the line is not in it.
func (p *fingerprints) of(f *finding.Finding) map[string]string {
	id := report.Identity(f)
	key := [2]string{f.Span.File, id}
	p.seen[key]++
	out := map[string]string{identityName: fmt.Sprintf("%s:%d", id, p.seen[key])}
	if i, read := p.files.at.Index(f.Span.File); read {
		hashes, done := p.lines[i]
		if !done {
			hashes = lineHashes(p.files.list[i].Data)
			p.lines[i] = hashes
		}
		if start, _ := report.Place(f.Span); start.Line <= len(hashes) {
			out[lineHashName] = hashes[start.Line-1]
		}
	}
	return out
}
