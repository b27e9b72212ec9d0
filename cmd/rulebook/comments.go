package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// readComments returns the comment on each rule by the rule's identifier, read
// from the Go files in dir.
func readComments(dir string) (map[string]string, error) {
	entries, err := fs.ReadDir(os.DirFS(dir), ".")
	if err != nil {
		return nil, fmt.Errorf("list rules: %w", err)
	}
	docs := map[string]string{}
	for _, e := range entries {
		name := e.Name()
		if !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), filepath.Join(dir, name), nil, parser.ParseComments)
		if err != nil {
			return nil, fmt.Errorf("read rules: %w", err)
		}
		for _, d := range file.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok || g.Tok != token.VAR {
				continue
			}
			for _, s := range g.Specs {
				if id := ruleID(s); id != "" {
					docs[id] = g.Doc.Text()
				}
			}
		}
	}
	return docs, nil
}

// ruleID returns the ID field of a composite literal in a variable's
// declaration, empty when there is none.
func ruleID(s ast.Spec) string {
	v, ok := s.(*ast.ValueSpec)
	if !ok || len(v.Values) != 1 {
		return ""
	}
	lit, ok := v.Values[0].(*ast.CompositeLit)
	if !ok {
		return ""
	}
	for _, e := range lit.Elts {
		kv, ok := e.(*ast.KeyValueExpr)
		if !ok {
			continue
		}
		if k, ok := kv.Key.(*ast.Ident); !ok || k.Name != "ID" {
			continue
		}
		if b, ok := kv.Value.(*ast.BasicLit); ok {
			id, err := strconv.Unquote(b.Value)
			if err == nil {
				return id
			}
		}
	}
	return ""
}
