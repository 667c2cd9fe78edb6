package twin

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// reduced is the state of reduced flooding (RFC 9667).
type reduced struct {
	in        []bool // by link: in the flooding topology
	temporary []bool // by router: floods over all its links, and is flooded to
	drawing   bool   // the area leader is at it
}

// flows: LSPs are flooded over link l.
func (s *sim) flows(l int) bool {
	e := s.links[l].ends
	return s.bothHeld(l) && (!s.scn.Flooding.Reduced.On || s.reduced.in[l] || s.reduced.temporary[e[0]] || s.reduced.temporary[e[1]])
}

// noticed: r noticed a change of an adjacency.
func (s *sim) noticed(r int) {
	if !s.scn.Flooding.Reduced.On {
		return
	}
	if !s.reduced.drawing {
		s.reduced.drawing = true
		s.plan(s.now+int64(s.scn.Flooding.Reduced.Redraw), event{kind: evRedraw})
	}
	s.helpItself(r)
}

// helpItself begins or ends temporary flooding at r.
func (s *sim) helpItself(r int) {
	if !s.scn.Flooding.Reduced.On {
		return
	}
	linked, broken := false, false
	for _, l := range s.linksOf[r] {
		if s.reduced.in[l] {
			linked = true
			broken = broken || !s.lines[l].held[s.end(l, r)]
		}
	}
	s.change(func() { s.reduced.temporary[r] = broken || !linked })
}

// change makes a change to what floods. The ends of a link that floods only now compare
// databases.
func (s *sim) change(to func()) {
	before := make([]bool, len(s.links))
	for l := range s.links {
		before[l] = s.flows(l)
	}
	to()
	for l := range s.links {
		if s.flows(l) && !before[l] {
			s.adjacencyUp(l)
		}
	}
}

// redraw is the new topology of the area leader.
func (s *sim) redraw() {
	s.reduced.drawing = false
	s.change(func() {
		s.reduced.in = s.topology()
		for r := range s.names {
			s.reduced.temporary[r] = !slices.ContainsFunc(s.linksOf[r], func(l int) bool { return s.reduced.in[l] })
		}
	})
}

// answer: what comes over one link and is older than what the receiver has is answered
// with that.
func (s *sim) answer(e *event, newer *lsp) {
	if !s.scn.Flooding.Reduced.On || e.kind != evCross {
		return
	}
	if s.bothHeld(e.over) && s.alive[e.over] && s.carries(2*e.over+s.end(e.over, e.router)) {
		s.cross(s.far(e.over, e.router), s.now+s.perHop(e.router), newer, e.over)
	}
}

// topology is the flooding topology of the links that are up at both ends. Router after
// router looks for as many neighbours of the tier above (the uppermost, and spines
// without tops, of that below) as it should have, in a walk that begins at its own
// number; then parts are joined by the first links that do so.
func (s *sim) topology() []bool {
	in := make([]bool, len(s.links))
	if !s.scn.Flooding.Reduced.On {
		return in
	}
	c := s.scn.Fabric.Clos
	spines := c.Pods * c.Spines
	for r := range s.names {
		upper, number := 1, 0 // the end of its links at which its neighbours are
		switch k := r - s.leaves; {
		case k < 0:
			number = r % c.Leaves
		case k < spines && c.Tops > 0:
			number = k / c.Spines
		case k < spines:
			upper, number = 0, k%c.Spines
		default:
			upper, number = 0, (k-spines)%c.Tops
		}
		var choice []int // the first link to each neighbour
		for _, l := range s.linksOf[r] {
			if s.links[l].ends[upper] != r && s.bothHeld(l) && (len(choice) == 0 || s.far(choice[len(choice)-1], r) != s.far(l, r)) {
				choice = append(choice, l)
			}
		}
		has := 0
		for _, l := range choice {
			if in[l] {
				has++
			}
		}
		n := len(choice)
		looked := make([]bool, n)
		at, step := -1, 0
		for i := 0; i < n && has < s.scn.Flooding.Reduced.Degree; i++ {
			if i == 0 {
				at, step = number%n, 1+number/n%max(1, n-1)
			} else {
				at = (at + step) % n
			}
			for looked[at] {
				at = (at + 1) % n
			}
			looked[at] = true
			if l := choice[at]; !in[l] {
				in[l] = true
				has++
			}
		}
	}
	for l := range s.links {
		if s.bothHeld(l) && !in[l] && !s.joined(in, s.links[l].ends[0], s.links[l].ends[1]) {
			in[l] = true
		}
	}
	return in
}

// joined: b can be reached from a over some links.
func (s *sim) joined(in []bool, a, b int) bool {
	reached := []int{a}
	for i := 0; i < len(reached); i++ {
		for _, l := range s.linksOf[reached[i]] {
			if to := s.far(l, reached[i]); in[l] && !slices.Contains(reached, to) {
				reached = append(reached, to)
			}
		}
	}
	return slices.Contains(reached, b)
}

// hostsOf is how many LSPs of hosts come with those of leaves of which r knew nothing.
func (s *sim) hostsOf(news []*lsp, r int) int {
	n := 0
	for _, p := range news {
		if p.origin < s.leaves && s.routers[r].db[p.origin] == nil {
			n += s.scn.Underlay.Hosts
		}
	}
	return n
}

// GenerateReduced is a script of every kind with reduced flooding; a third of them has
// hosts in the underlay, half of them no pacing.
func GenerateReduced(seed uint64) string {
	return altered(GenerateAll(seed), func(out map[string]any, _ *fabric) {
		m := &maker{Rand: rand.New(rand.NewPCG(seed, 9667))}
		flooding := out["flooding"].(map[string]any)
		flooding["reduced"] = map[string]any{"degree": 1 + m.IntN(2), "redraw": pick(m, "0s", "100ms", "1s", "5s")}
		if m.chance(0.5) {
			flooding["pacing"] = false
		}
		if m.chance(0.3) {
			out["underlay"] = map[string]any{"hosts": pick(m, 1, 5)}
		}
		out["fib"].(map[string]any)["prefixes"] = 1
	})
}

// The fast engine and the plain program agree on scripts of every kind with reduced
// flooding, whatever is on its way when the flooding topology is cut or drawn anew.
func TestEngineAgreesWithTwinOnReducedFlooding(t *testing.T) {
	agree(t, func(seed uint64) string { return GenerateReduced(seed + 20_000) }, 250)
}
