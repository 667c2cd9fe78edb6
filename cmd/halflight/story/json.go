package story

import "halflight/sim"

// Played is a played script for other programs. Times are ns, null where
// there is none; shares and lost seconds are of all demand.
type Played struct {
	LostShare   [][2]any                `json:"lost_share"` // [t, share from t on]
	LostSeconds float64                 `json:"lost_seconds"`
	RouteLoss   [][3]any                `json:"route_loss_ns"` // [from, to, time]
	Faults      []PlayedFault           `json:"faults"`
	Routers     map[string]PlayedRouter `json:"routers"`
}

// PlayedFault is one fault of a script.
type PlayedFault struct {
	Index             int     `json:"index"`
	On                string  `json:"on"`
	Kind              string  `json:"kind"`
	FullConvergence   *int64  `json:"full_convergence_ns"`
	RepairConvergence *int64  `json:"repair_convergence_ns"`
	Isolated          *int64  `json:"isolated_ns"` // with all later changes left out
	Open              bool    `json:"open"`        // still there at the horizon
	LostSeconds       float64 `json:"lost_seconds"`
}

// PlayedRouter is what one router did.
type PlayedRouter struct {
	Runs         []int64          `json:"spf_runs_ns"`
	Originations []int64          `json:"originations_ns"`
	Backoff      map[string]int64 `json:"backoff_ns"` // time in each state
}

// PlayedOf turns a played script into what is printed.
func PlayedOf(p *sim.Played) Played {
	s := Played{LostShare: [][2]any{}, LostSeconds: p.LostSeconds, RouteLoss: [][3]any{}, Faults: []PlayedFault{},
		Routers: map[string]PlayedRouter{}}
	for _, step := range p.LostShare {
		s.LostShare = append(s.LostShare, [2]any{step.At, step.Share})
	}
	for _, r := range p.RouteLoss {
		s.RouteLoss = append(s.RouteLoss, [3]any{r.From, r.To, r.Time})
	}
	for _, f := range p.Faults {
		s.Faults = append(s.Faults, PlayedFault{f.Index, f.On, f.Kind, orNull(f.FullConvergence), orNull(f.RepairConvergence),
			orNull(f.Isolated), f.Open, f.LostSeconds})
	}
	for _, r := range p.Routers {
		backoff := map[string]int64{}
		for i, t := range r.Backoff {
			backoff[p.States[i]] = t
		}
		s.Routers[r.Name] = PlayedRouter{orEmpty(r.Runs), orEmpty(r.Originations), backoff}
	}
	return s
}

// orNull is the null of JSON for a time that does not exist.
func orNull(t int64) *int64 {
	if t < 0 {
		return nil
	}
	return &t
}

// orEmpty is the empty list of JSON for none.
func orEmpty(list []int64) []int64 {
	if list == nil {
		return []int64{}
	}
	return list
}
