package main

import (
	"encoding/json"

	"halflight/sim"
)

// scriptJSON is a played script for other programs. Times are ns, null where
// there is none; shares and lost seconds are of all demand.
type scriptJSON struct {
	LostShare   [][2]any              `json:"lost_share"` // [t, share from t on]
	LostSeconds float64               `json:"lost_seconds"`
	RouteLoss   [][3]any              `json:"route_loss_ns"` // [from, to, time]
	Faults      []faultJSON           `json:"faults"`
	Routers     map[string]routerJSON `json:"routers"`
}

type faultJSON struct {
	Index             int     `json:"index"`
	On                string  `json:"on"`
	Kind              string  `json:"kind"`
	FullConvergence   *int64  `json:"full_convergence_ns"`
	RepairConvergence *int64  `json:"repair_convergence_ns"`
	Isolated          *int64  `json:"isolated_ns"` // with all later changes left out
	Open              bool    `json:"open"`        // still there at the horizon
	LostSeconds       float64 `json:"lost_seconds"`
}

type routerJSON struct {
	Runs         []int64          `json:"spf_runs_ns"`
	Originations []int64          `json:"originations_ns"`
	Backoff      map[string]int64 `json:"backoff_ns"` // time in each state
}

func playedJSON(p *sim.Played) scriptJSON {
	s := scriptJSON{LostShare: [][2]any{}, LostSeconds: p.LostSeconds, RouteLoss: [][3]any{}, Faults: []faultJSON{},
		Routers: map[string]routerJSON{}}
	for _, step := range p.LostShare {
		s.LostShare = append(s.LostShare, [2]any{step.At, step.Share})
	}
	for _, r := range p.RouteLoss {
		s.RouteLoss = append(s.RouteLoss, [3]any{r.From, r.To, r.Time})
	}
	for _, f := range p.Faults {
		s.Faults = append(s.Faults, faultJSON{f.Index, f.On, f.Kind, orNull(f.FullConvergence), orNull(f.RepairConvergence),
			orNull(f.Isolated), f.Open, f.LostSeconds})
	}
	for _, r := range p.Routers {
		backoff := map[string]int64{}
		for i, t := range r.Backoff {
			backoff[p.States[i]] = t
		}
		s.Routers[r.Name] = routerJSON{orEmpty(r.Runs), orEmpty(r.Originations), backoff}
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

// printJSON writes a value on one line per entry of its first level.
func (d *door) printJSON(v any) error {
	e := json.NewEncoder(d.out)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(v)
}
