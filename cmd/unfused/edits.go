package main

import (
	"go/ast"
	"go/constant"
	"go/token"
	"go/types"
	"math"
	"slices"
	"strings"
)

// edits are the changes of one file.
type edits struct {
	text     []byte
	file     *token.File
	info     *types.Info
	list     []edit
	portable bool // model/portable is used
	summands map[types.Object]bool
}

// An edit puts text in place of the bytes from start to end. Those at one place follow their order.
type edit struct {
	start, end, order int
	text              string
}

// differing are the functions of math and math/cmplx whose last digits depend on the processor.
var differing = map[string][]string{
	"math": {"Acos", "Asin", "Atan", "Atan2", "Cbrt", "Cos", "Cosh", "Erfinv", "Exp", "Exp2", "Expm1", "Hypot", "J0", "J1",
		"Log", "Log10", "Log1p", "Log2", "Pow", "Sin", "Sincos", "Sinh", "Tan", "Tanh"},
	"math/cmplx": {"Abs", "Exp", "Phase", "Polar", "Pow", "Rect", "Sqrt", "Tanh"},
}

// walk edits a node and what is below it; above are the nodes that hold it, the nearest last.
func (e *edits) walk(n ast.Node, above []ast.Node) {
	switch n := n.(type) {
	case *ast.BinaryExpr:
		switch {
		case n.Op == token.MUL && e.is(n, types.IsFloat) && e.mayFuse(n, above):
			e.round(n, above)
		case n.Op == token.MUL && e.is(n, types.IsComplex):
			e.call("Times", n)
		case n.Op == token.QUO && e.is(n, types.IsComplex):
			e.call("Quotient", n)
		case n.Op == token.MUL && e.mayBeComplex(n):
			e.call("ProductOf", n)
		case n.Op == token.QUO && e.mayBeComplex(n):
			e.call("QuotientOf", n)
		}
	case *ast.AssignStmt:
		e.assigned(n)
	case *ast.SelectorExpr:
		e.function(n)
	}
	inside := append(above, n)
	ast.Inspect(n, func(below ast.Node) bool {
		if below == nil || below == n {
			return below != nil
		}
		e.walk(below, inside)
		return false
	})
}

// is tells whether a value that is no constant is of a kind.
func (e *edits) is(x ast.Expr, kind types.BasicInfo) bool {
	v, ok := e.info.Types[x]
	if !ok || v.Value != nil {
		return false
	}
	basic, ok := v.Type.Underlying().(*types.Basic)
	return ok && basic.Info()&kind != 0
}

// mayBeComplex tells whether a value is of a type parameter that may stand for complex numbers.
func (e *edits) mayBeComplex(x ast.Expr) bool {
	v, ok := e.info.Types[x]
	if !ok {
		return false
	}
	p, ok := v.Type.(*types.TypeParam)
	if !ok {
		return false
	}
	set, ok := p.Constraint().Underlying().(*types.Interface)
	return ok && strings.Contains(types.TypeString(set, nil), "complex128")
}

// mayFuse tells whether a product is a summand, or a part of a complex number, and not exact in any case.
func (e *edits) mayFuse(n *ast.BinaryExpr, above []ast.Node) bool {
	if number(n.X) || number(n.Y) {
		return false
	}
	for _, a := range slices.Backward(above) {
		switch a := a.(type) {
		case *ast.ParenExpr:
			continue
		case *ast.UnaryExpr:
			continue
		case *ast.BinaryExpr:
			return a.Op == token.ADD || a.Op == token.SUB || doubles(a)
		case *ast.AssignStmt:
			return a.Tok == token.ADD_ASSIGN || a.Tok == token.SUB_ASSIGN || e.toSummand(n, a)
		case *ast.CallExpr:
			name, ok := a.Fun.(*ast.Ident)
			return ok && name.Name == "complex"
		}
		return false
	}
	return false
}

// toSummand tells whether a product becomes the value of a variable that is added somewhere.
func (e *edits) toSummand(n *ast.BinaryExpr, a *ast.AssignStmt) bool {
	for i, x := range a.Rhs {
		if x.Pos() <= n.Pos() && n.End() <= x.End() && len(a.Lhs) == len(a.Rhs) {
			name, ok := a.Lhs[i].(*ast.Ident)
			return ok && e.summands[e.info.ObjectOf(name)]
		}
	}
	return false
}

// noteSummands finds the variables that are terms of a sum.
func (e *edits) noteSummands(file *ast.File) {
	e.summands = map[types.Object]bool{}
	note := func(terms ...ast.Expr) {
		for _, x := range terms {
			for u, ok := ast.Unparen(x).(*ast.UnaryExpr); ok; u, ok = ast.Unparen(x).(*ast.UnaryExpr) {
				x = u.X
			}
			if name, ok := ast.Unparen(x).(*ast.Ident); ok {
				e.summands[e.info.ObjectOf(name)] = true
			}
		}
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BinaryExpr:
			if n.Op == token.ADD || n.Op == token.SUB || doubles(n) {
				note(n.X, n.Y)
			}
		case *ast.AssignStmt:
			if n.Tok == token.ADD_ASSIGN || n.Tok == token.SUB_ASSIGN || n.Tok == token.MUL_ASSIGN && two(n.Rhs[0]) {
				note(n.Lhs[0], n.Rhs[0])
			}
		}
		return true
	})
}

