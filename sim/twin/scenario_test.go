package twin

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/big"
	"strings"
)

// span is a length of time in nanoseconds, written "1050ms" in a scenario.
type span int64

// spanUnits are tried in order: the longer spelling first, so that "ms" is not
// read as "s".
var spanUnits = []struct {
	name string
	ns   int64
}{
	{"ns", 1}, {"us", 1e3}, {"ms", 1e6}, {"min", 60e9}, {"s", 1e9}, {"h", 3600e9}, {"d", 86400e9}, {"w", 7 * 86400e9}, {"y", 365 * 86400e9},
}

func (d *span) UnmarshalJSON(text []byte) error {
	var s string
	if err := json.Unmarshal(text, &s); err != nil {
		return err
	}
	for _, u := range spanUnits {
		number, ok := strings.CutSuffix(s, u.name)
		if !ok {
			continue
		}
		x, ok := new(big.Rat).SetString(strings.TrimSpace(number))
		if !ok {
			continue
		}
		x.Mul(x, new(big.Rat).SetInt64(u.ns))
		if !x.IsInt() {
			return fmt.Errorf("twin: %q is not a whole number of nanoseconds", s)
		}
		*d = span(x.Num().Int64())
		return nil
	}
	return fmt.Errorf("twin: %q is not a length of time", s)
}

// packets is a protocol that sends at a fixed interval: BFD or hellos; a
// scenario writes false to switch it off.
type packets struct {
	On         bool
	Interval   span
	Multiplier int64
	Receive    span
	At         map[string]struct {
		Interval, Receive span
		Multiplier        int64
	}
	ThreeWay bool `json:"three_way"`
}

func (p *packets) UnmarshalJSON(text []byte) error {
	if bytes.Equal(bytes.TrimSpace(text), []byte("false")) {
		return nil
	}
	type plain packets
	p.On = true
	return json.Unmarshal(text, (*plain)(p))
}

// bucket is flooding.pacing, or off.
type bucket struct {
	On       bool
	Burst    int64
	Interval span
}

func (b *bucket) UnmarshalJSON(text []byte) error {
	if bytes.Equal(bytes.TrimSpace(text), []byte("false")) {
		return nil
	}
	type plain bucket
	b.On = true
	return json.Unmarshal(text, (*plain)(b))
}

// turns is fib.ordered, or off.
type turns struct {
	On         bool
	Hold, Step span
}

func (p *turns) UnmarshalJSON(text []byte) error {
	if bytes.Equal(bytes.TrimSpace(text), []byte("false")) {
		return nil
	}
	type plain turns
	p.On = true
	return json.Unmarshal(text, (*plain)(p))
}

// damping is detection.damping, or off.
type damping struct {
	On        bool
	Increment float64
	CutOff    float64 `json:"cut_off"`
	Reuse     float64
	HalfLife  span `json:"half_life"`
	Hold      span
}

func (p *damping) UnmarshalJSON(text []byte) error {
	if bytes.Equal(bytes.TrimSpace(text), []byte("false")) {
		return nil
	}
	type plain damping
	p.On = true
	return json.Unmarshal(text, (*plain)(p))
}

// window is flooding.window, or off.
type window struct {
	On       bool
	Burst    int
	Interval span
	Receive  int
	PerAck   int  `json:"per_ack"`
	AckDelay span `json:"ack_delay"`
}

func (p *window) UnmarshalJSON(text []byte) error {
	if bytes.Equal(bytes.TrimSpace(text), []byte("false")) {
		return nil
	}
	type plain window
	p.On = true
	return json.Unmarshal(text, (*plain)(p))
}

// reducing is flooding.reduced, or off.
type reducing struct {
	On     bool
	Degree int
	Redraw span
}

func (p *reducing) UnmarshalJSON(text []byte) error {
	if bytes.Equal(bytes.TrimSpace(text), []byte("false")) {
		return nil
	}
	type plain reducing
	p.On = true
	return json.Unmarshal(text, (*plain)(p))
}

type doubling struct {
	Form             string
	FirstDelay       span `json:"first_delay"`
	IncrementalDelay span `json:"incremental_delay"`
	MaximumDelay     span `json:"maximum_delay"`
	WaitTime         span `json:"wait_time"`
}

// spfTimers is one SPF back-off family; exactly one is not nil.
type spfTimers struct {
	RFC8405 *struct {
		InitialDelay span `json:"initial_delay"`
		ShortDelay   span `json:"short_delay"`
		LongDelay    span `json:"long_delay"`
		TimeToLearn  span `json:"time_to_learn"`
		Holddown     span
	}
	Doubling *doubling
	TwoStep  *struct {
		RapidDelay span `json:"rapid_delay"`
		RapidRuns  int  `json:"rapid_runs"`
		SlowDelay  span `json:"slow_delay"`
		WaitTime   span `json:"wait_time"`
	} `json:"two_step"`
}

type scenario struct {
	Name    string
	Horizon span
	Fabric  struct {
		Clos struct {
			Pods, Leaves, Spines, Tops, Parallel int
		}
		Metrics map[string]int64
	}
	Timers struct {
		SPF   spfTimers
		Mixed []struct {
			On  string
			SPF spfTimers
		}
		LSPGeneration doubling `json:"lsp_generation"`
		SPFRun        span     `json:"spf_run"`
	}
	FIB struct {
		Base       span
		PerPrefix  span `json:"per_prefix"`
		LocalPrune bool `json:"local_prune"`
		PruneDelay span `json:"prune_delay"`

		Prefixes     int64
		Families     string
		Labels       int64
		SharedGroups bool `json:"shared_groups"`
		RepairTunnel bool `json:"repair_tunnel"`
		LocalDelay   span `json:"local_delay"`
		Ordered      turns
	}
	Detection struct {
		Signal, Settle span
		BFD, Hello     packets
		Damping        damping
	}
	Flooding struct {
		PerHop          span `json:"per_hop"`
		Exchange        span
		Pacing          bucket
		SecondLSPCounts bool `json:"second_lsp_counts"`
		Lossy           bool
		Window          window
		Reduced         reducing
	}
	Overload struct {
		Leaves     bool
		UntilReady bool `json:"until_ready"`
	}
	Restart  struct{ Grace span }
	Underlay struct{ Hosts int }
	Hashing  string
	Groups   []struct {
		Name    string
		Members []string
	}
	Start  struct{ Backoff string }
	Script []scriptEntry
}

type scriptEntry struct {
	At      span
	On      string
	Kind    string
	For     *span
	Light   bool
	Plane   string
	Loss    json.Number
	Share   json.Number
	Above   int64
	Changes []span
	Period  span
	Off     span
	Factor  json.Number
	Kept    bool
}

func parseScenario(text []byte) (*scenario, error) {
	var scn scenario
	if err := json.Unmarshal(text, &scn); err != nil {
		return nil, err
	}
	if scn.Fabric.Clos.Parallel == 0 {
		scn.Fabric.Clos.Parallel = 1
	}
	return &scn, nil
}
