package table

import (
	"halflight/results"
	"halflight/sim/record"
)

// Kind is what a column holds.
type Kind uint8

// Whole is int64, Number a finite float64, Truth yes or no.
const (
	Text Kind = iota
	Whole
	Number
	Truth
)

// Column is one column of a table.
type Column struct {
	Name string
	Kind Kind
}

// Cell is one value, of the kind of its column. The zero value is none.
type Cell struct {
	There  bool
	Text   string
	Whole  int64
	Number float64
	Truth  bool
}

// Table is rows under columns.
type Table struct {
	Name    string // of what: faults, replications
	Columns []Column
	Rows    int
	row     func(i int, to []Cell) []Cell
}

// Row appends the cells of a row to a slice, one for each column.
func (t *Table) Row(i int, to []Cell) []Cell { return t.row(i, to) }

func text(s string) Cell     { return Cell{There: s != "", Text: s} }
func whole(n int64) Cell     { return Cell{There: true, Whole: n} }
func number(v float64) Cell  { return Cell{There: true, Number: v} }
func truth(is bool) Cell     { return Cell{There: true, Truth: is} }
func seconds(ns int64) Cell  { return Cell{There: ns != record.None, Number: float64(ns) / 1e9} }
func hours(ns float64) Cell  { return number(ns / 3.6e12) }
func part(a, b float64) Cell { return Cell{There: b > 0, Number: a / max(b, 1e-300)} }

// maker collects columns and how a row is read.
type maker[R any] struct {
	columns []Column
	cells   []func(r *R) Cell
}

func (m *maker[R]) add(name string, kind Kind, cell func(r *R) Cell) {
	m.columns = append(m.columns, Column{name, kind})
	m.cells = append(m.cells, cell)
}

func (m *maker[R]) table(name string, rows []R) *Table {
	return &Table{Name: name, Columns: m.columns, Rows: len(rows), row: func(i int, to []Cell) []Cell {
		for _, cell := range m.cells {
			to = append(to, cell(&rows[i]))
		}
		return to
	}}
}

// Of returns both tables of a set.
func Of(set *results.Set) []*Table { return []*Table{Faults(set), Replications(set)} }
