package table

import (
	"fmt"
	"io"
	"reflect"

	"github.com/parquet-go/parquet-go"
)

// rowsAtATime is how many rows are handed over together.
const rowsAtATime = 1024

// Parquet writes a table as an Apache Parquet file with the columns in the order
// of the CSV, all of them optional, and without compression: compressed bytes
// would change with the version of the compressor. about is put into the file as
// key and value, in turn.
func (t *Table) Parquet(to io.Writer, about ...string) error {
	schema := t.schema()
	options := []parquet.WriterOption{schema, parquet.CreatedBy("halflight", "", ""), parquet.Compression(&parquet.Uncompressed)}
	for i := 0; i+1 < len(about); i += 2 {
		options = append(options, parquet.KeyValueMetadata(about[i], about[i+1]))
	}
	w := parquet.NewGenericWriter[any](to, options...)
	var cells []Cell
	rows := make([]parquet.Row, 0, rowsAtATime)
	for i := range t.Rows {
		cells = t.Row(i, cells[:0])
		row := make(parquet.Row, len(cells))
		for c := range cells {
			row[c] = t.value(c, &cells[c])
		}
		if rows = append(rows, row); len(rows) == rowsAtATime || i == t.Rows-1 {
			if _, err := w.WriteRows(rows); err != nil {
				return fmt.Errorf("rows up to %d: %w", i+1, err)
			}
			rows = rows[:0]
		}
	}
	return w.Close()
}

// schema is that of a struct made for the purpose: a group of named nodes would
// put the columns into the order of their names.
func (t *Table) schema() *parquet.Schema {
	fields := make([]reflect.StructField, len(t.Columns))
	for i, c := range t.Columns {
		kind, more := reflect.TypeFor[*string](), ",dict"
		switch c.Kind {
		case Whole:
			kind, more = reflect.TypeFor[*int64](), ""
		case Number:
			kind, more = reflect.TypeFor[*float64](), ""
		case Truth:
			kind, more = reflect.TypeFor[*bool](), ""
		}
		fields[i] = reflect.StructField{Name: fmt.Sprintf("C%d", i), Type: kind,
			Tag: reflect.StructTag(fmt.Sprintf(`parquet:"%s,optional%s"`, c.Name, more))}
	}
	return parquet.NewSchema(t.Name, parquet.SchemaOf(reflect.New(reflect.StructOf(fields)).Interface()))
}

// value is a cell as the file holds it.
func (t *Table) value(column int, cell *Cell) parquet.Value {
	v := parquet.NullValue()
	if cell.There {
		switch t.Columns[column].Kind {
		case Whole:
			v = parquet.Int64Value(cell.Whole)
		case Number:
			v = parquet.DoubleValue(cell.Number)
		case Truth:
			v = parquet.BooleanValue(cell.Truth)
		default:
			v = parquet.ByteArrayValue([]byte(cell.Text))
		}
		return v.Level(0, 1, column)
	}
	return v.Level(0, 0, column)
}
