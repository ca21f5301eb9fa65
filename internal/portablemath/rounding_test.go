package portablemath

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"strings"
	"testing"
)

// unroundedProducts returns the places of products that are neither the argument of float64(...) nor a factor or dividend of a larger product.
// A product inside a larger one is rounded by IEEE arithmetic, since nothing fuses two multiplications.
// Whole-number products are refused too: nothing here needs one, and the check stays without type information.
func unroundedProducts(fset *token.FileSet, file *ast.File) (places []string) {
	rounded := map[ast.Expr]bool{}
	unparen := func(e ast.Expr) ast.Expr {
		for {
			p, ok := e.(*ast.ParenExpr)
			if !ok {
				return e
			}
			e = p.X
		}
	}
	ast.Inspect(file, func(n ast.Node) bool { // parents come before their children
		switch n := n.(type) {
		case *ast.CallExpr:
			if name, ok := n.Fun.(*ast.Ident); ok && name.Name == "float64" && len(n.Args) == 1 {
				rounded[unparen(n.Args[0])] = true
			}
		case *ast.BinaryExpr:
			switch n.Op {
			case token.MUL, token.QUO:
				rounded[unparen(n.X)], rounded[unparen(n.Y)] = true, true
				if n.Op == token.MUL && !rounded[n] {
					places = append(places, fset.Position(n.Pos()).String())
				}
			}
		case *ast.AssignStmt:
			if n.Tok == token.MUL_ASSIGN {
				if value, ok := n.Rhs[0].(*ast.BasicLit); !ok || value.Value != "0.5" { // halving is exact: fused or not, the same bits
					places = append(places, fset.Position(n.Pos()).String())
				}
			}
		}
		return true
	})
	return places
}

func TestEveryProductIsRounded(t *testing.T) {
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	fset := token.NewFileSet()
	parsed := 0
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
			continue
		}
		file, err := parser.ParseFile(fset, e.Name(), nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		parsed++
		for _, p := range unroundedProducts(fset, file) {
			t.Errorf("%s: a product that may be fused with a later sum; write float64(x*y)", p)
		}
	}
	if parsed < 8 {
		t.Errorf("%d source files were parsed, expected at least 8", parsed)
	}
}

// The check itself must be able to fail.
func TestUnroundedProductIsFound(t *testing.T) {
	for source, want := range map[string]int{
		"x*y + z":                     1,
		"float64(x*y) + z":            0,
		"float64(x*y*z) + 1":          0,
		"float64(2*(x*y)) - z":        0,
		"(x * y) - z":                 1,
		"x*(y*z + 1)":                 2,
		"float64(x*(float64(y*z)+1))": 0,
		"(x*y)/z + 1":                 0,
	} {
		fset := token.NewFileSet()
		file, err := parser.ParseFile(fset, "source.go", "package p\nfunc f(x, y, z float64) float64 { return "+source+" }", 0)
		if err != nil {
			t.Fatal(err)
		}
		if got := unroundedProducts(fset, file); len(got) != want {
			t.Errorf("%q: found %d unrounded products %v, want %d", source, len(got), got, want)
		}
	}
}
