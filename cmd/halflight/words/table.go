package words

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/tw"
)

// Table writes aligned columns without lines: the first left columns flush
// left, the rest flush right. The bytes do not depend on the terminal. Every row
// must have as many cells as the head.
func Table(b *strings.Builder, left int, head []string, rows [][]string) {
	align := make([]tw.Align, len(head))
	for i := range align {
		align[i] = tw.AlignRight
		if i < left {
			align[i] = tw.AlignLeft
		}
	}
	for _, row := range rows {
		if len(row) != len(head) {
			panic(fmt.Sprintf("words: a row of %d cells under a head of %d", len(row), len(head)))
		}
	}
	var raw strings.Builder
	cells := tw.CellAlignment{PerColumn: align}
	t := tablewriter.NewTable(&raw,
		tablewriter.WithConfig(tablewriter.Config{
			Header: tw.CellConfig{Alignment: cells, Formatting: tw.CellFormatting{AutoFormat: tw.Off}},
			Row:    tw.CellConfig{Alignment: cells, Formatting: tw.CellFormatting{AutoWrap: tw.WrapNone}},
		}),
		tablewriter.WithRendition(tw.Rendition{Borders: tw.BorderNone,
			Settings: tw.Settings{Separators: tw.SeparatorsNone, Lines: tw.LinesNone}}),
		tablewriter.WithPadding(tw.Padding{Right: "  ", Overwrite: true}))
	t.Header(head)
	if err := t.Bulk(rows); err != nil {
		panic("words: " + err.Error())
	}
	if err := t.Render(); err != nil {
		panic("words: " + err.Error())
	}
	for line := range strings.Lines(raw.String()) {
		b.WriteString(strings.TrimRight("  "+line, " \n") + "\n")
	}
}

// Note writes text in lines of at most 96 characters, indented by two.
func Note(b *strings.Builder, text string) {
	width := 0
	for word := range strings.FieldsSeq(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case width == 0:
			b.WriteString("  ")
			width = 2
		case width+1+n > 98:
			b.WriteString("\n  ")
			width = 2
		default:
			b.WriteByte(' ')
			width++
		}
		b.WriteString(word)
		width += n
	}
	b.WriteByte('\n')
}
