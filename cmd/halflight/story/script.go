package story

import (
	"fmt"
	"slices"
	"strings"

	"halflight/cmd/halflight/words"
	"halflight/model"
	"halflight/model/failure"
	"halflight/sim"
	"halflight/sim/impact"
)

// Ranks of the lines of one instant: what is done, what routers say and work
// out, what it comes to.
const (
	rankFault = iota
	rankSay
	rankRun
	rankLost
	rankDone
)

// Script tells what a script did.
func Script(b *strings.Builder, w *model.World, p *sim.Played) {
	fmt.Fprintf(b, "%s: %s over %s; %s, %s\n\n", w.Name, words.Many(len(w.Script), "scripted fault"), words.Span(w.Horizon),
		words.Many(len(w.Fabric.Routers), "router"), words.Many(len(w.Fabric.Links), "link"))
	var lines []told
	for i := range w.Script {
		lines = append(lines, faultLines(i, &w.Script[i], &p.Faults[i], w.WarmUp+w.Horizon)...)
	}
	lines = append(lines, workLines(p)...)
	for _, s := range p.Servers {
		lines = append(lines, told{s.At, rankRun, s.What + " ", -1, s.To})
	}
	lines = append(lines, lostLines(p)...)
	lay(b, w.WarmUp, lines)
	timeline(b, w, p)
	for i := range p.Faults {
		faultStory(b, &p.Faults[i])
	}
	summaryStory(b, w, p)
}

// faultLines tell the onset, the changes and the end of a fault, and when it was
// done with.
func faultLines(i int, s *failure.Scripted, f *sim.PlayedFault, until int64) []told {
	name := fmt.Sprintf("fault %d", i)
	lines := []told{{s.At, rankFault, fmt.Sprintf("%s begins: %s", name, describe(s)), -1, nil}}
	for n, offset := range s.Changes {
		if at := s.At + offset; at < until && (s.End < 0 || at < s.End) {
			state := "dark"
			if n%2 == 1 {
				state = "lit"
			}
			lines = append(lines, told{at, rankFault, fmt.Sprintf("%s: %s is %s", name, s.On, state), -1, nil})
		}
	}
	if s.End >= 0 && s.End < until {
		lines = append(lines, told{s.End, rankFault, fmt.Sprintf("%s ends: %s", name, s.On), -1, nil})
	}
	if f.FullConvergence > 0 {
		lines = append(lines, told{s.At + f.FullConvergence, rankDone,
			fmt.Sprintf("%s is converged, %s after its onset", name, words.Span(f.FullConvergence)), -1, nil})
	}
	if f.RepairConvergence > 0 && s.End >= 0 {
		lines = append(lines, told{s.End + f.RepairConvergence, rankDone,
			fmt.Sprintf("the end of %s is converged, %s after it", name, words.Span(f.RepairConvergence)), -1, nil})
	}
	return slices.DeleteFunc(lines, func(l told) bool { return l.at >= until })
}

// describe says what a fault does to what.
func describe(s *failure.Scripted) string {
	text := s.Kind.String()
	switch {
	case s.Kind == failure.Hard && s.Light:
		text += ", light left on,"
	case s.Kind == failure.Lossy || s.Kind == failure.Silent:
		text += " " + words.Share(s.Loss)
	case s.Kind == failure.Blackhole:
		text += fmt.Sprintf(" for %s of flows", words.Share(s.Share))
	case s.Kind == failure.Oversize:
		text += fmt.Sprintf(" above %s bytes", words.Figure(s.Above, 6))
	}
	return text + " on " + s.On
}

// workLines tell who originated an LSP and who ran SPF, all routers of one
// instant on one line.
func workLines(p *sim.Played) []told {
	said, ran := map[int64][]string{}, map[int64][]string{}
	for i := range p.Routers {
		r := &p.Routers[i]
		for _, at := range r.Originations {
			said[at] = append(said[at], r.Name)
		}
		for _, at := range r.Runs {
			ran[at] = append(ran[at], r.Name)
		}
	}
	var lines []told
	for at, names := range said {
		lines = append(lines, told{at, rankSay, "new LSP of ", -1, names})
	}
	for at, names := range ran {
		lines = append(lines, told{at, rankRun, "SPF runs at ", -1, names})
	}
	return lines
}

