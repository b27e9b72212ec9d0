// Package starter holds the first files of a repository of layouts, whose comments teach.
package starter

import (
	"embed"
	"strconv"
	"strings"
)

//go:embed files
var files embed.FS

// File is one file to begin with. Path is relative to the folder, with forward slashes; What says in a few words what
// it is.
type File struct {
	Path, What string
	Data       []byte
}

// Files returns the files, for a program whose newest rules have the edition given. The order is that in which to read them.
func Files(edition int) []File {
	list := []struct{ path, what, from string }{
		{"layouts/first.yaml", "a layout", "layout.yaml"},
		{"busgauss-standard.yaml", "the limits and levels that count", "standard.yaml"},
		{".github/workflows/busgauss.yml", "the check of every request", "workflow.yml"},
		{".pre-commit-config.yaml", "the check before a commit", "pre-commit.yaml"},
	}
	var out []File
	for _, f := range list {
		data, err := files.ReadFile("files/" + f.from)
		if err != nil {
			panic("starter: a file that is not embedded")
		}
		text := strings.Replace(string(data), "EDITION", strconv.Itoa(edition), 1)
		out = append(out, File{f.path, f.what, []byte(text)})
	}
	return out
}
