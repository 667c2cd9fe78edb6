package tuning

import (
	"math"
	"slices"

	"halflight/results/stat"
	"halflight/sim/record"
)

// Figures are what one replication says of timers.
type Figures struct {
	Loss    float64 `json:"loss"`    // avoidable lost seconds, per month
	Routing float64 `json:"routing"` // of them in phases of convergence, per month
	P99     float64 `json:"p99"`     // of the convergence of cuts, s; 0 without any
	Cuts    int     `json:"cuts"`
	Busy    float64 `json:"busy"` // worst 10-second share that a router computed or wrote
}

// month is 30 days, in ns.
const month = 30 * 86400e9

// FiguresOf reads the figures of a replication. Scripted faults on the parts named
// are cuts too.
func FiguresOf(h *record.Header, r *record.Replication, cuts ...string) Figures {
	months := float64(r.To-r.From) / month
	var loss, routing stat.RunningSum
	for _, row := range r.LostSeconds {
		for p, seconds := range row {
			switch h.Phases[p] {
			case "stranded":
			case "detection", "lsp_wait", "flooding", "spf_wait", "penalty", "spf_run", "fib_update", "loop":
				routing.Add(seconds)
				loss.Add(seconds)
			default:
				loss.Add(seconds)
			}
		}
	}
	f := Figures{Loss: loss.Value() / months, Routing: routing.Value() / months, Busy: r.BusyWorst10s}
	var times []float64
	for i := range r.Faults {
		one := &r.Faults[i]
		cut := h.Modes[one.Mode].Cut() || h.Modes[one.Mode].Kind == "script" && slices.Contains(cuts, one.On)
		if cut && one.FullConvergence != record.None {
			times = append(times, float64(one.FullConvergence)/1e9)
		}
	}
	if f.Cuts = len(times); f.Cuts > 0 {
		slices.Sort(times)
		f.P99 = stat.Type7(times, 0.99)
	}
	return f
}

// least is what a time of convergence is told apart by, s.
const least = 1e-3

// Cost compares figures with those of the present setting on the same block: the
// mean of what loss and convergence add. Convergence adds the logarithm of the
// ratio of the two p99. Loss adds the difference in units of scale, the present
// loss in phases of convergence, since most avoidable loss is that of gray faults
// which no timer moves; asinh keeps a rare large difference from ruling.
func Cost(f, present Figures, scale float64) float64 {
	cost := math.Asinh((f.Loss-present.Loss)/max(scale, 1e-9)) / 2
	if f.Cuts > 0 && present.Cuts > 0 {
		cost += math.Log((f.P99+least)/(present.P99+least)) / 2
	}
	return cost
}