// lostLines tell how the lost share changed.
func lostLines(p *sim.Played) []told {
	var lines []told
	for i, s := range p.LostShare {
		text := "tables or conditions change what is lost"
		switch {
		case i == 0 && s.Share == 0:
			text = "nothing is lost"
		case i == 0 || p.LostShare[i-1].Share == 0:
			text = "traffic begins to be lost"
		case s.Share == 0:
			text = "nothing is lost any more"
		case s.Share < p.LostShare[i-1].Share:
			text = "less is lost"
		case s.Share > p.LostShare[i-1].Share:
			text = "more is lost"
		}
		lines = append(lines, told{s.At, rankLost, text, s.Share, nil})
	}
	return lines
}

// phaseHead is over the rows of phaseRows.
var phaseHead = []string{"phase", "lost s", "of it"}

// phaseRows are the phases that anything was lost in, of a total above 0.
func phaseRows(names []string, lost []float64, total float64) [][]string {
	var rows [][]string
	for i, v := range lost {
		if v > 0 {
			rows = append(rows, []string{names[i], words.Figure(v, 4), words.Share(v / total)})
		}
	}
	return rows
}

// faultStory sums one fault up, with the phases that its loss fell in.
func faultStory(b *strings.Builder, f *sim.PlayedFault) {
	fmt.Fprintf(b, "\nFault %d, %s on %s: %s lost seconds\n", f.Index, f.Kind, f.On, words.Figure(f.LostSeconds, 4))
	if rows := phaseRows(impact.PhaseNames(), f.Phases, f.LostSeconds); len(rows) > 0 {
		words.Table(b, 1, phaseHead, rows)
	}
	var says []string
	if f.FullConvergence >= 0 {
		says = append(says, "Full Convergence Time "+words.Span(f.FullConvergence))
	}
	if f.Isolated >= 0 && f.Isolated != f.FullConvergence {
		says = append(says, words.Span(f.Isolated)+" with all later changes left out")
	}
	if f.RepairConvergence >= 0 {
		says = append(says, words.Span(f.RepairConvergence)+" from its end")
	}
	if f.Open {
		says = append(says, "still there at the horizon")
	}
	if len(says) > 0 {
		words.Note(b, strings.Join(says, "; ")+".")
	}
}

// summaryStory sums the script up.
func summaryStory(b *strings.Builder, w *model.World, p *sim.Played) {
	fmt.Fprintf(b, "\nAll together: %s lost seconds of all demand\n", words.Figure(p.LostSeconds, 4))
	var rows [][]string
	for i, state := range p.States {
		total, all, most, who := int64(0), int64(0), int64(-1), ""
		for r := range p.Routers {
			t := p.Routers[r].Backoff
			if len(t) == 0 {
				continue
			}
			total += t[i]
			for _, v := range t {
				all += v
			}
			if t[i] > most {
				most, who = t[i], p.Routers[r].Name
			}
		}
		mean := float64(total) / float64(max(all, 1))
		rows = append(rows, []string{state, words.Share(mean), words.Period(float64(most) / 3600e9), who})
	}
	words.Table(b, 1, []string{"back-off state", "of live router time", "most", "at"}, rows)
	if len(p.RouteLoss) == 0 {
		return
	}
	worst := p.RouteLoss[0]
	for _, r := range p.RouteLoss {
		if r.Time > worst.Time {
			worst = r
		}
	}
	words.Note(b, fmt.Sprintf("%s lost some flow entirely though a path was there; most %s in all, from %s to %s.",
		words.Many(len(p.RouteLoss), "ordered pair")+" of leaves", words.Span(worst.Time), worst.From, worst.To))
}
