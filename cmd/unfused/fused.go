package main

import (
	"bufio"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"os"
	"regexp"
	"slices"
	"strings"
)

var fusedAt = regexp.MustCompile(`^fmahash triggered (?:.*; )?(?:\./)?([^ ;]+\.go):([0-9]+):([0-9]+) [01]+$`)

// fused returns the places in a log of the compiler, written with -d=fmahash=vy, where a sum was fused with a product that
// is rounded: one by a power of two is exact and may be.
func fused(log string) ([]string, error) {
	f, err := os.Open(log)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	sums := map[string]map[string]bool{} // of each file, the sums by line and column; true for those that may be
	var out []string
	for lines := bufio.NewScanner(f); lines.Scan(); {
		at := fusedAt.FindStringSubmatch(lines.Text())
		if at == nil {
			continue
		}
		name := at[1]
		if sums[name] == nil {
			if sums[name], err = sumsOf(name); err != nil {
				return nil, err
			}
		}
		if !sums[name][at[2]+":"+at[3]] {
			out = append(out, strings.Join(at[1:], ":"))
		}
	}
	slices.Sort(out)
	return slices.Compact(out), nil
}

// sumsOf returns the sums of a file of which a term is exact, by line and column of the sign.
func sumsOf(name string) (map[string]bool, error) {
	fset := token.NewFileSet()
	file, err := parser.ParseFile(fset, name, nil, 0)
	if err != nil {
		return nil, err
	}
	out := map[string]bool{}
	note := func(at token.Pos, terms ...ast.Expr) {
		p := fset.Position(at)
		out[fmt.Sprintf("%d:%d", p.Line, p.Column)] = slices.ContainsFunc(terms, exact)
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BinaryExpr:
			if n.Op == token.ADD || n.Op == token.SUB {
				note(n.OpPos, n.X, n.Y)
			}
		case *ast.AssignStmt:
			if n.Tok == token.ADD_ASSIGN || n.Tok == token.SUB_ASSIGN {
				note(n.TokPos, n.Rhs[0])
			}
		}
		return true
	})
	return out, nil
}

// exact tells whether x is a product with a power of two or a quotient by one, written as a number.
func exact(x ast.Expr) bool {
	switch x := ast.Unparen(x).(type) {
	case *ast.UnaryExpr:
		return exact(x.X)
	case *ast.BinaryExpr:
		return x.Op == token.QUO && number(x.Y) || x.Op == token.MUL && (number(x.X) || number(x.Y))
	}
	return false
}

// number tells whether x is a literal power of two.
func number(x ast.Expr) bool {
	if u, ok := x.(*ast.UnaryExpr); ok {
		x = u.X
	}
	lit, ok := x.(*ast.BasicLit)
	if !ok {
		return false
	}
	v, err := types.Eval(token.NewFileSet(), nil, token.NoPos, lit.Value)
	return err == nil && powerOfTwo(v.Value)
}
