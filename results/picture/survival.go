package picture

import (
	"fmt"
	"math"
	"slices"

	"halflight/results/phrase"
	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/sim/record"
)

// pointsMost is how many points a line has at most: more cannot be told apart.
const pointsMost = 300

// Survival is the same cut in a quiet night and a noisy day: the share of cuts
// that have not converged yet, by time since the cut, one line a setting and
// background. One or two results.
func Survival(list []*Result) Picture {
	p := Picture{ID: "quiet-and-noise", Title: "The same cut in a quiet night and a noisy day",
		X:    Axis{Label: "time since the cut", Unit: unit.Seconds, Log: true},
		Y:    Axis{Label: "cuts not converged yet", Unit: unit.Share, Low: 0, High: 1},
		Read: "A cut is a hard fault or a restart, as in all figures of convergence. A line shows the share of cuts that had not converged (RFC 6412) after a time; further right is slower. Quiet: every router's back-off was at rest as the cut came. Noise: it was not, and not by doing of the same part in the last 10 min. Bands hold 95 % of chance, cuts taken as independent. A tail of minutes and more is loss that cannot be told apart from that of faults under way."}
	p.X.Low, p.X.High = math.Inf(1), 0
	table := &Table{Head: []string{"setting", "background", "cuts", "median", "p95", "p99"}, Left: 2}
	noisy := 0
	var spreads []cutSpread
	for i, r := range list {
		for _, b := range []struct {
			name  string
			style Style
			is    record.Background
		}{{"quiet", Calm, record.Quiet}, {"noise", Uneasy, record.Noise}} {
			c := r.cuts(b.is)
			spreads = append(spreads, c)
			if b.is == record.Noise {
				noisy += len(c.all)
			}
			row := []string{r.label(list), b.name, fmt.Sprint(len(c.all))}
			for _, q := range []float64{0.5, 0.95, 0.99} {
				row = append(row, phrase.With(c.quantile(q), unit.Seconds))
			}
			table.Rows = append(table.Rows, row)
			if len(c.all) < 5 || c.all[len(c.all)-1] == 0 {
				continue // a line of four points is none, nor is one that is over at once
			}
			name := "in " + b.name
			if b.is == record.Quiet {
				name = "quiet"
			}
			l := survival(c.all, name+", "+r.label(list), b.style)
			l.Second = i > 0
			p.Lines = append(p.Lines, l)
			p.X.Low, p.X.High = min(p.X.Low, l.X[1]), max(p.X.High, l.X[len(l.X)-1])
		}
	}
	p.Table = table
	if len(p.Lines) == 0 {
		p.Without = "fewer than five cuts converged in this result"
		more := max(40, 10*len(list[0].Set.Replications))
		p.Command = fmt.Sprintf("halflight run %s --replications %d --out more && halflight report more", list[0].Made.Scenario, more)
		return p
	}
	p.X.Low, p.X.High = decade(p.X.Low, math.Floor), decade(p.X.High, math.Ceil)
	p.Says = quietAgainstNoise(list, spreads)
	if noisy < stat.EventsLeast {
		p.Command = "halflight run lull && halflight run storm && halflight report lull-1 storm-1"
		p.Read += fmt.Sprintf(" %s came in noise here, so that line is missing or thin; the shipped pair lull and storm has the same cuts in both: run both and report them together.", capital(onlyCuts(noisy)))
	}
	return p
}

// label tells results apart where there are two.
func (r *Result) label(list []*Result) string {
	if len(list) > 1 {
		return r.Name + " (" + r.Setting + ")"
	}
	return r.Setting
}

// cutSpread is the Full Convergence Times, s, of the cuts with one background: those
// of full_convergence.quiet and .noise.
type cutSpread struct {
	all    []float64 // sorted
	pooled *stat.Pooled
	seed   uint64
}

