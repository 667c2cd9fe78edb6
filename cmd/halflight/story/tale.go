package story

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"halflight/cmd/halflight/words"
	"halflight/sim"
	"halflight/sim/record"
)

// Tale tells of one fault of a random replication: what happened from its
// onset on, an event a line, then its figures and what it cost by phase.
func Tale(b *strings.Builder, scenario string, seed uint64, replication uint32, t *sim.Tale) {
	f := &t.Fault
	words.Note(b, fmt.Sprintf("%s, seed %d, replication %d: fault %d, %s on %s, %s after the start of the warm-up, %s.", scenario, seed,
		replication, f.Index, named(t), words.Fit(f.On, 60), words.Span(f.Onset), background(f.Background)))
	b.WriteByte('\n')
	taleLines(b, t.Lines)
	if t.Cut {
		words.Note(b, fmt.Sprintf("More happened than is told: the story ends after %s.", words.Many(len(t.Lines), "line")))
	}
	words.Note(b, "Times count from the onset. What is lost, of all traffic from then on, is lost to this fault and to others.")

	fmt.Fprintf(b, "\nFault %d: %s lost seconds of all demand\n", f.Index, words.Figure(f.LostSeconds, 4))
	if rows := phaseRows(t.Phases, f.Phases, f.LostSeconds); len(rows) > 0 {
		words.Table(b, 1, phaseHead, rows)
	}
	words.Table(b, 1, []string{"figure", "value"}, figureRows(f))
}

// named is the mode of a fault, and its kind where that says more.
func named(t *sim.Tale) string {
	if t.Mode == t.Kind {
		return t.Mode
	}
	return fmt.Sprintf("%s (%s)", t.Mode, t.Kind)
}

func background(b record.Background) string {
	switch b {
	case record.Quiet:
		return "all timers at rest"
	case record.Noise:
		return "in noise"
	}
	return "in noise of the same part's making"
}

// taleLines lays the lines of a tale, wrapped at the width of a story.
func taleLines(b *strings.Builder, lines []sim.Line) {
	fine, column := false, len("time")
	for _, l := range lines {
		fine = fine || l.At%1e6 != 0
	}
	for _, l := range lines {
		column = max(column, len(words.Clock(l.At, fine)))
	}
	fmt.Fprintf(b, "  %*s  %9s  %s\n", column, "time", "lost", "what happens")
	before := 0.0
	for _, l := range lines {
		text := l.Text
		if text == "" {
			text = moved(before, l.Share)
		}
		before = l.Share
		for i, part := range wrap(text, width-column-15) {
			if i == 0 {
				fmt.Fprintf(b, "  %*s  %9s  %s\n", column, words.Clock(l.At, fine), words.Share(l.Share), part)
			} else {
				fmt.Fprintf(b, "%*s%s\n", column+15, "", part)
			}
		}
	}
}

// moved says which way the lost share went.
func moved(before, now float64) string {
	switch {
	case now == 0:
		return "nothing is lost any more"
	case now < before:
		return "less is lost"
	}
	return "more is lost"
}

// wrap breaks a text between words into lines of at most so many characters; a
// longer word is cut.
func wrap(text string, most int) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsSeq(text) {
		word = words.Fit(word, most)
		switch {
		case line == "":
			line = word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > most:
			lines = append(lines, line)
			line = word
		default:
			line += " " + word
		}
	}
	return append(lines, line)
}

// figureRows are the figures of a fault that it has.
func figureRows(f *record.Fault) [][]string {
	rows := [][]string{}
	for _, r := range []struct {
		name string
		ns   int64
	}{
		{"lasted", lasted(f)},
		{"Full Convergence Time", f.FullConvergence},
		{"the same, from its end", f.RepairConvergence},
		{"longest SPF wait", f.SPFWait},
		{"Route Loss of Connectivity, most of one pair", f.RouteLoss},
		{"first sighting after", f.Sighted},
		{"out of use after", f.Mitigated},
	} {
		if r.ns != record.None {
			rows = append(rows, []string{r.name, words.Span(r.ns)})
		}
	}
	if f.SightedBy != "" {
		rows = append(rows, []string{"sighted by", f.SightedBy})
	}
	return append(rows, []string{"routers that ran SPF", words.Grouped(int64(f.Touched))},
		[]string{"ordered leaf pairs that lost traffic", words.Grouped(int64(f.Pairs))})
}

// lasted is how long a fault was there, None if it was there at the horizon.
func lasted(f *record.Fault) int64 {
	if f.End == record.None {
		return record.None
	}
	return f.End - f.Onset
}
