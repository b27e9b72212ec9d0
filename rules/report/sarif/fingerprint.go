package sarif

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"sort"

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
	id := identity(f)
	key := [2]string{f.Span.File, id}
	p.seen[key]++
	out := map[string]string{identityName: fmt.Sprintf("%s:%d", id, p.seen[key])}
	if i, read := p.files.indexOf[f.Span.File]; read {
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

// identity returns a digest of what a finding is about: rule, object, the other
// objects in any order, and cause. It has no line, number, message or path, so
// that it outlives edits elsewhere, changes of value and renamed files. Each
// part goes in after its length, so that no two lists of parts read alike.
func identity(f *finding.Finding) string {
	others := append([]string(nil), f.Others...)
	sort.Strings(others)
	parts := append([]string{"1", f.Rule, f.Object, f.Cause}, others...)
	h := sha256.New()
	for _, part := range parts {
		var length [8]byte
		binary.BigEndian.PutUint64(length[:], uint64(len(part)))
		h.Write(length[:])
		h.Write([]byte(part))
	}
	return hex.EncodeToString(h.Sum(nil))
}
