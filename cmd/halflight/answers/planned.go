package answers

import (
	"fmt"
	"math"
	"strings"

	"halflight/cmd/halflight/words"
	"halflight/model/sizing"
)

// plannedText writes what a campaign of upgrades takes, and below what length of a
// restart keeping tables loses less.
func plannedText(b *strings.Builder, p *sizing.Planned) {
	fmt.Fprintf(b, "A campaign of upgrades: %s boxes, %s at once, each out for %s\n", words.Grouped(int64(p.Boxes)), words.Grouped(int64(p.AtOnce)), words.Period(p.Length/3600))
	nights := "at any hour"
	if !math.IsInf(float64(p.Nights), 1) {
		nights = fmt.Sprintf("%s nights, as %s boxes one after the other fit into one", words.Grouped(int64(p.Nights)), words.Grouped(p.PerNight))
	}
	fmt.Fprintf(b, "  %-9s %s\n  %-9s %s with a box out\n", "takes", nights, "exposure", words.Period(p.Exposure))
	fmt.Fprintln(b, "What one box loses that restarts with traffic on it")
	var rows [][]string
	for _, r := range p.Restarts {
		pays := "always"
		if !math.IsInf(float64(r.Pays), 1) {
			pays = words.Period(float64(r.Pays) / 3600)
		}
		rows = append(rows, []string{r.Tier, lostTime(r.Cold), lostTime(r.Kept), pays})
	}
	words.Table(b, 1, []string{"boxes", "tables forgotten", "kept", "keeping pays below"}, rows)
	grace := ""
	if len(p.Restarts) > 0 {
		grace = " Neighbours wait for restart.grace, " + words.Period(p.Restarts[0].Grace/3600) + ": whatever is longer is as if forgotten from then on."
	}
	words.Note(b, "Time of all demand lost, timers at rest. Kept: to second faults that its tables do not answer, on average (hard faults, flaps and "+
		"restarts of links, spines and tops; Campbell's theorem). Pays: the length of restart up to which that is less. Drained in the right order a spine or "+
		"top loses nothing either way."+grace)
}

// lostTime writes seconds of all demand.
func lostTime(s float64) string {
	if s == 0 {
		return "nothing"
	}
	if s < 1 {
		return words.Figure(s*1e3, 3) + " ms"
	}
	return words.Figure(s, 3) + " s"
}
