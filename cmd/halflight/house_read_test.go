package main

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/parser"
	"go/scanner"
	"go/token"
	"go/types"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// house is the source of the whole module, without tests but for sizes.
type house struct {
	top      []string
	packages []*room
	byName   map[string]*room
	checked  map[string]*types.Package
	set      *token.FileSet
}

// room is one package.
type room struct {
	name         string // without the module
	imports      []string
	ours         []string // of imports, without the module
	syntax       []*ast.File
	files        []sourceFile
	codeLines    int // of non-test files, without blank lines and comments
	calls        map[string]string
	goStatements []string
	inits        []string
	house        *house
}

type sourceFile struct {
	name  string
	lines int
}

const modulePath = "halflight"

// readHouse reads the module above this package.
func readHouse(t *testing.T) *house {
	t.Helper()
	root := filepath.Join("..", "..")
	h := &house{byName: map[string]*room{}, checked: map[string]*types.Package{}, set: token.NewFileSet()}
	list, err := os.ReadDir(root)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		h.top = append(h.top, e.Name())
	}
	err = filepath.WalkDir(root, func(path string, e fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case e.IsDir() && path != root && (e.Name() == "testdata" || strings.HasPrefix(e.Name(), ".") && e.Name() != ".."):
			return fs.SkipDir
		case !e.IsDir() && strings.HasSuffix(path, ".go"):
			return h.file(root, path)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(h.packages) < 20 {
		t.Fatalf("only %d packages were found", len(h.packages))
	}
	return h
}

// file adds one source file to its room.
func (h *house) file(root, path string) error {
	name, err := filepath.Rel(root, path)
	if err != nil {
		return err
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	dir := filepath.ToSlash(filepath.Dir(name))
	p := h.byName[dir]
	if p == nil {
		p = &room{name: dir, calls: map[string]string{}, house: h}
		h.byName[dir] = p
		h.packages = append(h.packages, p)
	}
	p.files = append(p.files, sourceFile{name, bytes.Count(text, []byte("\n"))})
	if strings.HasSuffix(name, "_test.go") {
		return nil
	}
	syntax, err := parser.ParseFile(h.set, name, text, 0)
	if err != nil {
		return err
	}
	p.syntax = append(p.syntax, syntax)
	p.codeLines += codeLines(text)
	p.read(syntax)
	return nil
}

// codeLines counts lines that hold more than blanks and comments.
func codeLines(text []byte) int {
	var s scanner.Scanner
	set := token.NewFileSet()
	f := set.AddFile("", set.Base(), len(text))
	s.Init(f, text, nil, 0)
	lines := map[int]bool{}
	for {
		pos, tok, lit := s.Scan()
		if tok == token.EOF {
			return len(lines)
		}
		if tok == token.SEMICOLON && lit == "\n" {
			continue
		}
		first := f.Line(pos)
		for i := range strings.Count(lit, "\n") + 1 {
			lines[first+i] = true
		}
	}
}

// read notes imports and what may be banned.
func (p *room) read(f *ast.File) {
	local := map[string]string{} // name in this file to import path
	for _, spec := range f.Imports {
		path, _ := strconv.Unquote(spec.Path.Value)
		if !slices.Contains(p.imports, path) {
			p.imports = append(p.imports, path)
			if name, ours := strings.CutPrefix(path, modulePath+"/"); ours {
				p.ours = append(p.ours, name)
			}
		}
		name := path[strings.LastIndex(path, "/")+1:]
		if spec.Name != nil {
			name = spec.Name.Name
		}
		local[name] = path
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.GoStmt:
			p.goStatements = append(p.goStatements, p.place(n))
		case *ast.FuncDecl:
			if n.Name.Name == "init" && n.Recv == nil {
				p.inits = append(p.inits, p.place(n))
			}
		case *ast.SelectorExpr:
			if x, ok := n.X.(*ast.Ident); ok && local[x.Name] != "" {
				p.calls[local[x.Name]+"."+n.Sel.Name] = p.place(n)
			}
		}
		return true
	})
}

func (p *room) place(n ast.Node) string { return p.house.set.Position(n.Pos()).String() }

// has says whether a name is a package of this module.
func (h *house) has(name string) bool { return h.byName[name] != nil }

// reach lists all packages that one imports, at second hand too: ours without
// the module, others with their path and no further.
func (h *house) reach(name string) []string {
	seen := map[string]bool{}
	var list []string
	var visit func(string)
	visit = func(at string) {
		p := h.byName[at]
		if p == nil {
			return
		}
		for _, path := range p.imports {
			to := strings.TrimPrefix(path, modulePath+"/")
			if !seen[to] {
				seen[to] = true
				list = append(list, to)
				visit(to)
			}
		}
	}
	visit(name)
	return list
}

// under says whether a package is meant by a name, which may end in /... for it
// and all below.
func under(name, pattern string) bool {
	if above, ok := strings.CutSuffix(pattern, "/..."); ok {
		return name == above || strings.HasPrefix(name, above+"/")
	}
	return name == pattern
}

// mapRanges lists the places where a package ranges over a map. Types are
// checked over our own source; what comes from outside the module has no type
// here, so that a map that a foreign function returned would pass.
func (p *room) mapRanges(t *testing.T) []string {
	t.Helper()
	info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}}
	p.house.check(p.name, info)
	var found []string
	known := 0
	for _, f := range p.syntax {
		ast.Inspect(f, func(n ast.Node) bool {
			r, ok := n.(*ast.RangeStmt)
			if !ok {
				return true
			}
			typ := info.TypeOf(r.X)
			if typ == nil || typ == types.Typ[types.Invalid] {
				return true
			}
			known++
			if _, ok := typ.Underlying().(*types.Map); ok {
				found = append(found, p.place(r))
			}
			return true
		})
	}
	if known == 0 && len(p.syntax) > 3 {
		t.Errorf("%s: no range statement could be read; the check has gone blind", p.name)
	}
	return found
}

// check gives types to a package of ours. info may be nil.
func (h *house) check(name string, info *types.Info) *types.Package {
	if p := h.checked[name]; p != nil && info == nil {
		return p
	}
	config := types.Config{Importer: h, Error: func(error) {}, FakeImportC: true}
	p, _ := config.Check(modulePath+"/"+name, h.set, h.byName[name].syntax, info)
	h.checked[name] = p
	return p
}

// Import implements types.Importer: our packages from their source, an empty one
// for all others.
func (h *house) Import(path string) (*types.Package, error) {
	name, ours := strings.CutPrefix(path, modulePath+"/")
	if ours && h.has(name) {
		return h.check(name, nil), nil
	}
	if ours {
		return nil, fmt.Errorf("no package %s", path)
	}
	p := types.NewPackage(path, path[strings.LastIndex(path, "/")+1:])
	p.MarkComplete()
	return p, nil
}
