package kernel

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strings"
	"testing"
)

// unguarded lists the products of a file that a compiler may fuse into a sum:
// those that do not stand alone in float64(...).
func unguarded(t *testing.T, name string, source any) []string {
	t.Helper()
	files := token.NewFileSet()
	file, err := parser.ParseFile(files, name, source, 0)
	if err != nil {
		t.Fatal(err)
	}
	guarded := map[ast.Node]bool{}
	var found []string
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.CallExpr:
			if f, ok := n.Fun.(*ast.Ident); ok && f.Name == "float64" && len(n.Args) == 1 {
				guarded[n.Args[0]] = true
			}
			if f, ok := n.Fun.(*ast.SelectorExpr); ok && f.Sel.Name == "FMA" {
				found = append(found, files.Position(n.Pos()).String())
			}
		case *ast.AssignStmt:
			if n.Tok == token.MUL_ASSIGN {
				found = append(found, files.Position(n.Pos()).String())
			}
		case *ast.BinaryExpr:
			if n.Op == token.MUL && !guarded[n] {
				found = append(found, files.Position(n.Pos()).String())
			}
		}
		return true
	})
	return found
}

// TestEveryProductIsGuarded reads the source of the quantiles, and sees to it
// that they call nothing of math that may differ between processors.
func TestEveryProductIsGuarded(t *testing.T) {
	exact := map[string]bool{
		"Abs": true, "Copysign": true, "Floor": true, "Frexp": true, "Inf": true, "IsInf": true, "IsNaN": true,
		"Ldexp": true, "Modf": true, "NaN": true, "RoundToEven": true, "Sqrt": true, "Sqrt2": true,
	}
	for _, name := range []string{"elementary.go", "normal.go", "quantile.go", "duration.go"} {
		for _, place := range unguarded(t, name, nil) {
			t.Errorf("%s: a product outside float64(...), or a fused one", place)
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			s, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if pkg, ok := s.X.(*ast.Ident); ok && pkg.Name == "math" && !exact[s.Sel.Name] {
				t.Errorf("%s uses math.%s, which need not be the same everywhere", name, s.Sel.Name)
			}
			return true
		})
	}
}

// TestGuardSees: the reader above finds what it must find.
func TestGuardSees(t *testing.T) {
	const source = `package p
func f(a, b, c float64) float64 {
	a *= b
	c = float64(a*b) + a*c
	c = float64(a*b + c)
	return math.FMA(a, b, c) + float64(float64(a*b)*c)
}`
	var lines []string
	for _, place := range unguarded(t, "p.go", source) {
		lines = append(lines, place[:strings.LastIndex(place, ":")])
	}
	want := "p.go:3 p.go:4 p.go:5 p.go:6"
	if got := strings.Join(lines, " "); got != want {
		t.Errorf("found %s, want %s", got, want)
	}
}
