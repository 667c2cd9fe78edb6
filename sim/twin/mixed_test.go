package twin

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// spfOf returns the SPF timers of a router: of two entries the later counts.
func (s *sim) spfOf(r int) *spfTimers {
	out := &s.scn.Timers.SPF
	for i := range s.scn.Timers.Mixed {
		m := &s.scn.Timers.Mixed[i]
		tier, _, _ := strings.Cut(s.names[r], "-")
		group, is := strings.CutPrefix(m.On, "group:")
		inside := false
		for _, g := range s.scn.Groups {
			for _, member := range g.Members {
				inside = inside || is && g.Name == group && s.canonical(member) == s.names[r]
			}
		}
		if m.On == tier || s.canonical(m.On) == s.names[r] || inside {
			out = &m.SPF
		}
	}
	return out
}

// spent returns how long r was in each state. Where families are mixed the first
// and the last states of all are counted together.
func (s *sim) spent(r int) map[string]int64 {
	lasted, names := s.meter.clocks[r].lasted, stateNames(s.spfOf(r))
	apart := false
	for y := range s.names {
		apart = apart || !slices.Equal(stateNames(s.spfOf(y)), stateNames(&s.scn.Timers.SPF))
	}
	out := map[string]int64{}
	if !apart {
		for _, n := range names {
			out[n] = lasted[n]
		}
		return out
	}
	return map[string]int64{"FIRST": lasted[names[0]], shortWait: lasted[shortWait], "LAST": lasted[names[len(names)-1]]}
}

// GenerateMixed is a script of every kind in which one to three of the routers, or
// a tier of them, have SPF timers of their own.
func GenerateMixed(seed uint64) string {
	return altered(GenerateAll(seed), func(out map[string]any, fab *fabric) {
		m := &maker{Rand: rand.New(rand.NewPCG(seed, 0x6d697865)), fab: fab}
		var mixed []any
		for range 1 + m.IntN(3) {
			on := pick(m, "leaf", "spine", fab.names[m.IntN(len(fab.names))], fab.names[m.IntN(len(fab.names))])
			mixed = append(mixed, map[string]any{"on": on, "spf": m.spf()})
		}
		if out["groups"] != nil {
			mixed = append(mixed, map[string]any{"on": "group:routers", "spf": m.spf()})
		}
		out["timers"].(map[string]any)["mixed"] = mixed
		out["fib"].(map[string]any)["prefixes"] = pick(m, 1, 1, 3)
	})
}

// The fast engine and the plain program agree on scripts of every kind in an area of
// mixed SPF timers (RFC 8405, section 7): every instant, share, charge and state.
func TestEngineAgreesWithTwinOnMixedTimers(t *testing.T) {
	agree(t, func(seed uint64) string { return GenerateMixed(seed + 10_000) }, 200)
}

// Of two entries for one router the later counts, in both programs.
func TestLaterEntryCounts(t *testing.T) {
	text := func(first, second string) string {
		return fmt.Sprintf(`{"random": false, "horizon": "20s", "fabric": {"clos": {"pods": 1, "leaves": 3, "spines": 2, "tops": 0}},
 "timers": {"spf": {"rfc8405": {"initial_delay": "50ms", "short_delay": "200ms", "long_delay": "5s", "time_to_learn": "500ms", "holddown": "10s"}},
  "mixed": [{"on": "leaf", "spf": {"two_step": {"rapid_delay": %q, "rapid_runs": 2, "slow_delay": "1s", "wait_time": "2s"}}},
            {"on": "leaf-0-1", "spf": {"two_step": {"rapid_delay": %q, "rapid_runs": 2, "slow_delay": "1s", "wait_time": "2s"}}}],
  "lsp_generation": {"first_delay": "0ms", "incremental_delay": "50ms", "maximum_delay": "1s", "wait_time": "2s"}, "spf_run": "1ms"},
 "fib": {"base": "5ms", "per_prefix": "0s", "local_prune": true, "prune_delay": "0s"},
 "detection": {"signal": "5ms", "settle": "10ms", "bfd": false, "hello": false},
 "flooding": {"per_hop": "2ms", "exchange": "0s", "pacing": false, "second_lsp_counts": true},
 "overload": {"leaves": false, "until_ready": true}, "restart": {"grace": "1s"}, "hashing": "independent",
 "script": [{"at": "1s", "on": "leaf-0-0~spine-0-0", "kind": "hard"}]}`, first, second)
	}
	for _, x := range [][2]string{{"30ms", "70ms"}, {"70ms", "30ms"}} {
		want, err := Play([]byte(text(x[0], x[1])))
		if err != nil {
			t.Fatal(err)
		}
		got := engine(t, text(x[0], x[1]))
		if d := Differ(want, got); d != "" {
			t.Error(d)
		}
		first := map[string]int64{"30ms": 30e6, "70ms": 70e6}
		// Its own LSP leaves leaf-0-0 at 1.005 s and is at the other leaves two hops later.
		for name, at := range map[string]int64{"leaf-0-0": 1005e6 + first[x[0]], "leaf-0-1": 1009e6 - 2e6 + first[x[1]], "leaf-0-2": 1007e6 + first[x[0]], "spine-0-0": 1055e6} {
			if runs := got.Routers[name].SPFRuns; len(runs) == 0 || runs[0] != at {
				t.Errorf("%s first runs at %v, want %d", name, runs, at)
			}
		}
		if b := got.Routers["leaf-0-1"].Backoff; len(b) != 3 || b["FIRST"]+b["LAST"] != 20e9 || b["LAST"] != 0 {
			t.Errorf("states of a leaf: %v", b)
		}
	}
}
