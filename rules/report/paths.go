package report

import "strings"

// Paths finds the files of a result by the paths that spans have.
type Paths struct {
	files []File
	index map[string]int
}

// NewPaths returns the finder of files.
func NewPaths(files []File) *Paths {
	p := &Paths{files: files, index: make(map[string]int, len(files))}
	for i := range files {
		p.index[files[i].Path] = i
	}
	return p
}

// Index returns where the file at path stands among the files, and false for one
// that was not read.
func (p *Paths) Index(path string) (int, bool) {
	i, ok := p.index[path]
	return i, ok
}

// Root returns the path of a file relative to the root. A file that was not read
// keeps its path, made relative.
func (p *Paths) Root(path string) string {
	if i, ok := p.index[path]; ok {
		path = p.files[i].RootPath
	}
	return Relative(path)
}

// Relative returns path without a root, a drive and the segments "", "." and
// "..": hosts refuse them, and they would tell about the machine. Where nothing
// is left it is ".", the root itself, for that is all that is known.
func Relative(path string) string {
	if len(path) >= 2 && path[1] == ':' && isLetter(path[0]) && (len(path) == 2 || path[2] == '/') {
		path = path[2:]
	}
	var segments []string
	for segment := range strings.SplitSeq(path, "/") {
		if segment != "" && segment != "." && segment != ".." {
			segments = append(segments, segment)
		}
	}
	if len(segments) == 0 {
		return "."
	}
	return strings.Join(segments, "/")
}

func isLetter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }
