package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"slices"
	"strings"
	"testing"
)

// A house that breaks every rule that is read from syntax: the checks must see it.
const badSource = `package bad

import (
	clock "time"
	"math"
)

type index map[string]int

type holder struct{ in index }

func init() {}

func f(h *holder) {
	for range h.in { // a map behind a field and a named type
	}
	local := map[int]bool{}
	for k := range local {
		_ = k
	}
	for range []int{1} {
	}
	go f(nil)
	_ = clock.Now()
	_ = math.Pi
}
`

func TestChecksSee(t *testing.T) {
	h := &house{byName: map[string]*room{}, checked: map[string]*types.Package{}, set: token.NewFileSet()}
	syntax, err := parser.ParseFile(h.set, "bad.go", badSource, 0)
	if err != nil {
		t.Fatal(err)
	}
	p := &room{name: "bad", calls: map[string]string{}, house: h, syntax: []*ast.File{syntax}}
	h.byName["bad"] = p
	p.read(syntax)
	if got := p.mapRanges(t); len(got) != 2 || !strings.HasPrefix(got[0], "bad.go:15:") || !strings.HasPrefix(got[1], "bad.go:18:") {
		t.Errorf("map ranges: %v", got)
	}
	if len(p.inits) != 1 || len(p.goStatements) != 1 || p.calls["time.Now"] == "" || !slices.Contains(p.imports, "math") {
		t.Errorf("inits %v, go statements %v, calls %v, imports %v", p.inits, p.goStatements, p.calls, p.imports)
	}
	if n := codeLines([]byte("package x\n\n// a\nvar s = `a\nb`\n/* c\n*/ var y int\n")); n != 4 {
		t.Errorf("%d lines of code, want 4", n)
	}
	h.byName["worse"] = &room{name: "worse", imports: []string{"halflight/bad", "os"}}
	if got := h.reach("worse"); !slices.Equal(got, []string{"bad", "time", "math", "os"}) {
		t.Errorf("reach: %v", got)
	}
	if !under("sim/kernel", "sim/...") || !under("sim", "sim/...") || under("simple", "sim/...") || under("sim/kernel", "sim") {
		t.Error("under")
	}
}