func (r *Result) cuts(is record.Background) cutSpread {
	c := cutSpread{seed: r.Set.Study.Seed}
	by := make([][]float64, len(r.Set.Replications))
	for i := range by {
		for k := range r.Set.Replications[i].Faults {
			f := &r.Set.Replications[i].Faults[k]
			if r.Set.Header.Modes[f.Mode].Cut() && f.Background == is && f.FullConvergence != record.None {
				by[i] = append(by[i], float64(f.FullConvergence)/1e9)
			}
		}
		c.all = append(c.all, by[i]...)
	}
	slices.Sort(c.all)
	c.pooled = stat.Pool(by)
	return c
}

// quantile is one with its interval, resampled by replication.
func (c *cutSpread) quantile(q float64) stat.Estimate {
	if len(c.all) == 0 {
		return stat.Estimate{Reason: "no cut"}
	}
	return c.pooled.Quantile(q, 0.95, c.seed)
}

// highest is the highest of p99, p95 and the median that has an interval.
func (c *cutSpread) highest() (string, float64) {
	for _, q := range []struct {
		name string
		at   float64
	}{{"p99", 0.99}, {"p95", 0.95}} {
		if e := c.quantile(q.at); e.Available() {
			return q.name, q.at
		}
	}
	return "the median", 0.5
}

// survival is the share of sorted values above each of them. The first point is
// before the least one above 0: an axis of powers of ten has no 0.
func survival(values []float64, name string, style Style) Line {
	n := len(values)
	l := Line{Name: name, Style: style, Step: true}
	add := func(x float64, over int) {
		low, high := stat.Wilson(over, n, 0.95)
		l.X, l.Y, l.Low, l.High = append(l.X, x), append(l.Y, float64(over)/float64(n)), append(l.Low, low), append(l.High, high)
	}
	from := 0 // of the values, how many are 0
	for values[from] == 0 {
		from++
	}
	add(values[from]/10, n-from)
	stride := max(1, n/pointsMost)
	for i := from; i < n; i++ {
		if i+1 < n && values[i+1] == values[i] {
			continue
		}
		// Thin where there are many, but never the tail.
		if i%stride == 0 || n-i <= pointsMost/4 || i == n-1 {
			add(values[i], n-1-i)
		}
	}
	return l
}

// decade rounds a positive number down or up to a power of ten.
func decade(v float64, round func(float64) float64) float64 {
	if v <= 0 || math.IsInf(v, 0) {
		return 1e-3
	}
	return math.Pow(10, round(math.Log10(v)))
}

// onlyCuts counts cuts that are too few.
func onlyCuts(n int) string {
	if n == 0 {
		return "no cut"
	}
	return "only " + unit.Count(n, "cut")
}

// quietAgainstNoise says what noise cost: of each result the highest quantile
// that its data carry an interval for.
func quietAgainstNoise(list []*Result, spreads []cutSpread) string {
	text := ""
	for i, r := range list {
		quiet, noise := spreads[2*i], spreads[2*i+1]
		if len(list) > 1 {
			text += r.Name + ": "
		}
		switch few := stat.EventsLeast; {
		case len(noise.all) >= few && len(quiet.all) >= few:
			name, q := noise.highest()
			if n, at := quiet.highest(); at < q {
				name, q = n, at
			}
			a, b := noise.quantile(q), quiet.quantile(q)
			text += fmt.Sprintf("at %s a cut in noise takes %s, one in quiet %s", name, phrase.With(a, unit.Seconds), phrase.With(b, unit.Seconds))
			if b.Value > 0 {
				text += fmt.Sprintf(": %s times as long", unit.Digits(a.Value/b.Value))
			}
			text += ". "
		case len(noise.all) >= few:
			name, q := noise.highest()
			text += fmt.Sprintf("at %s a cut in noise takes %s; hardly any cut met routers at rest. ", name, phrase.With(noise.quantile(q), unit.Seconds))
		case len(quiet.all) > 0:
			name, q := quiet.highest()
			text += fmt.Sprintf("at %s a cut in quiet takes %s; %s came in noise, but an event at a random moment would have met %s of wait beyond timers at rest on average. ",
				name, phrase.With(quiet.quantile(q), unit.Seconds), onlyCuts(len(noise.all)), of(r.Summary, "penalty_now.mean"))
		default:
			text += "too few cuts to say anything. "
		}
	}
	if len(list) == 1 {
		text = capital(text)
	}
	return text[:len(text)-1]
}
