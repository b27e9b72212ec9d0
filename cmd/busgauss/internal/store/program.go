package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"regexp"
	"runtime"
)

// Program identifies what computes: the program that runs. Results of one Program are
// those of every other with the same name; the error is that of reading the program.
//
// A version would not do, for every build between two releases has the same. The name is the build ID that the Go linker
// writes into the first pages of the file, which covers the content of every package, the compiler and its flags, so that
// reading it takes no time; where there is none of that form (it was left out, or another builder wrote
// a word of its own) it is the SHA-256 of the whole file, some 20 ms for 30 MB.
//
// The processor has no part in the name but for its kind: a program computes the same bits on all of them, see model/portable.
func Program() (string, error) {
	f, err := os.Open("/proc/self/exe") // what runs, whatever has been put in its place since
	if err != nil {
		var path string
		if path, err = os.Executable(); err == nil {
			f, err = os.Open(path)
		}
	}
	if err != nil {
		return "", err
	}
	defer f.Close() // nothing is written, so its error tells nothing
	id, err := buildOf(f)
	if err != nil {
		return "", err
	}
	return id + " " + runtime.GOARCH, nil
}

// A build ID of cmd/link: digests of the inputs and of the content of package main and of the program, twenty characters each.
// In files of the form ELF it stands in a note of the owner "Go", in all others in a text in front of the
// first instruction; see cmd/internal/buildid.
var (
	buildID      = regexp.MustCompile(`^[\w-]{20}(?:/[\w-]{20}){3}`)
	buildIDMarks = []string{"\x04\x00\x00\x00Go\x00\x00", "\xff Go build ID: \""}
)

// buildOf returns the build ID of a program, or the digest of all of it.
func buildOf(f io.ReadSeeker) (string, error) {
	start := make([]byte, 32<<10)
	n, err := io.ReadFull(f, start)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return "", err
	}
	for _, mark := range buildIDMarks {
		if _, rest, ok := bytes.Cut(start[:n], []byte(mark)); ok && buildID.Match(rest) {
			return string(buildID.Find(rest)), nil
		}
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return "", err
	}
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return "", err
	}
	return "sha256 " + hex.EncodeToString(sum.Sum(nil)), nil
}
