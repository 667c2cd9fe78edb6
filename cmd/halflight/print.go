package main

import (
	"encoding/json"
	"io"
	"strings"
)

// print writes an answer: as JSON, or as the text that is written for people.
func (d *door) print(asJSON bool, answer any, text func(b *strings.Builder)) error {
	if asJSON {
		return d.printJSON(answer)
	}
	var b strings.Builder
	text(&b)
	_, err := d.out.Write([]byte(b.String()))
	return err
}

// printJSON writes a value with one entry a line.
func (d *door) printJSON(v any) error { return writeJSON(d.out, v) }

// writeJSON does the same to a writer.
func writeJSON(to io.Writer, v any) error {
	e := json.NewEncoder(to)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(v)
}
