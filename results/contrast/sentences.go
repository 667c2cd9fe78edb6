package contrast

import (
	"fmt"
	"math"
	"strings"

	"halflight/results/stat"
	"halflight/results/unit"
)

// headlines are the measures that sentences speak of, by what a reader asks
// first; * stands for the name of a class.
var headlines = []struct {
	what, name string
}{
	{"slow work", "app.*.slow_share"},
	{"avoidable loss", "lost_seconds.avoidable"},
	{"stranded loss", "lost_seconds.stranded"},
	{"loss of external traffic", "lost_seconds.external"},
	{"routers that compute for a fault", "blast.routers.median"},
	{"time that servers are cut off", "servers.cut_off"},
	{"median convergence of cuts", "full_convergence.median"},
	{"p99 convergence of cuts", "full_convergence.p99"},
	{"the wait a fresh event would meet", "wait_now.mean"},
	{"nights of a campaign", "upgrades.nights"},
	{"hours with a box out", "upgrades.exposure"},
	{"mistakes in changes", "faults.change"},
	{"work for technicians", "technicians.offered"},
}

// Sentences says in words, for every other side, what is decided against the
// first, what is not, which input without a source would turn it, and what pairing
// gave.
func (c *Contrast) Sentences() []string {
	var list []string
	for i := 1; i < len(c.Sides); i++ {
		list = append(list, c.decided(i))
		if c.Turning != nil {
			list = append(list, c.Turning.Sentence(c, i))
		}
		list = append(list, c.pairing(i))
		if b, ok := c.BreakEven(i); ok {
			list = append(list, b.Sentence(c.Level))
		}
	}
	return list
}

func (c *Contrast) decided(i int) string {
	var sure, open, equal, blank []string
	for _, h := range headlines {
		r := c.Find(h.name)
		if r == nil {
			continue
		}
		switch d := &r.Differences[i-1]; {
		case d.Sure:
			sure = append(sure, h.what+" "+change(r.Values[0], r.Values[i], d.Difference, r.Unit))
		case d.Difference.Available():
			open = append(open, h.what)
		case d.Difference.Known && d.Difference.Value == 0:
			equal = append(equal, h.what)
		default:
			blank = append(blank, h.what)
		}
	}
	text := fmt.Sprintf("%s against %s: ", c.Sides[i].Name, c.Sides[0].Name)
	if len(sure) > 0 {
		text += "beyond doubt " + strings.Join(sure, "; ")
	} else {
		text += "no headline differs beyond doubt"
	}
	for _, rest := range []struct {
		what string
		list []string
	}{{"not decided", open}, {"no difference seen", equal}, {"too few events for an interval", blank}} {
		if len(rest.list) > 0 {
			text += "; " + rest.what + ": " + strings.Join(rest.list, ", ")
		}
	}
	return text + "."
}

// change words a step from one value to another, by its interval where their digits
// are the same.
func change(from, to Value, by stat.Estimate, in string) string {
	if at := words(from.Value, in); at == words(to.Value, in) {
		if by.High < 0 {
			return fmt.Sprintf("goes from %s down by %s to %s", at, words(-by.High, in), words(-by.Low, in))
		}
		return fmt.Sprintf("goes from %s up by %s to %s", at, words(by.Low, in), words(by.High, in))
	}
	text := fmt.Sprintf("goes from %s to %s", words(from.Value, in), words(to.Value, in))
	if ratio := to.Value / from.Value; from.Value > 0 && to.Value > 0 && (ratio >= 2 || ratio <= 0.5) {
		if ratio < 1 {
			return text + fmt.Sprintf(" (by a factor of %s less)", unit.Digits(1/ratio))
		}
		return text + fmt.Sprintf(" (by a factor of %s more)", unit.Digits(ratio))
	}
	return text
}

func words(v float64, in string) string { return unit.Words(v, in) }

func (c *Contrast) pairing(i int) string {
	n := len(c.Sure(i))
	if c.withInterval(i) == 0 {
		return "No difference has an interval."
	}
	text := fmt.Sprintf("Of %d differences that have an interval, %d are beyond doubt: 0 lies outside intervals that hold at %.4g %% for all of them at once",
		c.withInterval(i), n, 100*c.Level)
	if c.Few(i) {
		text = fmt.Sprintf("None of %d differences that have an interval is called beyond doubt: that takes at least %d replications, and there are %d",
			c.withInterval(i), stat.PairsLeast, c.Pairs(i))
	}
	paired, not, gain := c.Paired(i)
	switch {
	case !c.Common:
		text += "; the seeds differ, so nothing was paired"
	case paired == 0:
		text += "; pairing helped none of them"
	case math.IsInf(gain, 1):
		text += fmt.Sprintf("; %d were taken pair by pair, most of them without any chance left in the difference", paired)
	default:
		text += fmt.Sprintf("; %d were taken pair by pair, which in the median is worth %s times the replications", paired, unit.Digits(gain))
	}
	if c.Common && paired > 0 && not > 0 {
		text += fmt.Sprintf("; for %d common draws did not help, and they were compared as unrelated", not)
		if c.LeftOut > 0 {
			text += ", over the replications that every side holds"
		}
	}
	if c.Fabrics {
		text += "; the fabrics differ in size, so only parts of the same name share draws"
	}
	return text + "."
}

func (c *Contrast) withInterval(i int) int {
	a, b, _ := c.Paired(i)
	return a + b
}
