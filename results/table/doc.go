// Package table lays the faults and the replications of a set out as plain
// tables, one row each, for whatever else people use: as CSV, which is always
// written, and as Parquet on request, with the same columns and values.
//
// It estimates nothing and knows no file: it writes to an io.Writer. Columns
// follows from the header of a set alone; Dictionary names all of them with unit
// and meaning. It is tested by reading back what it wrote, here and by readers
// that are not ours.
package table
