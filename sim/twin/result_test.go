package twin

import (
	"encoding/json"
	"fmt"
	"math/big"
)

// Result is the outcome of a script: times in ns, shares of all offered traffic.
type Result struct {
	LostShare   []Step            `json:"lost_share"`
	LostSeconds float64           `json:"lost_seconds"`
	Faults      []FaultResult     `json:"faults"`
	Routers     map[string]Router `json:"routers"`
	RouteLossNS []PairLoss        `json:"route_loss_ns"`

	// Uncharged is what no fault could be charged with; it must be 0.
	Uncharged float64 `json:"-"`
}

// Step is a change of the lost share.
type Step struct {
	T     int64
	Share float64
}

// FaultResult is what one fault cost. Times a fault has not got are nil.
type FaultResult struct {
	Index       int     `json:"index"`
	On          string  `json:"on"`
	Kind        string  `json:"kind"`
	Full        *int64  `json:"full_convergence_ns"`
	Repair      *int64  `json:"repair_convergence_ns"`
	Open        bool    `json:"open"`
	Isolated    *int64  `json:"isolated_ns"`
	LostSeconds float64 `json:"lost_seconds"`
}

// Router is what one router did.
type Router struct {
	SPFRuns      []int64          `json:"spf_runs_ns"`
	Originations []int64          `json:"originations_ns"`
	Backoff      map[string]int64 `json:"backoff_ns"`
}

// PairLoss is the Route Loss of Connectivity Period of a leaf pair.
type PairLoss struct {
	From, To string
	NS       int64
}

func (x Step) MarshalJSON() ([]byte, error) { return json.Marshal([]any{x.T, x.Share}) }

func (x *Step) UnmarshalJSON(text []byte) error {
	var v []json.RawMessage
	if err := json.Unmarshal(text, &v); err != nil {
		return err
	}
	if len(v) < 2 {
		return fmt.Errorf("twin: a step of %d parts", len(v))
	}
	if err := json.Unmarshal(v[0], &x.T); err != nil {
		return err
	}
	return json.Unmarshal(v[1], &x.Share)
}

func (x PairLoss) MarshalJSON() ([]byte, error) { return json.Marshal([]any{x.From, x.To, x.NS}) }

func (x *PairLoss) UnmarshalJSON(text []byte) error {
	return json.Unmarshal(text, &[]any{&x.From, &x.To, &x.NS})
}

// Play plays a scenario (JSON, all keys explicit). Each fault that has a Full
// Convergence Time is played again with all later changes left out (S24).
func Play(text []byte) (*Result, error) {
	scn, err := parseScenario(text)
	if err != nil {
		return nil, err
	}
	s, err := newSim(scn, -1)
	if err != nil {
		return nil, err
	}
	s.play()
	out := s.result()
	for i, x := range s.faults {
		if !x.measured() {
			continue
		}
		alone, err := newSim(scn, x.at)
		if err != nil {
			return nil, err
		}
		alone.play()
		ns := alone.convergence(i)
		out.Faults[i].Isolated = &ns
	}
	return out, nil
}

// convergence is the Full Convergence Time of fault i as played.
func (s *sim) convergence(i int) int64 {
	if t := s.meter.lastIn[i]; t >= 0 {
		return int64(t) - s.faults[i].at
	}
	return 0
}

func (s *sim) result() *Result {
	out := &Result{Routers: map[string]Router{}, LostSeconds: seconds(s.meter.lost), RouteLossNS: []PairLoss{}, Faults: []FaultResult{}}
	for _, x := range s.meter.steps {
		share, _ := x.share.Float64()
		out.LostShare = append(out.LostShare, Step{x.t, share})
	}
	for i := range s.faults {
		out.Faults = append(out.Faults, s.faultResult(i))
	}
	out.Uncharged = seconds(s.meter.lostBy[len(s.faults)])
	for r, name := range s.names {
		x := &s.routers[r]
		v := Router{append([]int64{}, x.spfRuns...), append([]int64{}, x.originations...), s.spent(r)}
		out.Routers[name] = v
	}
	for a := range s.leaves {
		for b := range s.leaves {
			if ns := s.meter.darkFor[a][b]; ns > 0 {
				out.RouteLossNS = append(out.RouteLossNS, PairLoss{s.names[a], s.names[b], ns})
			}
		}
	}
	return out
}

func (s *sim) faultResult(i int) FaultResult {
	x := s.faults[i]
	out := FaultResult{Index: i, On: x.on, Kind: x.kind, LostSeconds: seconds(s.meter.lostBy[i])}
	if !x.measured() {
		return out
	}
	full := s.convergence(i)
	out.Full = &full
	out.Open = x.end < 0 || x.end >= int64(s.scn.Horizon)
	if !out.Open {
		repair := int64(0)
		if t := s.meter.lastAfter[i]; t >= 0 {
			repair = int64(t) - x.end
		}
		out.Repair = &repair
	}
	return out
}

func seconds(shareNS *big.Rat) float64 {
	x, _ := new(big.Rat).Quo(shareNS, big.NewRat(1e9, 1)).Float64()
	return x
}
