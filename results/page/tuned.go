package page

import (
	"fmt"
	"io"
	"strings"

	"github.com/olekukonko/tablewriter/tw"

	"halflight/results/tuned"
	"halflight/results/unit"
)

// Tuned writes what a search of timers came to. The error is the writer's.
func Tuned(to io.Writer, a *tuned.Answer) error {
	p := &text{most: Width}
	st := &a.Study
	p.say("", fmt.Sprintf("%s, seed %d: %s started beside the present setting, %d were left at the end of the race; the local search tried %d. "+
		"A router may be busy for %s of its worst 10 s.", st.Scenario, st.Seed, unit.Count(a.Searched.Start, "candidate"),
		a.Searched.Alive[len(a.Searched.Alive)-1]-1, a.Searched.Local, unit.Words(a.Limit, unit.Share)))
	p.say("", "All figures below but those of flatness are of replications that the search has not seen.")
	p.knobs(a)
	p.conditions(a)
	if a.Full != nil {
		p.contrast(a.Full, 1, true)
		p.blank()
		p.say("", fmt.Sprintf("%s of %s each at the scenario's own flap rate. * beyond doubt, as in compare.",
			unit.Count(len(a.Full.Sides[0].Set.Replications), "replication"), span(st.Horizon)))
		if a.Full.Few(1) {
			p.hints(fewest(a.Full))
		}
	}
	p.curves(a)
	p.blank()
	p.say("", "Not searched: "+strings.Join(a.Untuned, "; ")+".")
	return p.end(to, a.Sentences)
}

// knobs writes the timers and how flat the best is.
func (p *text) knobs(a *tuned.Answer) {
	p.blank()
	head := []string{"timer", "present", "best", "floor", "cost at half", "at twice"}
	var rows [][]string
	for _, k := range a.Knobs {
		half, twice := "-", "-"
		for _, f := range a.Flat {
			if f.Key != k.Key {
				continue
			}
			cell := fmt.Sprintf("%+.3f", f.Change.Value)
			if f.Change.Low != nil && (*f.Change.Low > 0 || *f.Change.High < 0) {
				cell += " *"
			} else {
				cell += "  "
			}
			if f.Over {
				cell = "over limit  "
			}
			if f.Up {
				twice = cell
			} else {
				half = cell
			}
		}
		best := k.Best
		if k.AtFloor && a.Found {
			best += " (floor)"
		}
		rows = append(rows, []string{strings.TrimPrefix(k.Key, "timers."), k.Present, best, k.Floor, half, twice})
	}
	fit(head, rows)
	p.lines = append(p.lines, draw(head, rows, tw.AlignLeft, tw.AlignRight, tw.AlignRight, tw.AlignRight, tw.AlignRight, tw.AlignRight)...)
	p.say("", "Cost: half the logarithm of the ratio of p99 convergence and half of what loss adds; 0.1 is about a tenth more of both. * 0 lies outside the 95 % interval.")
}

// conditions writes present against best under each condition.
func (p *text) conditions(a *tuned.Answer) {
	p.blank()
	head := []string{"", "loss", "best", "p99", "best", "busy", "best"}
	var rows [][]string
	for _, c := range a.Conditions {
		row := []string{c.Name}
		for _, pair := range [][2]string{
			{lossCell(c.Present), lossCell(c.Best)},
			{p99Cell(c.Present), p99Cell(c.Best)},
			{unit.Words(c.Present.Busy, unit.Share), unit.Words(c.Best.Busy, unit.Share)},
		} {
			if !a.Found {
				pair[1] = "-"
			}
			row = append(row, pair[0], pair[1])
		}
		rows = append(rows, row)
	}
	fit(head, rows)
	p.lines = append(p.lines, draw(head, rows, tw.AlignLeft, tw.AlignRight, tw.AlignRight, tw.AlignRight, tw.AlignRight, tw.AlignRight, tw.AlignRight)...)
	p.say("", "The present setting and the best. Loss is avoidable, per month of 30 d at such a rate; p99 that of convergence after cuts, a mean over replications that had any; busy the worst 10 s of any router seen.")
}

func lossCell(m tuned.Means) string { return join(limit(m.Loss, unit.SPerMonth)) }

func p99Cell(m tuned.Means) string {
	if m.P99 == 0 {
		return "-"
	}
	return unit.Words(m.P99, unit.Seconds)
}

// curves writes what speed costs, one table a flap rate, least busy first.
func (p *text) curves(a *tuned.Answer) {
	rates := 0
	for _, c := range a.Conditions {
		if c.Storm {
			continue
		}
		p.blank()
		p.say("", "What speed costs, "+c.Name+":")
		head := []string{"setting", "busy", "p99 convergence", "avoidable loss"}
		var rows [][]string
		for _, one := range a.Curve {
			m := one.Means[rates]
			rows = append(rows, []string{one.Label, unit.Words(m.Busy, unit.Share), p99Cell(m), lossCell(m)})
		}
		p.lines = append(p.lines, draw(head, rows, tw.AlignLeft, tw.AlignRight, tw.AlignRight, tw.AlignRight)...)
		rates++
	}
	p.say("", "Numbered settings are in tune.json.")
}
