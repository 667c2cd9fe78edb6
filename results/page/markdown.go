package page

import (
	"fmt"
	"io"
	"strings"

	"halflight/results"
)

// Markdown writes the verdicts and headline figures of a summary as a page for a
// build server: what was simulated, a table of objectives, one of figures, the
// three sentences and the cautions. Lines are not wrapped. The error is the
// writer's.
func Markdown(to io.Writer, s *results.Summary) error {
	var b strings.Builder
	fmt.Fprintf(&b, "## %s, seed %d\n\n", plain(s.Study.Scenario), s.Study.Seed)
	for _, line := range paragraphs(s) {
		b.WriteString(plain(line) + "\n\n")
	}
	if len(s.Verdicts) > 0 {
		rows := [][]string{}
		for i := range s.Verdicts {
			v := &s.Verdicts[i]
			rows = append(rows, []string{string(v.Answer), v.Objective, v.Text + doubts(v)})
		}
		grid(&b, []string{"answer", "objective", "why"}, "lll", rows)
	}
	if s.Replications > 0 {
		for i := range groups[:2] {
			shown, _ := groups[i].pick(s)
			rows := [][]string{}
			for _, m := range shown {
				rows = append(rows, []string{m.Name, valueCell(m), intervalCell(m), eventsCell(m), codes(m)})
			}
			grid(&b, []string{groups[i].title, "value", fmt.Sprintf("%.4g %% interval", 100*s.Level), "events", "doubts"}, "lrrrl", rows)
		}
	}
	for _, line := range append(append([]string(nil), s.Sentences...), cautions...) {
		b.WriteString("- " + plain(line) + "\n")
	}
	_, err := io.WriteString(to, b.String())
	return err
}

// paragraphs are the lines of the head, unwrapped.
func paragraphs(s *results.Summary) []string {
	p := &text{}
	p.head(s)
	return p.lines
}

// codes names the doubts about a measure.
func codes(m *results.Measure) string {
	var out []string
	for _, w := range m.Estimate.Warnings {
		out = append(out, string(w.Code))
	}
	return strings.Join(out, ", ")
}

// grid writes a table. align has an l or r for each column.
func grid(b *strings.Builder, head []string, align string, rows [][]string) {
	line := func(cells []string) {
		for i, c := range cells {
			if i == 0 {
				b.WriteString("|")
			}
			b.WriteString(" " + plain(c) + " |")
		}
		b.WriteString("\n")
	}
	line(head)
	for i, a := range align {
		if i == 0 {
			b.WriteString("|")
		}
		b.WriteString(map[rune]string{'l': " --- |", 'r': " --: |"}[a])
	}
	b.WriteString("\n")
	for _, r := range rows {
		line(r)
	}
	b.WriteString("\n")
}

// plain keeps text from being taken for marks.
func plain(s string) string {
	return strings.NewReplacer("|", "\\|", "<", "&lt;", "*", "\\*", "`", "\\`", "\n", " ").Replace(s)
}
