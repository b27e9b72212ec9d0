package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"go/ast"
	"go/format"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"

	"golang.org/x/tools/go/ast/astutil"
)

// ours is the package that is imported for what differs by processor.
const ours = "busgauss/model/portable"

// A source is a package as go list says it.
type source struct {
	ImportPath, Dir, Export string
	GoFiles                 []string
	DepOnly                 bool
}

// listed returns the packages that the patterns name, and the files with the types of all that they import.
func listed(patterns ...string) ([]source, map[string]string, error) {
	cmd := exec.Command("go", append([]string{"list", "-export", "-deps", "-json=ImportPath,Dir,Export,GoFiles,DepOnly"}, patterns...)...)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, nil, fmt.Errorf("list packages: %w", err)
	}
	var named []source
	exports := map[string]string{}
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var s source
		if err := dec.Decode(&s); err == io.EOF {
			return named, exports, nil
		} else if err != nil {
			return nil, nil, fmt.Errorf("list packages: %w", err)
		}
		exports[s.ImportPath] = s.Export
		if !s.DepOnly {
			named = append(named, s)
		}
	}
}

// unfused returns the files of the package that change, as they should be.
func (s source) unfused(exports map[string]string) (map[string][]byte, error) {
	fset := token.NewFileSet()
	files := make([]*ast.File, len(s.GoFiles))
	texts := make([][]byte, len(s.GoFiles))
	for i, name := range s.GoFiles {
		var err error
		if texts[i], err = os.ReadFile(filepath.Join(s.Dir, name)); err != nil {
			return nil, err
		}
		if files[i], err = parser.ParseFile(fset, name, texts[i], parser.ParseComments); err != nil {
			return nil, err
		}
	}
	info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{}}
	from := importer.ForCompiler(fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) })
	if _, err := (&types.Config{Importer: from}).Check(s.ImportPath, fset, files, info); err != nil {
		return nil, fmt.Errorf("types of %s: %w", s.ImportPath, err)
	}
	changed := map[string][]byte{}
	for i, name := range s.GoFiles {
		e := &edits{text: texts[i], file: fset.File(files[i].Pos()), info: info}
		e.noteSummands(files[i])
		e.walk(files[i], nil)
		if len(e.list) == 0 {
			continue
		}
		text, err := withImports(e.apply(), e.portable)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		changed[name] = text
	}
	return changed, nil
}

// withImports formats a file whose imports follow what it now uses.
func withImports(text []byte, portable bool) ([]byte, error) {
	fset := token.NewFileSet()
	file, err := parser.ParseFile(fset, "", text, parser.ParseComments)
	if err != nil {
		return nil, err
	}
	if portable && !astutil.AddImport(fset, file, ours) {
		portable = false
	}
	for _, path := range []string{"math", "math/cmplx"} {
		if !astutil.UsesImport(file, path) {
			astutil.DeleteImport(fset, file, path)
		}
	}
	var out bytes.Buffer
	if err := format.Node(&out, fset, file); err != nil {
		return nil, err
	}
	if portable {
		return grouped(out.Bytes()), nil
	}
	return out.Bytes(), nil
}

// grouped puts an import of ours that stands among those of the standard library below them.
func grouped(text []byte) []byte {
	line := []byte("\t\"" + ours + "\"\n")
	from := bytes.Index(text, []byte("import (\n"))
	if from < 0 {
		return text
	}
	end := from + bytes.Index(text[from:], []byte("\n)")) + 1
	block := text[from:end]
	if bytes.Count(block, []byte("\"busgauss/")) > 1 {
		return text
	}
	rest := bytes.Replace(block, line, nil, 1)
	if bytes.Equal(rest, []byte("import (\n")) {
		return text
	}
	return slices.Concat(text[:from], rest, []byte("\n"), line, text[end:])
}
