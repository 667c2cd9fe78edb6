package messages

import (
	"fmt"
	"math"
	"slices"

	"halflight/model"
	"halflight/sim"
)

// outcome is what a script came to.
type outcome struct {
	shares  []step
	lost    float64 // s of all demand
	routers []instants
}

// instants are those of one router, ns.
type instants struct {
	name               string
	runs, originations []int64
}

func asOutcome(p *play) outcome {
	o := outcome{shares: p.shares, lost: p.lost / 1e9}
	for r, x := range p.routers {
		o.routers = append(o.routers, instants{p.f.Routers[r].Name, x.runs, x.originations})
	}
	return o
}

// engine plays a script with the engine.
func engine(w *model.World) outcome {
	played := sim.Script(w)
	o := outcome{lost: played.LostSeconds}
	for _, s := range played.LostShare {
		o.shares = append(o.shares, step{s.At, s.Share})
	}
	for _, r := range played.Routers {
		o.routers = append(o.routers, instants{r.Name, r.Runs, r.Originations})
	}
	return o
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Max(1, math.Abs(a)) }

// steps leaves out changes that are rounding.
func steps(all []step) []step {
	var kept []step
	for _, s := range all {
		if n := len(kept); n == 0 || math.Abs(s.share-kept[n-1].share) > 1e-12 {
			kept = append(kept, s)
		}
	}
	return kept
}

// differ says where two outcomes differ first, or nothing.
func differ(a, b outcome) string {
	a.shares, b.shares = steps(a.shares), steps(b.shares)
	for i, r := range a.routers {
		if !slices.Equal(r.originations, b.routers[i].originations) {
			return fmt.Sprintf("%s originates at %v, %v", r.name, r.originations, b.routers[i].originations)
		}
	}
	for i, r := range a.routers {
		if !slices.Equal(r.runs, b.routers[i].runs) {
			return fmt.Sprintf("%s runs at %v, %v", r.name, r.runs, b.routers[i].runs)
		}
	}
	for i := range max(len(a.shares), len(b.shares)) {
		if i >= len(a.shares) || i >= len(b.shares) || a.shares[i].at != b.shares[i].at || !near(a.shares[i].share, b.shares[i].share) {
			return fmt.Sprintf("lost share, step %d: %v, %v", i, a.shares, b.shares)
		}
	}
	if !near(a.lost, b.lost) {
		return fmt.Sprintf("lost seconds: %v, %v", a.lost, b.lost)
	}
	return ""
}
