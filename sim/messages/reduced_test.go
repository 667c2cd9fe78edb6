package messages

import (
	"encoding/json"
	"math/rand/v2"
	"slices"
	"testing"

	"halflight/model/fabric"
	"halflight/sim/linkstate"
)

// flows says whether a router floods over a circuit: all of them, or with reduced
// flooding (RFC 9667) those of the flooding topology, and those that it or the other
// end has asked for.
func (x *router) flows(c int) bool {
	return x.set.FloodingDegree == 0 || x.part[c] || x.temporary || x.circuits[c].asked
}

// helpless says whether the flooding topology does not serve the router as it should.
func (x *router) helpless() bool {
	if x.set.FloodingDegree == 0 {
		return false
	}
	none := true
	for c, in := range x.part {
		if in && !x.circuits[c].held {
			return true
		}
		none = none && !in
	}
	return none
}

// help begins or ends temporary flooding, and says so to the neighbours (the Flooding
// Request TLV of RFC 9667).
func (x *router) help(now int64) {
	if x.helpless() == x.temporary {
		return
	}
	flowed := make([]bool, len(x.circuits))
	for c := range flowed {
		flowed[c] = x.flows(c)
	}
	x.temporary = !x.temporary
	for c := range x.circuits {
		if !x.circuits[c].on {
			continue
		}
		x.effects = append(x.effects, effect{kind: requests, at: now, circuit: c, later: input{kind: asks, on: x.temporary}})
		if x.flows(c) && !flowed[c] {
			x.summarise(now, c)
		}
	}
}

// asked is a neighbour that wants to be flooded to, or no longer.
func (x *router) asked(now int64, c int, on bool) {
	flowed := x.flows(c)
	if x.circuits[c].asked = on; x.circuits[c].on && x.flows(c) && !flowed {
		x.summarise(now, c)
	}
}

// noticed starts the clock of the area leader.
func (p *play) noticed() {
	if p.world.Timers.FloodingDegree == 0 || p.drawing {
		return
	}
	p.drawing = true
	p.plan(event{at: p.now + p.world.Timers.Redraw, stage: operator, do: p.redraw})
}

// redraw is the area leader's new topology, in force everywhere.
func (p *play) redraw() {
	p.drawing = false
	p.meets()
	type end struct {
		r int32
		c int
	}
	var flowed []end
	for r, x := range p.routers {
		for c := range x.circuits {
			if x.flows(c) {
				flowed = append(flowed, end{int32(r), c})
			}
		}
	}
	p.draw(func(l int32) bool { return p.lines[l].both })
	for r, x := range p.routers {
		for c := range x.circuits {
			if e := (end{int32(r), c}); x.circuits[c].on && x.flows(c) && !slices.Contains(flowed, e) {
				p.tell(e.r, input{kind: compares, circuit: c})
			}
		}
	}
}

// draw gives all routers the topology of the links that can be used.
func (p *play) draw(usable func(l int32) bool) {
	in := topology(p.f, p.world.Timers.FloodingDegree, usable)
	for _, x := range p.routers {
		x.part = make([]bool, len(x.ports))
		x.temporary = true
		for c, port := range x.ports {
			x.part[c] = in[port.Link]
			x.temporary = x.temporary && !in[port.Link]
		}
	}
	for _, x := range p.routers {
		for c, port := range x.ports {
			x.circuits[c].asked = p.routers[port.Peer].temporary
		}
	}
}

// topology is the flooding topology, worked out plainly. Routers choose among their
// neighbours of the next tier above, the uppermost among those below; each goes on from
// its own number in steps of 1 and one more for every round of numbers, past those it
// has looked at, until it has enough. Then parts are joined, link by link.
func topology(f *fabric.Fabric, degree int, usable func(l int32) bool) map[int32]bool {
	in := map[int32]bool{}
	tier := func(r int32) fabric.Class { return f.Routers[r].Class }
	for r := range f.Routers {
		next, any := tier(int32(r))+1, false
		for _, p := range f.Ports[r] {
			any = any || tier(p.Peer) == next
		}
		if !any {
			next -= 2
		}
		link := map[int32]int32{}
		var choice []int32
		for _, p := range f.Ports[r] {
			if _, known := link[p.Peer]; tier(p.Peer) == next && usable(p.Link) && !known {
				link[p.Peer] = p.Link
				choice = append(choice, p.Peer)
			}
		}
		slices.Sort(choice)
		number := f.Routers[r].Second
		if tier(int32(r)) == fabric.Spine && next == fabric.Top {
			number = f.Routers[r].First
		}
		enough := 0
		for _, peer := range choice {
			if in[link[peer]] {
				enough++
			}
		}
		looked := map[int]bool{}
		n := len(choice)
		for k, at := 0, 0; k < n && enough < degree; k++ {
			if k == 0 {
				at = int(number) % n
			} else {
				at = (at + 1 + int(number)/n%max(1, n-1)) % n
			}
			for looked[at] {
				at = (at + 1) % n
			}
			looked[at] = true
			if l := link[choice[at]]; !in[l] {
				in[l] = true
				enough++
			}
		}
	}
	for l := range f.Links {
		if !in[int32(l)] && usable(int32(l)) && !reaches(f, in, f.Links[l].Lower, f.Links[l].Upper) {
			in[int32(l)] = true
		}
	}
	return in
}

