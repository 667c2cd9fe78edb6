package forwarding_test

import (
	"fmt"
	"testing"
)

// Spines S1, S2 and leaves L1, L2, L3; all costs 1; link S1-L3 fails. Six ordered
// pairs of one unit, split evenly. The shares were enumerated path by path with
// a second program and derived by hand; RFC 5715, section 2, has the causes.
//
// In 2b half of L1's traffic for L3 goes to S1. It picks L1: loop. It picks L2,
// which picks S2: delivered; or S1: loop. Lost 3/4 of that half, 3/8 of the
// pair; two pairs of six: 1/8. Polarised, one label decides everywhere: what
// leaves L1 or L2 for S1 is even, S1 sends it to L1 (the first of two), and L1
// back to S1: 1/6. In 2c the even half of L2 goes S1, L1, S2 and arrives: 0; were
// L2 new and L1 old, the even half of L1 would loop: 1/12. (The second program
// has spines hash apart from leaves: 1/24 for both.)
const (
	leaf1, leaf2, leaf3 = 0, 1, 2
	spine1, spine2      = 3, 4
)

func TestMicroloopPhases(t *testing.T) {
	for _, c := range []struct {
		phase        string
		pruned       []int32 // dropped the dead next hop: no more, no less
		converged    []int32
		alone, alike float64
		overloaded   float64 // leaves with the overload bit: never transit
		toL3, fromL3 float64 // delivered of a pair, hashing alone
	}{
		{"0: nobody has reacted", nil, nil, 1. / 3, 1. / 3, 1. / 3, 1. / 2, 1. / 2},
		{"1: L3 dropped its dead uplink", []int32{leaf3}, nil, 1. / 6, 1. / 6, 1. / 6, 1. / 2, 1},
		{"2a: S1 dropped its dead next hop too", []int32{leaf3, spine1}, nil, 1. / 6, 1. / 6, 1. / 6, 1. / 2, 1},
		{"2b: S1, L3 new", nil, []int32{spine1, leaf3}, 1. / 8, 1. / 6, 1. / 6, 5. / 8, 1},
		{"2c: S1, L3, L1 new", nil, []int32{spine1, leaf3, leaf1}, 1. / 24, 0, 1. / 12, 0, 1},
		{"2c': S1, L3, L2 new", nil, []int32{spine1, leaf3, leaf2}, 1. / 24, 1. / 12, 1. / 12, 3. / 4, 1},
		{"3a: L3, L1 new, S1 pruned", []int32{spine1}, []int32{leaf3, leaf1}, 1. / 12, 1. / 12, 1. / 12, 0, 1},
		{"3b: all leaves new, S1 pruned", []int32{spine1}, []int32{leaf3, leaf1, leaf2}, 0, 0, 0, 1, 1},
		{"4: all new", nil, all(0, 5), 0, 0, 0, 1, 1},
	} {
		for _, o := range []struct {
			name string
			set  settings
			want float64
		}{{"independent", settings{}, c.alone}, {"polarised", settings{polarised: true}, c.alike},
			{"independent, leaves never transit", settings{overloadLeaves: true}, c.overloaded}} {
			g := newStage(clos(t, 1, 3, 2, 0), o.set)
			dead := g.between(leaf3, spine1)
			g.lossy(dead, 1)
			g.lossy(dead^1, 1)
			g.compute(view{links: []int32{dead >> 1}}, c.converged...)
			for _, x := range c.pruned {
				g.prune(x, dead>>1)
			}
			held(t, c.phase+", "+o.name, g.lost(), o.want)
			if o.name != "independent" {
				continue
			}
			if got := g.field.Delivered(0, leaf1, leaf3); c.toL3 != 0 && got != c.toL3 {
				t.Errorf("%s: L1 to L3 delivered %v, want %v", c.phase, got, c.toL3)
			}
			if got := g.field.Delivered(0, leaf3, leaf1); got != c.fromL3 {
				t.Errorf("%s: L3 to L1 delivered %v, want %v", c.phase, got, c.fromL3)
			}
		}
	}
}

// prune drops the ports of a link from a router's entries; from S1 it leaves
// the entry for L3 empty.
func (s *stage) prune(x, link int32) {
	for p, port := range s.f.Ports[x] {
		if port.Link != link {
			continue
		}
		for d := range int32(s.f.Leaves) {
			set := append([]uint64(nil), s.table.Of(d, x)...)
			set[p>>6] &^= 1 << (p & 63)
			s.enter(d, x, set)
		}
	}
}

// The link comes back: leaves first, 1/8 loops; S1 first, nothing is lost. The
// safe order is the opposite of that of a failure.
func TestMicroloopOfTheReturn(t *testing.T) {
	for _, c := range []struct {
		name string
		new  []int32
		want float64
	}{
		{"leaves new, S1 old", []int32{leaf1, leaf2, leaf3}, 1. / 8},
		{"S1 new, leaves old", []int32{spine1}, 0},
		{"L1, L3, S1 new, L2 old", []int32{leaf1, leaf3, spine1}, 0},
	} {
		g := newStage(clos(t, 1, 3, 2, 0), settings{})
		link := g.between(leaf3, spine1) >> 1
		g.compute(view{links: []int32{link}}, all(0, 5)...)
		held(t, c.name+", before", g.lost(), 0)
		g.compute(view{}, c.new...)
		held(t, c.name, g.lost(), c.want)
	}
}

// n spines, m leaves: phase 0 is 2/(nm), phase 1 is 1/(nm), phase 2b is
// (1/(nm))(1/(m-1) + (m-2)/((m-1)n)), or 1/(nm) with all hashing alike, or with
// leaves that are never transit (a hole at S1).
func TestMicroloopClosedForms(t *testing.T) {
	for _, c := range []struct {
		n, m           int
		zero, one, two float64
		printed        string
	}{{2, 3, 1. / 3, 1. / 6, 1. / 8, "1/3 1/6 1/8"}, {2, 4, 1. / 4, 1. / 8, 1. / 12, "1/4 1/8 1/12"},
		{3, 4, 1. / 6, 1. / 12, 5. / 108, "1/6 1/12 5/108"}, {4, 6, 1. / 12, 1. / 24, 1. / 60, "1/12 1/24 1/60"}} {
		n, m := float64(c.n), float64(c.m)
		name := fmt.Sprintf("n=%d m=%d (%s)", c.n, c.m, c.printed)
		held(t, name+" closed form", 1/(n*m)*(1/(m-1)+(m-2)/((m-1)*n)), c.two)
		held(t, name+" closed form", 2/(n*m), c.zero)
		for _, o := range []struct {
			set  settings
			want float64
		}{{settings{}, c.two}, {settings{polarised: true}, c.one}, {settings{overloadLeaves: true}, c.one}} {
			g := newStage(clos(t, 1, c.m, c.n, 0), o.set)
			g.lossy(0, 1)
			g.lossy(1, 1)
			held(t, name+" phase 0", g.lost(), c.zero)
			g.prune(0, 0)
			held(t, name+" phase 1", g.lost(), c.one)
			g.compute(view{links: []int32{0}}, 0, int32(c.m))
			held(t, fmt.Sprintf("%s phase 2b %+v", name, o.set), g.lost(), o.want)
		}
	}
}
