package page

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"github.com/olekukonko/tablewriter/tw"

	"halflight/results/contrast"
	"halflight/results/stat"
	"halflight/results/unit"
)

// contrasted are the measures of a comparison that are always shown.
const contrasted = "app.*.slow_share app.*.slow_share.worst_leaf lost_seconds.avoidable lost_seconds.stranded lost_seconds.external external_faults servers.* access.lost overlay.resets " +
	"full_convergence.median full_convergence.p95 full_convergence.p99 full_convergence.quiet.median full_convergence.noise.median " +
	"full_convergence.kind.hard.median wait_now.mean wait_now.p99 penalty_now.mean spf_wait.median backoff.* spf_runs busy.worst10s blast.pairs.median blast.routers.median load.hottest " +
	"unnoticed.median mitigation.median false_drains capacity.worst technicians.offered cost.access " +
	"upgrades.nights upgrades.exposure upgrades.capacity.worst faults.change"

// Contrast writes a comparison for a terminal: for every other side a table of
// the main measures, or of all, and what is decided. The error is the writer's.
func Contrast(to io.Writer, c *contrast.Contrast, all bool) error {
	p := &text{most: Width}
	p.partial(c.Partial)
	for i, s := range c.Sides {
		st := &s.Set.Study
		p.say("", fmt.Sprintf("%s: seed %d, %s of %s after a warm-up of %s.", c.Sides[i].Name, st.Seed,
			unit.Count(len(s.Set.Replications), "replication"), span(st.Horizon), span(st.WarmUp)))
	}
	if c.LeftOut > 0 {
		p.say("", fmt.Sprintf("%s left out, which not every side holds.", unit.Count(c.LeftOut, "replication")))
	}
	if !c.Measured {
		p.say("", "The sides measure other stretches of time; compare rates, not what grows with the horizon.")
	}
	p.hints(fewest(c))
	for i := 1; i < len(c.Sides); i++ {
		p.contrast(c, i, all)
	}
	if c.Turning != nil {
		p.turning(c)
	}
	p.blank()
	p.say("", fmt.Sprintf("Intervals are at %.4g %% each. * beyond doubt: outside 0 even when widened so that all %d intervals hold at once "+
		"(Bonferroni). r: correlation achieved by common draws; gain: how many times fewer replications pairing needs; - compared as unrelated. "+
		"Amounts and counts are per month of 30 d, SPF runs per router and hour.", 100*c.Level, c.Members))
	return p.end(to, c.Sentences())
}

// partial says that replications are missing, and why.
func (p *text) partial(why string) {
	if why != "" {
		p.say("", "PARTIAL RESULT: "+why+", replications are missing. Take the figures for a first look, not for the study.")
	}
}

// hints warns of intervals that rest on few replications.
func (p *text) hints(replications int) {
	switch {
	case replications < stat.PairsLeast:
		p.say("", fmt.Sprintf("Fewer than %d replications: intervals are hints, and nothing is beyond doubt.", stat.PairsLeast))
	case replications < stat.LookFirst:
		p.say("", fmt.Sprintf("Fewer than %d replications: take intervals as hints.", stat.LookFirst))
	}
}

// fewest is how many replications the side with the fewest has.
func fewest(c *contrast.Contrast) int {
	least := len(c.Sides[0].Set.Replications)
	for i := range c.Sides {
		least = min(least, c.Pairs(i))
	}
	return least
}

// contrast writes the table of one side against the first.
func (p *text) contrast(c *contrast.Contrast, i int, all bool) {
	var names []string
	var shown []*contrast.Row
	var also []string
	for k := range c.Rows {
		r := &c.Rows[k]
		d := &r.Differences[i-1]
		switch {
		case all || anyMatch(contrasted, r.Name):
			if d.Difference.Known {
				names, shown = append(names, r.Name), append(shown, r)
			}
		case d.Sure:
			also = append(also, r.Name)
		}
	}
	p.blank()
	p.say("", c.Sides[i].Name+" less "+c.Sides[0].Name+":")
	if len(shown) == 0 {
		p.say("", "No measure has a value on both sides.")
		return
	}
	head := []string{"", narrow(c.Sides[0].Name, 10), narrow(c.Sides[i].Name, 10), "difference", "r", "gain"}
	var rows [][]string
	for k, label := range folded(names) {
		r := shown[k]
		d := &r.Differences[i-1]
		rows = append(rows, []string{label, amount(r.Values[0], r.Unit), amount(r.Values[i], r.Unit), differenceCell(d, r.Unit), correlationCell(d), gainCell(d)})
	}
	fit(head, rows)
	p.lines = append(p.lines, draw(head, rows, tw.AlignLeft, tw.AlignRight, tw.AlignRight, tw.AlignRight, tw.AlignRight, tw.AlignRight)...)
	if len(also) > 0 {
		p.list("Also beyond doubt", also)
	}
}

