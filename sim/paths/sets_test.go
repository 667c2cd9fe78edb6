package paths

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"halflight/model/fabric"
	"halflight/sim/paths/plain"
)

// Ports put into entries and taken out, of routers with one word and with more,
// against a list of ports for each entry.
func TestSetsAgainstLists(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := &fabric.Fabric{Routers: make([]fabric.Router, 2), Leaves: 2}
		for range f.Routers {
			f.Ports = append(f.Ports, make([]fabric.Port, rapid.SampledFrom([]int{1, 63, 64, 65, 128, 129}).Draw(t, "ports")))
		}
		s := NewSets(NewLayout(f))
		var lists [2][2][]int32
		for range rapid.IntRange(1, 40).Draw(t, "writes") {
			d, x := rapid.Int32Range(0, 1).Draw(t, "destination"), rapid.Int32Range(0, 1).Draw(t, "router")
			port := rapid.Int32Range(0, int32(len(f.Ports[x]))-1).Draw(t, "port")
			at := &lists[d][x]
			i, is := slices.BinarySearch(*at, port)
			if rapid.Bool().Draw(t, "put in") {
				if s.add(d, x, port); !is {
					*at = slices.Insert(*at, i, port)
				}
			} else {
				if is {
					*at = slices.Delete(*at, i, i+1)
				}
				if empty := s.Take(d, x, port); empty != (len(*at) == 0) {
					t.Fatalf("ports %v are left, and empty is %v", *at, empty)
				}
			}
			for d := range int32(2) {
				for x := range int32(2) {
					if got := plain.Ports(s.Of(d, x)); !slices.Equal(got, lists[d][x]) || len(s.Of(d, x)) != int(s.Words[x]) {
						t.Fatalf("router %d to %d: ports %v, want %v", x, d, got, lists[d][x])
					}
					if is := slices.Contains(lists[d][x], port); int(port) < len(f.Ports[x]) && s.Has(d, x, port) != is {
						t.Fatalf("router %d to %d: port %d is in it: %v", x, d, port, !is)
					}
				}
			}
		}
	})
}