// doubles tells whether a product is 2 x, which compilers make x + x.
func doubles(n *ast.BinaryExpr) bool {
	return n.Op == token.MUL && (two(n.X) || two(n.Y))
}

func two(x ast.Expr) bool {
	lit, ok := x.(*ast.BasicLit)
	return ok && lit.Value == "2"
}

// powerOfTwo tells whether a product with a constant is exact; v is nil where it is none.
func powerOfTwo(v constant.Value) bool {
	if v == nil {
		return false
	}
	f, _ := constant.Float64Val(constant.ToFloat(v))
	frac, _ := math.Frexp(math.Abs(f))
	return frac == 0.5
}

// round makes a product a conversion.
func (e *edits) round(n *ast.BinaryExpr, above []ast.Node) {
	name := types.TypeString(e.info.Types[n].Type, func(p *types.Package) string { return p.Name() })
	if _, ok := e.info.Types[n].Type.(*types.Basic); !ok {
		name = "float64"
	}
	if _, ok := above[len(above)-1].(*ast.ParenExpr); ok {
		e.insert(n.Pos()-1, name, len(e.list))
		return
	}
	e.insert(n.Pos(), name+"(", len(e.list))
	e.insert(n.End(), ")", -len(e.list))
}

// call makes an operation a call of model/portable.
func (e *edits) call(name string, n *ast.BinaryExpr) {
	e.portable = true
	e.insert(n.Pos(), "portable."+name+"(", len(e.list))
	for _, x := range []ast.Expr{n.X, n.Y} {
		if p, ok := x.(*ast.ParenExpr); ok {
			e.replace(p.Lparen, p.Lparen+1, "")
			e.replace(p.Rparen, p.Rparen+1, "")
		}
	}
	before := n.OpPos
	for e.text[e.file.Offset(before)-1] == ' ' {
		before--
	}
	e.replace(before, n.OpPos+1, ",")
	e.insert(n.End(), ")", -len(e.list))
}

// assigned makes x *= y of complex numbers x = portable.Times(x, y), and x /= y likewise; of a variable that is added
// somewhere it makes x = float64(x * y).
func (e *edits) assigned(n *ast.AssignStmt) {
	if v, ok := n.Lhs[0].(*ast.Ident); ok && n.Tok == token.MUL_ASSIGN && e.is(v, types.IsFloat) && e.summands[e.info.ObjectOf(v)] && !number(n.Rhs[0]) {
		e.replace(n.TokPos, n.TokPos+2, "= "+e.info.TypeOf(v).String()+"("+v.Name+" *")
		if _, ok := n.Rhs[0].(*ast.BinaryExpr); ok {
			e.insert(n.Rhs[0].Pos(), "(", len(e.list))
			e.insert(n.End(), ")", -1)
		}
		e.insert(n.End(), ")", -1)
		return
	}
	name := map[token.Token]string{token.MUL_ASSIGN: "Times", token.QUO_ASSIGN: "Quotient"}[n.Tok]
	if e.mayBeComplex(n.Lhs[0]) {
		name = map[token.Token]string{token.MUL_ASSIGN: "ProductOf", token.QUO_ASSIGN: "QuotientOf"}[n.Tok]
	} else if !e.is(n.Lhs[0], types.IsComplex) {
		return
	}
	if name == "" {
		return
	}
	e.portable = true
	left := string(e.text[e.file.Offset(n.Lhs[0].Pos()):e.file.Offset(n.Lhs[0].End())])
	e.replace(n.TokPos, n.TokPos+2, "= portable."+name+"("+left+",")
	e.insert(n.End(), ")", -1)
}

// function names the portable one of a function that differs.
func (e *edits) function(n *ast.SelectorExpr) {
	f, ok := e.info.Uses[n.Sel].(*types.Func)
	if !ok || f.Pkg() == nil || !slices.Contains(differing[f.Pkg().Path()], f.Name()) {
		return
	}
	e.portable = true
	name := "portable." + f.Name()
	if f.Pkg().Path() == "math/cmplx" && slices.Contains([]string{"Exp", "Sqrt", "Tanh"}, f.Name()) {
		name = "portable.Complex" + f.Name()
	}
	e.replace(n.Pos(), n.End(), name)
}

func (e *edits) insert(at token.Pos, text string, order int) {
	e.list = append(e.list, edit{e.file.Offset(at), e.file.Offset(at), order, text})
}

func (e *edits) replace(from, to token.Pos, text string) {
	e.list = append(e.list, edit{e.file.Offset(from), e.file.Offset(to), len(e.list), text})
}

// apply returns the text with its edits.
func (e *edits) apply() []byte {
	slices.SortStableFunc(e.list, func(a, b edit) int {
		if a.start != b.start {
			return a.start - b.start
		}
		return a.order - b.order
	})
	var out strings.Builder
	done := 0
	for _, d := range e.list {
		out.Write(e.text[done:d.start])
		out.WriteString(d.text)
		done = d.end
	}
	out.Write(e.text[done:])
	return []byte(out.String())
}

// number tells whether x is a literal power of two, a product with which is exact.
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
