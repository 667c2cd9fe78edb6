package page

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/tw"

	"halflight/results"
	"halflight/results/stat"
)

const (
	columns = 5
	gap     = "  "
)

// table lays out all groups in one table, so that columns stand under each other.
// It also names what was not seen at all.
func table(s *results.Summary, n *notes) (lines, none []string) {
	head := []string{"", "value", fmt.Sprintf("%.4g %% interval", 100*s.Level), "events", "notes"}
	rows := [][]string{}
	titles := map[int]string{}
	for i := range groups {
		shown, unseen := groups[i].pick(s)
		for _, m := range unseen {
			none = append(none, bounded(m))
		}
		if len(shown) == 0 {
			continue
		}
		if len(rows) > 0 {
			rows = append(rows, make([]string, columns))
		}
		titles[len(rows)] = groups[i].title
		if strings.HasPrefix(shown[0].Name, "cost.") && s.Currency != "" {
			titles[len(rows)] += ", in " + s.Currency
		}
		rows = append(rows, make([]string, columns))
		for k, label := range labels(shown) {
			m := shown[k]
			rows = append(rows, []string{label, valueCell(m), intervalCell(m), eventsCell(m), n.cell(m)})
		}
	}
	fit(head, rows)
	lines = render(head, rows)
	for i, title := range titles {
		lines[1+i] = title // over the whole width, not of the first column
	}
	return lines, none
}

// bounded names a measure of which nothing was seen; a rate with what it is at
// most.
func bounded(m *results.Measure) string {
	if m.Estimate.Sides != stat.UpperBound || !strings.HasPrefix(m.Name, "faults.") {
		return m.Name
	}
	return fmt.Sprintf("%s (%s/month)", m.Name, intervalCell(m))
}

// fit cuts the labels to what the other columns leave of the width.
func fit(head []string, rows [][]string) {
	room := Width
	for c := 1; c < len(head); c++ {
		widest := utf8.RuneCountInString(head[c])
		for _, row := range rows {
			widest = max(widest, utf8.RuneCountInString(row[c]))
		}
		room -= widest + len(gap)
	}
	for _, row := range rows {
		row[0] = cut(row[0], max(room, 8))
	}
}

// render draws the rows of a summary; one line each, the head first.
func render(head []string, rows [][]string) []string {
	return draw(head, rows, tw.AlignLeft, tw.AlignRight, tw.AlignRight, tw.AlignRight, tw.AlignLeft)
}

// draw draws rows without rules, each column as aligned; one line each, the head
// first.
func draw(head []string, rows [][]string, columns ...tw.Align) []string {
	align := tw.CellAlignment{PerColumn: columns}
	plain := tw.CellFormatting{AutoFormat: tw.Off, AutoWrap: tw.WrapNone}
	var out strings.Builder
	t := tablewriter.NewTable(&out,
		tablewriter.WithConfig(tablewriter.Config{
			Header: tw.CellConfig{Alignment: align, Formatting: plain},
			Row:    tw.CellConfig{Alignment: align, Formatting: plain},
		}),
		tablewriter.WithRendition(tw.Rendition{
			Borders:  tw.BorderNone,
			Settings: tw.Settings{Separators: tw.SeparatorsNone, Lines: tw.LinesNone},
		}),
		tablewriter.WithPadding(tw.Padding{Right: gap, Overwrite: true}),
		tablewriter.WithTrimSpace(tw.Off))
	t.Header(head)
	if err := t.Bulk(rows); err != nil {
		panic(fmt.Sprintf("page: table of %d rows: %v", len(rows), err))
	}
	if err := t.Render(); err != nil {
		panic(fmt.Sprintf("page: table of %d rows: %v", len(rows), err))
	}
	lines := strings.Split(strings.TrimRight(out.String(), "\n"), "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	if len(lines) != len(rows)+1 {
		panic(fmt.Sprintf("page: %d rows became %d lines", len(rows)+1, len(lines)))
	}
	return lines
}
