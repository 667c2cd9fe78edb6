package twin

import (
	"math"
	"slices"
	"testing"
)

// TestRandomScripts plays random scripts and holds what must be true of any.
func TestRandomScripts(t *testing.T) {
	for seed := range uint64(400) {
		holdInvariants(t, seed, Generate(seed))
	}
	for seed := range uint64(150) {
		holdInvariants(t, seed, GenerateAll(seed))
	}
}

func holdInvariants(t *testing.T, seed uint64, text string) {
	t.Helper()
	scn, err := parseScenario([]byte(text))
	if err != nil {
		t.Fatalf("seed %d: %v", seed, err)
	}
	s, err := newSim(scn, -1)
	if err != nil {
		t.Fatalf("seed %d: %v", seed, err)
	}
	s.play()
	if s.busy() {
		t.Errorf("seed %d: not quiet at the horizon: %+v\n%s", seed, s.queue[0], text)
		return
	}
	sum := 0.0
	for i := range s.meter.lostBy {
		sum += seconds(s.meter.lostBy[i])
	}
	if total := seconds(s.meter.lost); math.Abs(sum-total) > 1e-12*max(1, total) {
		t.Errorf("seed %d: parts %v, total %v\n%s", seed, sum, total, text)
	}
	if x := seconds(s.meter.lostBy[len(s.faults)]); x != 0 {
		t.Errorf("seed %d: %v lost seconds are charged to no fault\n%s", seed, x, text)
	}
	for r := range s.routers {
		if !s.ctl[r] || s.routers[r].frozen || len(s.routers[r].kept) > 0 || s.blinkered() {
			continue
		}
		for d := range s.leaves {
			if got, want := s.routers[r].table[d].hops, s.truth.tables[r][d]; !slices.Equal(got, want) {
				t.Errorf("seed %d: %s to %s: next hops %v, converged %v\n%s", seed, s.names[r], s.names[d], got, want, text)
				return
			}
		}
	}
}

// blinkered: some adjacency will be held by one end only (S8), or a router
// forwards without a control plane (S28, S29), or is dead unseen. Then an LSP may never reach a
// router that the truth gives it to.
func (s *sim) blinkered() bool {
	for _, x := range s.truth.listed {
		if x[0] != x[1] {
			return true
		}
	}
	for r := range s.names {
		if s.fwd[r] && !s.ctl[r] {
			return true
		}
		if d := s.scn.Detection; !s.fwd[r] && !d.BFD.On && !d.Hello.On {
			return true // its last LSP says what is no longer so, and nobody misses it
		}
	}
	return false
}

// busy: something but the end of a grace that nobody needs is still to come.
func (s *sim) busy() bool {
	for _, e := range s.queue {
		if e.kind != evGrace {
			return true
		}
	}
	return false
}
