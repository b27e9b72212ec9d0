package cli

import (
	"bytes"
	"crypto/sha256"
	"encoding/gob"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"

	"busgauss/model/finding"
)

// partMagic is the first line of a part. The second is the SHA-256 of the first and of all behind the second, which is a
// partFile as encoding/gob writes it: no maps, so that the same input gives the same bytes.
const partMagic = "busgauss part, format 1\n"

// partFile is what one machine says of its part of the layouts.
type partFile struct {
	Run      partRun
	Part     int // from 1
	Outcomes []partOutcome
}

// partRun is the run that a part belongs to: equal in all its parts.
type partRun struct {
	Version   string
	Processor string // some fuse multiply and add, and differ in the last digits
	Parts     int
	// Arguments, Remedies, Standard, From and Work are what check was given.
	Arguments                []string
	Remedies, Standard, From string
	Work                     [2]uint32    // of a layout, of the run
	Layouts                  []partLayout // all, by path
	Governing                []partDigest // all files that say how layouts are judged
}

type partDigest struct {
	Path, Digest string
}

// partLayout is one layout with what its verdicts depend on.
type partLayout struct {
	Path, RootPath string
	Digest         string // SHA-256 of its bytes; empty: it could not be read
	Judging        string // see layoutStandard.judging
}

// partOutcome is what one layout gave, before deviations and a baseline.
type partOutcome struct {
	Layout     int // its place in Layouts
	Understood bool
	Took       float64 // steps of work
	Said       []partFinding
	Assumed    []finding.Assumption
}

// partFinding is a finding with the bits of its numbers beside it, since gob takes -0 for 0.
type partFinding struct {
	Finding finding.Finding
	Bits    [4]uint64
}

// numbers are those of a measure whose bits are kept.
func numbers(m *finding.Measure) [4]*float64 {
	return [4]*float64{&m.Value, &m.Limit, &m.Certainty, &m.WholeA}
}

// newPartRun describes a run over what is given.
func newPartRun(o *checkOptions, args []string, g *given, parts int) partRun {
	p := partRun{Version: version(), Processor: runtime.GOARCH, Parts: parts, Arguments: args,
		Remedies: o.remedies, Standard: o.file, From: o.from, Work: [2]uint32{o.layout, o.run}}
	sets := slices.Clone(g.extra)
	for i := range g.inputs {
		in := &g.inputs[i]
		one := partLayout{Path: in.Path, RootPath: in.RootPath, Judging: g.standards[i].judging()}
		if in.err == nil {
			one.Digest = sha256Of(in.Data)
		}
		p.Layouts = append(p.Layouts, one)
		if set := g.standards[i].set; set != nil && !slices.Contains(sets, set) {
			sets = append(sets, set)
		}
	}
	for _, set := range sets {
		for _, f := range set.reportFiles() {
			p.Governing = append(p.Governing, partDigest{f.Path, sha256Of(f.Data)})
		}
	}
	slices.SortFunc(p.Governing, func(a, b partDigest) int {
		return strings.Compare(a.Path+"\x00"+a.Digest, b.Path+"\x00"+b.Digest)
	})
	p.Governing = slices.Compact(p.Governing)
	return p
}

func sha256Of(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// store keeps outcomes of the layouts at the places which.
func (p *partFile) store(outcomes []outcome, which []int) {
	for _, i := range which {
		kept := outcomes[i].kept()
		kept.Layout = i
		p.Outcomes = append(p.Outcomes, kept)
	}
}

// kept returns an outcome as a file holds it.
func (o *outcome) kept() partOutcome {
	kept := partOutcome{Understood: o.understood, Took: o.took, Assumed: o.assumed}
	for _, f := range o.said {
		one := partFinding{Finding: f}
		if f.Measure != nil {
			for k, v := range numbers(f.Measure) {
				one.Bits[k] = math.Float64bits(*v)
			}
		}
		kept.Said = append(kept.Said, one)
	}
	return kept
}

// outcome returns what was stored.
func (k *partOutcome) outcome() outcome {
	o := outcome{understood: k.Understood, took: k.Took, assumed: k.Assumed}
	for _, one := range k.Said {
		if f := &one.Finding; f.Measure != nil {
			for n, v := range numbers(f.Measure) {
				*v = math.Float64frombits(one.Bits[n])
			}
		}
		o.said = append(o.said, one.Finding)
	}
	return o
}

// bytes returns the file of a part.
func (p *partFile) bytes() ([]byte, error) {
	var body bytes.Buffer
	if err := gob.NewEncoder(&body).Encode(p); err != nil {
		return nil, err
	}
	return slices.Concat([]byte(partMagic+partSum(body.Bytes())+"\n"), body.Bytes()), nil
}

func partSum(body []byte) string { return sha256Of(slices.Concat([]byte(partMagic), body)) }

// readPart reads the part in a file, whole and of this version, or says what is wrong with it.
func readPart(s *Streams, path string) (*partFile, error) {
	data, err := readPlain(resolve(s.Dir, path), maxPartBytes)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", path, plain(err))
	}
	return partIn(path, data)
}

// partIn reads a part out of the bytes of the file at path.
func partIn(path string, data []byte) (*partFile, error) {
	rest, ok := bytes.CutPrefix(data, []byte(partMagic))
	if !ok {
		return nil, fmt.Errorf("%s is no part that this version reads: its first line is not %q", path, strings.TrimSpace(partMagic))
	}
	damaged := errors.New(path + " is damaged: its digest is not that of what it holds; write the part again")
	sum, body, ok := bytes.Cut(rest, []byte("\n"))
	if !ok || string(sum) != partSum(body) {
		return nil, damaged
	}
	p := &partFile{}
	if err := gob.NewDecoder(bytes.NewReader(body)).Decode(p); err != nil {
		return nil, damaged
	}
	if p.Run.Version != version() {
		return nil, fmt.Errorf("%s was written by busgauss %s, and this is %s: check and merge with one version", path, p.Run.Version, version())
	}
	return p, nil
}
