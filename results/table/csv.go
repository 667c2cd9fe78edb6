package table

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
)

// CSV writes a table as RFC 4180 has it, but that lines end in a bare newline:
// the names of the columns, then a row a line. A value that is not there is
// empty. Numbers are written in as few digits as give the same number again.
func (t *Table) CSV(to io.Writer) error {
	w := csv.NewWriter(to)
	line := make([]string, len(t.Columns))
	for c := range t.Columns {
		line[c] = t.Columns[c].Name
	}
	if err := w.Write(line); err != nil {
		return err
	}
	var cells []Cell
	for i := range t.Rows {
		cells = t.Row(i, cells[:0])
		for c := range cells {
			word, err := t.word(c, &cells[c])
			if err != nil {
				return fmt.Errorf("row %d: %w", i+1, err)
			}
			line[c] = word
		}
		if err := w.Write(line); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

// word writes a cell of a column.
func (t *Table) word(column int, cell *Cell) (string, error) {
	if !cell.There {
		return "", nil
	}
	switch t.Columns[column].Kind {
	case Whole:
		return strconv.FormatInt(cell.Whole, 10), nil
	case Number:
		if math.IsNaN(cell.Number) || math.IsInf(cell.Number, 0) {
			return "", fmt.Errorf("%s is %v", t.Columns[column].Name, cell.Number)
		}
		return strconv.FormatFloat(cell.Number, 'g', -1, 64), nil
	case Truth:
		return strconv.FormatBool(cell.Truth), nil
	}
	return cell.Text, nil
}
