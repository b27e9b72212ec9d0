package report

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"sort"

	"busgauss/model/finding"
)

// Identity returns a digest of what a finding is about: rule, object, the other
// objects in any order, and cause. It has no line, number, message or path, so
// that it outlives edits elsewhere, changes of value and renamed files.
func Identity(f *finding.Finding) string {
	others := append([]string(nil), f.Others...)
	sort.Strings(others)
	return Digest(append([]string{"1", f.Rule, f.Object, f.Cause}, others...)...)
}

// Digest returns the SHA-256 of parts in hexadecimal digits. Each part goes in
// after its length, so that no two lists of parts read alike.
func Digest(parts ...string) string {
	h := sha256.New()
	for _, part := range parts {
		var length [8]byte
		binary.BigEndian.PutUint64(length[:], uint64(len(part)))
		h.Write(length[:])
		h.Write([]byte(part))
	}
	return hex.EncodeToString(h.Sum(nil))
}