// reaches says whether b can be reached from a over some links.
func reaches(f *fabric.Fabric, in map[int32]bool, a, b int32) bool {
	seen, todo := map[int32]bool{a: true}, []int32{a}
	for len(todo) > 0 {
		r := todo[0]
		todo = todo[1:]
		for _, p := range f.Ports[r] {
			if in[p.Link] && !seen[p.Peer] {
				seen[p.Peer] = true
				todo = append(todo, p.Peer)
			}
		}
	}
	return seen[b]
}

// Both programs draw the same topology of whatever links can be used; it reaches all
// that these reach, and a router has as many links to the next tier as it can have, up
// to the degree.
func TestFloodingTopology(t *testing.T) {
	for seed := range uint64(600) {
		chance := rand.New(rand.NewPCG(seed, 9667))
		shape := fabric.Clos{Pods: 1, Leaves: 2 + chance.IntN(9), Spines: 1 + chance.IntN(6), Parallel: 1 + chance.IntN(2)}
		if chance.IntN(2) == 0 {
			shape.Pods, shape.Tops = 2+chance.IntN(4), 1+chance.IntN(4)
		}
		f, err := shape.Build(1, 1)
		if err != nil {
			t.Fatal(err)
		}
		down := map[int32]bool{}
		for range chance.IntN(len(f.Links)/2 + 1) {
			down[int32(chance.IntN(len(f.Links)))] = true
		}
		usable, degree := func(l int32) bool { return !down[l] }, 1+chance.IntN(3)
		want, got := topology(f, degree, usable), linkstate.FloodingTopology(f, degree, usable)
		all := map[int32]bool{}
		for l := range f.Links {
			if got[l] != want[int32(l)] {
				t.Fatalf("seed %d: %s: %v, %v here", seed, f.Links[l].Name, got[l], want[int32(l)])
			}
			all[int32(l)] = usable(int32(l))
			if got[l] && down[int32(l)] {
				t.Fatalf("seed %d: a link that is down", seed)
			}
		}
		for r := range f.Routers {
			if reaches(f, all, 0, int32(r)) != reaches(f, want, 0, int32(r)) {
				t.Fatalf("seed %d: %s is apart", seed, f.Routers[r].Name)
			}
		}
	}
}

// The topologies of the fabrics of our size tables: every leaf has two links in it, and
// it survives the failure of any one router (RFC 9667 wants it biconnected); as many
// hops across as are said here, against 2 or 4 with all links.
func TestFloodingTopologyOfClos(t *testing.T) {
	for _, c := range []struct {
		shape       fabric.Clos
		links, hops int
	}{
		{fabric.Clos{Pods: 1, Leaves: 16, Spines: 4, Parallel: 1}, 32, 4},
		{fabric.Clos{Pods: 2, Leaves: 48, Spines: 16, Tops: 2, Parallel: 1}, 256, 10},
		{fabric.Clos{Pods: 10, Leaves: 40, Spines: 16, Tops: 8, Parallel: 1}, 1120, 16},
	} {
		f, err := c.shape.Build(1, 1)
		if err != nil {
			t.Fatal(err)
		}
		in := topology(f, 2, func(int32) bool { return true })
		if len(in) != c.links {
			t.Errorf("%+v: %d links, want %d", c.shape, len(in), c.links)
		}
		for r := range f.Routers {
			n := 0
			for _, p := range f.Ports[r] {
				if in[p.Link] {
					n++
				}
			}
			if f.Routers[r].Class == fabric.Leaf && n != 2 || n < 2 {
				t.Errorf("%+v: %s has %d links", c.shape, f.Routers[r].Name, n)
			}
			if at := apart(f, in, int32(r)); at >= 0 {
				t.Errorf("%+v: without %s, %s is apart", c.shape, f.Routers[r].Name, f.Routers[at].Name)
			}
		}
		if hops := across(f, in); hops != c.hops {
			t.Errorf("%+v: %d hops across, want %d", c.shape, hops, c.hops)
		}
	}
}

