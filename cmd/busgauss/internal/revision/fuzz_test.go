package revision

import (
	"bufio"
	"bytes"
	"context"
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"
)

const someObject = "0123456789abcdef0123456789abcdef01234567"

// FuzzTree takes any bytes for what git lists of a revision: an error, or a file system that keeps the rules of
// io/fs, in which no name leads out and no link or module is read.
func FuzzTree(f *testing.F) {
	for _, list := range []string{
		"", "100644 blob " + someObject + "\ta.yaml\x00100644 blob " + someObject + "\td/e/f.yaml\x00",
		"120000 blob " + someObject + "\tlink\x00160000 commit " + someObject + "\tmodule\x00",
		"100644 blob " + someObject + "\ta\x00100644 blob " + someObject + "\ta/b\x00", "100644 blob " + someObject + "\t../a\x00",
		"100644 blob 1\ta\x00", "\x00\x00", "100644 blob " + someObject + "\t\xff\x00",
	} {
		f.Add([]byte(list))
	}
	f.Fuzz(func(t *testing.T, list []byte) {
		if len(list) > 2000 {
			return
		}
		r := &Repository{git: &git{limits: Limits{}.filled()}, blobs: map[string]blob{}}
		tree := &Tree{repository: r, ctx: context.Background()}
		if tree.fill(list, 100) != nil {
			return
		}
		var files []string
		for name, e := range tree.entries {
			if !fs.ValidPath(name) || strings.Contains("/"+name+"/", "/../") {
				t.Fatalf("name %q", name)
			}
			if e.refused() != nil {
				if _, err := tree.ReadFile(name); err == nil {
					t.Fatalf("%q is read and is no plain file", name)
				}
				delete(tree.entries, name) // which TestFS would open
				for _, up := range tree.entries {
					for k := range up.children {
						if up.children[k] == e {
							up.children = append(up.children[:k:k], up.children[k+1:]...)
							break
						}
					}
				}
				continue
			}
			if !e.mode.IsDir() {
				r.blobs[e.object] = blob{data: []byte("a: 1\n")}
				files = append(files, name)
			}
		}
		if len(files) > 8 {
			return
		}
		if err := fstest.TestFS(tree, files...); err != nil {
			t.Fatal(err)
		}
	})
}

// FuzzObject takes any bytes for what git gives of two files: an error, or contents that stand in the bytes, none of them
// above the ceilings.
func FuzzObject(f *testing.F) {
	f.Add([]byte(someObject+" blob 3\nabc\n"+someObject+" blob 0\n\n"), uint8(10))
	f.Add([]byte(someObject+" blob 30\nabcdefghijklmnopqrstuvwxyz1234\n"+someObject+" missing\n"), uint8(10))
	f.Add([]byte(someObject+" blob -1\n"), uint8(10))
	f.Add([]byte(someObject+" tree 99999999999999999999\n"), uint8(10))
	f.Add([]byte(someObject+" blob 9223372036854775807\n"), uint8(200))
	f.Fuzz(func(t *testing.T, out []byte, most uint8) {
		if len(out) > 2000 {
			return
		}
		r := &Repository{git: &git{limits: Limits{FileBytes: int64(most), AllBytes: 2 * int64(most)}}, blobs: map[string]blob{}}
		in := bufio.NewReader(bytes.NewReader(out))
		held := 0
		for range 2 {
			b, err := r.object(in, &entry{object: someObject})
			if err != nil {
				return
			}
			if b.err != nil {
				if b.data != nil {
					t.Fatal("content and an error")
				}
				continue
			}
			if held += len(b.data); len(b.data) > int(most) || !bytes.Contains(out, b.data) {
				t.Fatalf("%q out of %q at %d bytes most", b.data, out, most)
			}
		}
		if held > 2*int(most) {
			t.Fatalf("%d bytes in all", held)
		}
	})
}

// FuzzRenames takes any bytes for a list of renamed files: an error, or pairs that account for all of the bytes.
func FuzzRenames(f *testing.F) {
	f.Add([]byte("R100\x00a\x00b\x00R066\x00c\x00d\x00"))
	f.Add([]byte("R100\x00a\x00b"))
	f.Add([]byte("M\x00a\x00b\x00"))
	f.Add([]byte("R\x00a\x00"))
	f.Fuzz(func(t *testing.T, out []byte) {
		if len(out) > 2000 {
			return
		}
		renamed, err := renamesIn(out)
		if err != nil || len(out) == 0 {
			return
		}
		if n := bytes.Count(bytes.TrimSuffix(out, []byte{0}), []byte{0}) + 1; n%3 != 0 || len(renamed) == 0 || len(renamed) > n/3 {
			t.Fatalf("%d names out of %q", len(renamed), out)
		}
	})
}
