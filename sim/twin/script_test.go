package twin

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// fault is one entry of the script and its state now.
type fault struct {
	index    int
	on, kind string
	at       int64
	end      int64 // -1: without end
	light    bool
	plane    string
	kept     bool
	routers  []int
	links    []int // links named whole
	dirs     []int // directions named, both of a link named whole
	loss     *big.Rat
	share    *big.Rat
	above    int64
	factor   *big.Rat

	active bool // onset passed, end not
	off    bool // flapping: carrier off now
}

// What a change of the script does to its fault.
const (
	begins = iota
	turnsOff
	turnsOn
	ends
)

type change struct {
	t     int64
	fault int
	what  int
}

func readScript(scn *scenario, f *fabric) ([]*fault, []change, error) {
	var faults []*fault
	var changes []change
	for i, s := range scn.Script {
		x := &fault{index: i, on: s.On, kind: s.Kind, at: int64(s.At), end: -1, light: s.Light, plane: s.Plane, kept: s.Kept, above: s.Above}
		if s.For != nil {
			x.end = x.at + int64(*s.For)
		}
		x.loss, x.share, x.factor = rational(string(s.Loss)), rational(string(s.Share)), rational(string(s.Factor))
		if err := x.take(scn, f); err != nil {
			return nil, nil, err
		}
		changes = append(changes, x.changes(s, int64(scn.Horizon))...)
		faults = append(faults, x)
	}
	slices.SortStableFunc(changes, func(a, b change) int {
		switch {
		case a.t < b.t:
			return -1
		case a.t > b.t:
			return 1
		}
		return 0
	})
	return faults, changes, nil
}

func rational(s string) *big.Rat {
	x, ok := new(big.Rat).SetString(s)
	if !ok {
		return new(big.Rat)
	}
	return x
}

// take finds the parts of a fault; a group stands for all its members.
func (x *fault) take(scn *scenario, f *fabric) error {
	members := []string{x.on}
	if name, ok := strings.CutPrefix(x.on, "group:"); ok {
		members = nil
		for _, g := range scn.Groups {
			if g.Name == name {
				members = g.Members
			}
		}
		if members == nil {
			return fmt.Errorf("twin: script: no group %q", name)
		}
	}
	for _, m := range members {
		r, l, d, err := f.parts(m)
		if err != nil {
			return err
		}
		x.routers, x.links, x.dirs = append(x.routers, r...), append(x.links, l...), append(x.dirs, d...)
	}
	return x.possible()
}

// possible refuses what a kind cannot do.
func (x *fault) possible() error {
	oneWay := len(x.dirs) > 2*len(x.links)
	bad := false
	switch x.kind {
	case "hard":
		bad = oneWay
	case "lossy", "silent", "blackhole", "oversize":
		bad = len(x.routers) > 0
	case "flapping":
		bad = oneWay || len(x.routers) > 0
	case "slow", "restart", "unwritten":
		bad = len(x.dirs) > 0
	case "drain":
	default:
		bad = true
	}
	if bad {
		return fmt.Errorf("twin: script: %s cannot be %q", x.on, x.kind)
	}
	return nil
}

func (x *fault) changes(s scriptEntry, horizon int64) []change {
	out := []change{{x.at, x.index, begins}}
	if x.kind == "flapping" {
		out = append(out, x.flaps(s, horizon)...)
	}
	if x.end >= 0 {
		out = append(out, change{x.end, x.index, ends})
	}
	return out
}

// flaps lists when the carrier goes and comes. An even list of changes ends the
// fault with its last one, unless `for` says when.
func (x *fault) flaps(s scriptEntry, horizon int64) []change {
	var out []change
	add := func(t int64, what int) {
		if x.end < 0 || t < x.end {
			out = append(out, change{t, x.index, what})
		}
	}
	if len(s.Changes) > 0 {
		if n := len(s.Changes); x.end < 0 && n%2 == 0 {
			x.end = x.at + int64(s.Changes[n-1])
		}
		for i, d := range s.Changes {
			add(x.at+int64(d), turnsOff+i%2)
		}
		return out
	}
	last := horizon
	if x.end >= 0 {
		last = x.end
	}
	for t := x.at; t < last; t += int64(s.Period) {
		add(t, turnsOff)
		add(t+int64(s.Off), turnsOn)
	}
	return out
}

// apply makes a change of the script true.
func (x *fault) apply(what int) {
	switch what {
	case begins:
		x.active = true
	case turnsOff:
		x.off = true
	case turnsOn:
		x.off = false
	case ends:
		x.active, x.off = false, false
	}
}

// measured says whether Full Convergence Time is of this kind (S24).
func (x *fault) measured() bool {
	return x.kind == "hard" || x.kind == "flapping" || x.kind == "restart" || x.kind == "drain"
}

// older orders faults by onset, then by place in the script.
func (x *fault) older(y *fault) bool {
	if x.at != y.at {
		return x.at < y.at
	}
	return x.index < y.index
}
