package sarif

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"

	"busgauss/model/span"
	"busgauss/rules/report"
)

// rootID names the place that every URI is relative to.
const rootID = "SRCROOT"

// files finds the file of a span.
type files struct {
	list []report.File
	at   *report.Paths
}

func newFiles(list []report.File) *files {
	return &files{list: list, at: report.NewPaths(list)}
}

// artifacts lists every file that was read, with its digest.
func (f *files) artifacts() []artifact {
	out := make([]artifact, 0, len(f.list))
	for i := range f.list {
		sum := sha256.Sum256(f.list[i].Data)
		role := "analysisTarget"
		if f.list[i].Governs {
			role = "userSpecifiedConfiguration"
		}
		out = append(out, artifact{
			Location: artifactLocation{URI: relativeURI(f.list[i].RootPath), URIBaseID: rootID},
			Roles:    []string{role},
			Hashes:   hashes{SHA256: hex.EncodeToString(sum[:])},
		})
	}
	return out
}

// location returns the place of s. A span in a file that was not read, such as
// a missing one, keeps its path without an index.
func (f *files) location(s span.Span) location {
	where := artifactLocation{URI: relativeURI(f.at.Root(s.File)), URIBaseID: rootID}
	if i, read := f.at.Index(s.File); read {
		where.Index = &i
	}
	return location{PhysicalLocation: physicalLocation{ArtifactLocation: where, Region: regionOf(s)}}
}

// relativeURI returns path as a relative reference (RFC 3986, section 4.2) that
// is never empty: "a b/#1.yaml" gives "a%20b/%231.yaml". A colon is always
// escaped, since readers take what stands before one for a scheme or a host.
func relativeURI(path string) string {
	segments := strings.Split(report.Relative(path), "/")
	for i, segment := range segments {
		segments[i] = escapeSegment(segment)
	}
	return strings.Join(segments, "/")
}

// escapeSegment percent-encodes every byte that may not stand as it is in a
// path segment without a colon (RFC 3986, section 3.3).
func escapeSegment(s string) string {
	const hexDigits = "0123456789ABCDEF"
	var out strings.Builder
	for i := range len(s) {
		c := s[i]
		if isLetter(c) || c >= '0' && c <= '9' || strings.IndexByte("-._~!$&'()*+,;=@", c) >= 0 {
			out.WriteByte(c)
			continue
		}
		out.WriteByte('%')
		out.WriteByte(hexDigits[c>>4])
		out.WriteByte(hexDigits[c&15])
	}
	return out.String()
}

func isLetter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }
