// Package archtest holds the tree to its plan: which package may import which, and what a pure package must not touch. It parses the import lines itself, so a stale build cache cannot hide a change.
package archtest

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const module = "runtrue/internal/"

// layers says, for every package of internal, which others of ours it may import. Dependencies point from right to left.
var layers = map[string][]string{
	"length":            {},
	"portablemath":      {},
	"iso286":            {"length"},
	"iso492":            {"length"},
	"seat":              {"length", "iso286", "iso492", "spindle"}, // spindle: a proposal becomes characteristics of its specification
	"form":              {"length", "portablemath"},
	"uncertainty":       {"length", "portablemath"},
	"spindle":           {"length"},
	"verdict":           {"length", "portablemath", "iso286", "form", "uncertainty", "spindle"},
	"slip":              {"length", "spindle"},
	"explain":           {"length", "portablemath", "spindle", "verdict"},
	"record":            {"length", "spindle"},
	"hold":              {"length", "spindle", "record", "verdict"},
	"sheet":             {"length", "spindle", "record", "verdict", "hold"},
	"jobfile":           {"length", "spindle", "record", "verdict", "hold", "sheet"},
	"list":              {"length", "spindle", "record", "verdict", "hold", "sheet", "jobfile"},
	"engine":            {"length", "spindle", "record", "verdict", "hold", "sheet", "list", "slip", "explain"},
	"demo":              {"length", "spindle", "record"},
	"store":             {},
	"store/memstore":    {"store"},
	"store/badgerstore": {"store", "store/diskspace"},
	"store/diskspace":   {"store"},
	"store/storetest":   {"store"},
	"store/photos":      {"store", "store/diskspace"},
	"access":            {"store", "record", "spindle"},
	"server":            {"store", "store/photos", "access", "record", "spindle"},
	"archtest":          {},
	// the devices that it plays hold the same entries and show the same sheets as real ones
	"syncsim":           {"store", "store/badgerstore", "store/photos", "access", "server", "record", "record/recordtest", "spindle", "hold", "sheet"},
	"record/recordtest": {"length", "spindle", "record", "verdict", "hold", "sheet"},
}

// pure packages are functions of their input: they run in the browser and on the server and must give the same bits.
var pure = []string{"length", "portablemath", "iso286", "iso492", "seat", "form", "uncertainty", "spindle", "verdict", "slip", "explain", "record", "hold", "sheet", "jobfile", "list", "engine", "demo"}

// forbidden in pure packages: whatever brings in a clock, a disk, a network, chance, or the browser.
var forbidden = []string{"os", "net", "time", "math/rand", "math/rand/v2", "crypto/rand", "log", "log/slog", "syscall", "syscall/js", "runtime", "unsafe", "regexp", "text/template", "html/template"}

// allowedMath are the functions of package math that give the same bits everywhere.
var allowedMath = []string{"Sqrt", "Abs", "Floor", "Ceil", "Trunc", "Round", "RoundToEven", "Max", "Min", "Inf", "IsNaN", "IsInf", "NaN", "Signbit", "Copysign", "Mod",
	"Float64bits", "Float64frombits", "MaxInt64", "MinInt64", "MaxInt32", "MaxUint32", "MaxUint64", "MaxInt", "MaxFloat64", "SmallestNonzeroFloat64", "Pi", "Sqrt2", "Ln2", "E"}

type file struct {
	path, pkg string
	syntax    *ast.File
}

func files(t *testing.T) []file {
	t.Helper()
	var out []file
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && d.Name() == "testdata" {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		syntax, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel("..", filepath.Dir(path))
		out = append(out, file{path, filepath.ToSlash(rel), syntax})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(out) < 40 {
		t.Fatalf("only %d files found: the walk starts in the wrong folder", len(out))
	}
	return out
}

func TestImportsFollowTheLayers(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range files(t) {
		allowed, known := layers[f.pkg]
		if !known {
			t.Errorf("package %s stands in no layer: add it to the list, with a thought", f.pkg)
		}
		seen[f.pkg] = true
		for _, i := range f.syntax.Imports {
			path, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			if ours, ok := strings.CutPrefix(path, module); ok && !slices.Contains(allowed, ours) {
				t.Errorf("%s: %s may not import %s", f.path, f.pkg, ours)
			}
			if slices.Contains(pure, f.pkg) {
				for _, bad := range forbidden {
					if path == bad || bad == "net" && strings.HasPrefix(path, "net/") || bad == "os" && strings.HasPrefix(path, "os/") {
						t.Errorf("%s: the pure package %s may not import %s", f.path, f.pkg, path)
					}
				}
			}
			if strings.Contains(path, "gofiber") && f.pkg != "server" {
				t.Errorf("%s: fiber stays inside server", f.path)
			}
			if strings.Contains(path, "dgraph-io/badger") && f.pkg != "store/badgerstore" {
				t.Errorf("%s: Badger stays inside store/badgerstore", f.path)
			}
		}
	}
	for _, p := range pure {
		if !seen[p] {
			t.Errorf("pure package %s is not there", p)
		}
	}
}

func TestPurePackagesUsePortableMathOnly(t *testing.T) {
	uses := 0
	for _, f := range files(t) {
		if !slices.Contains(pure, f.pkg) {
			continue
		}
		ast.Inspect(f.syntax, func(n ast.Node) bool {
			s, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if x, ok := s.X.(*ast.Ident); ok && x.Name == "math" && x.Obj == nil {
				uses++
				if !slices.Contains(allowedMath, s.Sel.Name) {
					t.Errorf("%s: math.%s may differ between machines; use portablemath", f.path, s.Sel.Name)
				}
			}
			return true
		})
	}
	if uses == 0 {
		t.Error("no use of package math was found at all: the test looks in the wrong place")
	}
}

// TestProductsAreRounded looks for x*y+z and its like in floating point without an explicit conversion of the product, which some machines fuse.
// It reads syntax only, so it looks at the packages that compute in float64 and takes integer constants for harmless.
func TestProductsAreRounded(t *testing.T) {
	for _, f := range files(t) {
		if !slices.Contains([]string{"portablemath", "form", "uncertainty", "verdict", "slip", "explain"}, f.pkg) {
			continue
		}
		fset := token.NewFileSet()
		syntax, err := parser.ParseFile(fset, f.path, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(syntax, func(n ast.Node) bool {
			sum, ok := n.(*ast.BinaryExpr)
			if !ok || sum.Op != token.ADD && sum.Op != token.SUB {
				return true
			}
			for _, side := range []ast.Expr{sum.X, sum.Y} {
				for {
					p, ok := side.(*ast.ParenExpr)
					if !ok {
						break
					}
					side = p.X
				}
				if product, ok := side.(*ast.BinaryExpr); ok && product.Op == token.MUL && !integers(product) {
					t.Errorf("%s: a product feeds a sum without float64(…) around it", fset.Position(product.Pos()))
				}
			}
			return true
		})
	}
}

// integers reports whether the product looks like index arithmetic, by len or int on either side, or doubles: a power of two makes an exact product, which fusing does not change.
func integers(b *ast.BinaryExpr) bool {
	for _, e := range []ast.Expr{b.X, b.Y} {
		switch x := e.(type) {
		case *ast.BasicLit:
			if n, err := strconv.Atoi(x.Value); err == nil && n > 0 && n&(n-1) == 0 {
				return true
			}
		case *ast.CallExpr:
			if id, ok := x.Fun.(*ast.Ident); ok && (id.Name == "len" || id.Name == "int") {
				return true
			}
		}
	}
	return false
}

func TestNoFolderIsADrawerForOddments(t *testing.T) {
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			switch d.Name() {
			case "node_modules", ".git", "build", "dist":
				return fs.SkipDir
			case "util", "utils", "common", "core", "models", "pkg", "helpers":
				t.Errorf("%s: name the folder after what it is for", path)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	allowed := []string{"cmd", "internal", "pwa", "testdata", "go.mod", "go.sum", "README.md", "DEVELOPERS.md", "build"}
	entries, err := os.ReadDir("../..")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") && !slices.Contains(allowed, e.Name()) {
			t.Errorf("%s does not belong on the top level", e.Name())
		}
	}
}