// narrow cuts a name to a width from its end.
func narrow(name string, width int) string {
	if utf8.RuneCountInString(name) <= width {
		return name
	}
	return string([]rune(name)[:width-2]) + ".."
}

// amount writes a value without what its unit says after a slash.
func amount(v contrast.Value, in string) string {
	if !v.Known {
		return "-"
	}
	return join(limit(v.Value, in))
}

// differenceCell writes the interval of a difference, or the difference where
// there is none, and the mark of those beyond doubt.
func differenceCell(d *contrast.Difference, in string) string {
	e := &d.Difference
	switch {
	case !e.Known:
		return "-  "
	case e.Sides == stat.TwoSided && d.Sure:
		return between(e.Low, e.High, in) + " *"
	case e.Sides == stat.TwoSided:
		return between(e.Low, e.High, in) + "  "
	case e.Value == 0:
		return "none seen  "
	}
	return signed(e.Value, in) + "  "
}

// between writes two ends in the unit of the larger.
func between(low, high float64, in string) string {
	digitsLow, unitLow := limitSigned(low, in)
	digitsHigh, unitHigh := limitSigned(high, in)
	if low == 0 || unitLow == unitHigh {
		return join(digitsLow+" to "+digitsHigh, unitHigh)
	}
	if high == 0 {
		return join(digitsLow+" to "+digitsHigh, unitLow)
	}
	return join(digitsLow, unitLow) + " to " + join(digitsHigh, unitHigh)
}

func signed(v float64, in string) string { return join(limitSigned(v, in)) }

// limitSigned is limit for a value that may be below 0.
func limitSigned(v float64, in string) (digits, shown string) {
	digits, shown = limit(math.Abs(v), in)
	if v < 0 {
		digits = "-" + digits
	}
	return digits, shown
}

func correlationCell(d *contrast.Difference) string {
	if !d.Correlated || d.Difference.Sides != stat.TwoSided {
		return "-"
	}
	return fmt.Sprintf("%.2f", d.Correlation)
}

func gainCell(d *contrast.Difference) string {
	switch {
	case d.Difference.Sides != stat.TwoSided || !d.Paired:
		return "-"
	case math.IsInf(d.Reduction, 1) || d.Reduction >= 1e6:
		return ">1e6"
	}
	return unit.Digits(d.Reduction)
}

// turnsMost is how many inputs are shown of each headline.
const turnsMost = 3

// turning writes, of each decided headline, the inputs that leave least of it.
func (p *text) turning(c *contrast.Contrast) {
	t := c.Turning
	p.heading("Which input without a source would turn it")
	var rows [][]string
	shown, last := 0, ""
	for i := range t.Rows {
		r := &t.Rows[i]
		key := fmt.Sprint(r.Side, r.Measure)
		if shown++; key != last {
			shown, last = 0, key
		}
		if shown >= turnsMost {
			continue
		}
		what := ""
		if shown == 0 {
			what = r.What
			if len(c.Sides) > 2 {
				what += ", " + narrow(c.Sides[r.Side].Name, 12)
			}
		}
		left := fmt.Sprintf("%.0f %%", 100*r.Left)
		if r.Left < 0 {
			left += ", turned"
		}
		rows = append(rows, []string{what, plainKey(r.Input), contrast.Plain(r.Value), left})
	}
	if len(rows) > 0 {
		head := []string{"decided", "input", "at", "of it is left"}
		fit(head, rows)
		p.lines = append(p.lines, draw(head, rows, tw.AlignLeft, tw.AlignLeft, tw.AlignRight, tw.AlignRight)...)
	}
	text := fmt.Sprintf("%s without a source (grade D), one at a time at either end of its range; %s of each side, with the same draws: hints, not intervals.",
		unit.Count(t.Inputs, "input"), unit.Count(t.Replications, "replication"))
	if t.Ranged > 0 {
		text += fmt.Sprintf(" %d given in the scenario have no documented range: a third and three times.", t.Ranged)
	}
	p.say("", text)
	if len(t.Blank) > 0 {
		p.say("", "So few replications say nothing of "+strings.Join(t.Blank, ", ")+".")
	}
}