// N spines and N(N/2 - 1) leaves of degree 2 are enough for four hops across (RFC 9667,
// section 4.4.1).
func TestFloodingTopologyInFourHops(t *testing.T) {
	for _, n := range []int{4, 6, 8, 10, 12} {
		f, err := fabric.Clos{Pods: 1, Leaves: n * (n/2 - 1), Spines: n, Parallel: 1}.Build(1, 1)
		if err != nil {
			t.Fatal(err)
		}
		if hops := across(f, topology(f, 2, func(int32) bool { return true })); hops != 4 {
			t.Errorf("%d spines: %d hops across", n, hops)
		}
	}
}

// apart returns a router that others cannot reach without one of them; -1 for none.
func apart(f *fabric.Fabric, in map[int32]bool, without int32) int32 {
	left := map[int32]bool{}
	for l := range in {
		if in[l] && f.Links[l].Lower != without && f.Links[l].Upper != without {
			left[l] = true
		}
	}
	from := int32(0)
	if without == 0 {
		from = 1
	}
	for _, r := range []int32{0, int32(f.Leaves) - 1, int32(f.Leaves), int32(len(f.Routers)) - 1, int32(len(f.Routers)) / 2} {
		if r != without && !reaches(f, left, from, r) {
			return r
		}
	}
	return -1
}

// across is the most hops between two routers.
func across(f *fabric.Fabric, in map[int32]bool) int {
	most := 0
	for r := range f.Routers {
		hops, todo := map[int32]int{int32(r): 0}, []int32{int32(r)}
		for len(todo) > 0 {
			x := todo[0]
			todo = todo[1:]
			for _, p := range f.Ports[x] {
				if _, known := hops[p.Peer]; in[p.Link] && !known {
					hops[p.Peer] = hops[x] + 1
					most = max(most, hops[x]+1)
					todo = append(todo, p.Peer)
				}
			}
		}
	}
	return most
}

// reducedText is a random script with reduced flooding.
func reducedText(seed uint64, calm bool) string {
	var out map[string]any
	if err := json.Unmarshal([]byte(generate(seed, calm)), &out); err != nil {
		panic(err)
	}
	chance := rand.New(rand.NewPCG(seed, 9667))
	out["flooding"].(map[string]any)["reduced"] = map[string]any{"degree": 1 + chance.IntN(2), "redraw": []string{"0s", "100ms", "1s", "5s"}[chance.IntN(4)]}
	text, err := json.Marshal(out)
	if err != nil {
		panic(err)
	}
	return string(text)
}

// However much changes while LSPs are on their way, with reduced flooding too routers at
// both ends of an adjacency have the same database in the end.
func TestDatabasesMeetWithReducedFlooding(t *testing.T) {
	for seed := range uint64(600) {
		w := build(t, reducedText(3_000_000+seed, seed%3 == 0))
		w.Horizon = 400e9
		databasesMeet(t, seed, playScript(w, ideal(w))) // no summaries but at need
	}
}

// One LSP crosses the links of the flooding topology alone: between L and 2L - R + 1
// copies on L of its links, and after as many hops as that is across all have it.
func TestCopiesWithReducedFlooding(t *testing.T) {
	for _, c := range []struct {
		clos         string
		fewest, most int
	}{
		// 32 links of 64 in the topology, 20 routers; 256 of 1,600, 160 routers.
		{"{pods: 1, leaves: 16, spines: 4, tops: 0}", 32, 2*32 - 20 + 1},
		{"{pods: 2, leaves: 48, spines: 16, tops: 2}", 256, 2*256 - 160 + 1},
	} {
		sent := func(reduced string) (n int) {
			w := build(t, "{name: copies, random: false, horizon: 1s, fabric: {clos: "+c.clos+"}, detection: {bfd: false, hello: false}, flooding: {pacing: false, reduced: "+reduced+"}, script: [{at: 100ms, on: spine-0-0, kind: drain}]}")
			for _, x := range playScript(w, ideal(w)).routers {
				n += x.sent
			}
			return n
		}
		full, reduced := sent("false"), sent("{}")
		t.Logf("%s: %d copies, %d with reduced flooding", c.clos, full, reduced)
		if reduced < c.fewest || reduced > c.most || full < reduced {
			t.Errorf("%s: %d copies, want %d to %d; %d with all links", c.clos, reduced, c.fewest, c.most, full)
		}
	}
}

// Engine and twin agree on every random script with reduced flooding in which nothing
// changes while an LSP is on its way.
func TestEngineAgreesWithMessagesOnReducedFlooding(t *testing.T) {
	from, to := uint64(100_000), uint64(101_500)
	if *only >= 0 {
		from, to = max(from, uint64(*only)), min(to, uint64(*only)+1)
	}
	compared := agree(t, from, to, func(seed uint64) string { return reducedText(seed, true) })
	if compared < 500 && *only < 0 {
		t.Error("too few are compared")
	}
}
