package forwarding_test

import (
	"fmt"
	"math"
	"testing"
)

// The cases below are those of a second program, which solves one linear system
// a destination; every one has a formula by hand, which is what is compared
// here, to 1e-12. L leaves and S spines; P pods of T leaves and A spines, C tops
// to a spine, N = P*T. Demand is uniform over ordered pairs of leaves.

func held(t *testing.T, name string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-12 {
		t.Errorf("%s: lost share %.17g, by hand %.17g", name, got, want)
	}
}

// Two tiers: link leaf 0 to spine 0 and spine 0 itself.
func TestFluidTwoTiers(t *testing.T) {
	for _, c := range [][2]int{{4, 2}, {8, 4}, {32, 8}, {16, 16}} {
		L, S := c[0], c[1]
		f := clos(t, 1, L, S, 0)
		l, s := float64(L), float64(S)
		spine := int32(L)
		up, down := int32(0), int32(1) // of the first link
		link, gone := view{links: []int32{0}}, view{routers: []int32{spine}}
		everyone := all(0, L+S)
		for _, k := range []struct {
			name string
			want float64
			set  func(*stage)
		}{
			{"sound", 0, func(*stage) {}},
			{"1 % from leaf 0 to spine 0: p/(LS)", 0.01 / (l * s), func(g *stage) { g.lossy(up, 0.01) }},
			{"1 % from spine 0 to leaf 0: p/(LS)", 0.01 / (l * s), func(g *stage) { g.lossy(down, 0.01) }},
			{"link dead, nobody rerouted: 2/(LS)", 2 / (l * s), func(g *stage) { g.lossy(up, 1); g.lossy(down, 1) }},
			{"link dead, only leaf 0 rerouted: 1/(LS)", 1 / (l * s), func(g *stage) { g.lossy(up, 1); g.lossy(down, 1); g.compute(link, 0) }},
			{"link dead, all converged: 0", 0, func(g *stage) { g.lossy(up, 1); g.lossy(down, 1); g.compute(link, everyone...) }},
			{"spine 0 dead, nobody rerouted: 1/S", 1 / s, func(g *stage) { g.kill(spine) }},
			{"spine 0 dead, converged: 0", 0, func(g *stage) { g.kill(spine); g.compute(gone, everyone...) }},
			{"10 % on all that spine 0 sends: p/S", 0.1 / s, func(g *stage) {
				for _, p := range f.Ports[spine] {
					g.lossy(p.Out(), 0.1)
				}
			}},
			{"1 % on every direction: 1-(1-p)^2", 1 - 0.99*0.99, func(g *stage) {
				for d := range int32(2 * len(f.Links)) {
					g.lossy(d, 0.01)
				}
			}},
			{"spine 0 dead, the first half of the leaves converged: (1-floor(L/2)/L)/S", (l - float64(L/2)) / l / s, func(g *stage) {
				g.kill(spine)
				g.compute(gone, all(0, L/2)...)
			}},
			// Spine 0 sends what is for leaf 0 to the other leaves, which may send it
			// back; a flow's choice is fixed, so what comes back loops. Of the share
			// 1/(LS): 1/(L-1) goes straight back, of the others 1/S. (A per-packet
			// choice loses nothing: the second program's own case.)
			{"micro-loop: spine 0 and leaf 0 converged", 1 / (l * s) * (1/(l-1) + (l-2)/((l-1)*s)), func(g *stage) {
				g.lossy(up, 1)
				g.lossy(down, 1)
				g.compute(link, 0, spine)
			}},
		} {
			g := newStage(f, settings{})
			k.set(g)
			held(t, fmt.Sprintf("L=%d S=%d %s", L, S, k.name), g.lost(), k.want)
		}
	}
}

// Three tiers: links leaf-0-0 to spine-0-0 and spine-0-0 to top-0-0.
func TestFluidThreeTiers(t *testing.T) {
	for _, c := range [][4]int{{4, 2, 2, 2}, {6, 3, 3, 3}, {4, 8, 4, 4}, {2, 4, 4, 2}} {
		P, T, A, C := c[0], c[1], c[2], c[3]
		f := clos(t, P, T, A, C)
		N := P * T
		n, lt, a, cc := float64(N), float64(T), float64(A), float64(C)
		spine, top := int32(N), int32(N+P*A)
		inter := (n - lt) / (n - 1)                     // share of pairs between pods
		upper := lt * (n - lt) / (n * (n - 1) * a * cc) // share of demand on one spine-top direction
		everyone := all(0, len(f.Routers))
		gone := view{routers: []int32{spine}}
		leafUp := func(g *stage) int32 { return g.between(0, spine) }
		spineUp := func(g *stage) int32 { return g.between(spine, top) }
		for _, k := range []struct {
			name string
			want float64
			set  func(*stage)
		}{
			{"sound", 0, func(*stage) {}},
			{"1 % leaf to spine: p/(NA)", 0.01 / (n * a), func(g *stage) { g.lossy(leafUp(g), 0.01) }},
			{"1 % spine to leaf: p/(NA)", 0.01 / (n * a), func(g *stage) { g.lossy(leafUp(g)^1, 0.01) }},
			{"1 % spine to top: p T(N-T)/(N(N-1)AC)", 0.01 * upper, func(g *stage) { g.lossy(spineUp(g), 0.01) }},
			{"1 % top to spine: the same", 0.01 * upper, func(g *stage) { g.lossy(spineUp(g)^1, 0.01) }},
			{"leaf-spine dead, nobody rerouted: 2/(NA)", 2 / (n * a), func(g *stage) { g.lossy(leafUp(g), 1); g.lossy(leafUp(g)^1, 1) }},
			{"spine-top dead, nobody rerouted: 2 T(N-T)/(N(N-1)AC)", 2 * upper, func(g *stage) { g.lossy(spineUp(g), 1); g.lossy(spineUp(g)^1, 1) }},
			{"spine-top dead, only the spine rerouted: T(N-T)/(N(N-1)AC)", upper, func(g *stage) {
				g.lossy(spineUp(g), 1)
				g.lossy(spineUp(g)^1, 1)
				g.compute(view{links: []int32{spineUp(g) >> 1}}, spine)
			}},
			{"top dead, nobody rerouted: (N-T)/((N-1)AC)", inter / (a * cc), func(g *stage) { g.kill(top) }},
			{"spine dead, nobody rerouted: (T(T-1)+2T(N-T))/(N(N-1)A)", (lt*(lt-1) + 2*lt*(n-lt)) / (n * (n - 1) * a), func(g *stage) { g.kill(spine) }},
			{"spine dead, converged: 0", 0, func(g *stage) { g.kill(spine); g.compute(gone, everyone...) }},
			{"spine dead, only the leaves of its pod rerouted: T(N-T)/(N(N-1)A)", lt * (n - lt) / (n * (n - 1) * a), func(g *stage) {
				g.kill(spine)
				g.compute(gone, all(0, T)...)
			}},
			{"1 % everywhere: 1-((1-i) .99^2 + i .99^4)", 1 - ((1-inter)*0.99*0.99 + inter*0.99*0.99*0.99*0.99), func(g *stage) {
				for d := range int32(2 * len(f.Links)) {
					g.lossy(d, 0.01)
				}
			}},
			{"1 % on all links of a top: i/(AC) (1-.99^2)", inter / (a * cc) * (1 - 0.99*0.99), func(g *stage) {
				for _, p := range f.Ports[top] {
					g.lossy(p.Out(), 0.01)
					g.lossy(p.In(), 0.01)
				}
			}},
		} {
			g := newStage(f, settings{})
			k.set(g)
			held(t, fmt.Sprintf("P=%d T=%d A=%d C=%d %s", P, T, A, C, k.name), g.lost(), k.want)
		}
	}
}

// Printed values of the same second program, beside the formulas: rationals.
func TestFluidPrintedValues(t *testing.T) {
	f := clos(t, 6, 3, 3, 3)
	g := newStage(f, settings{})
	spine, top := int32(18), int32(36)
	g.lossy(g.between(spine, top), 0.01)
	held(t, "6 pods of 3 + 3, 3 tops: 1/6120", g.lost(), 1.0/6120)
	g.lossy(g.between(spine, top), 0)
	g.kill(spine)
	held(t, "the same, spine dead: 16/153", g.lost(), 16.0/153)
	g = newStage(f, settings{})
	for d := range int32(2 * len(f.Links)) {
		g.lossy(d, 0.01)
	}
	held(t, "the same, 1 % everywhere: 12617197/340000000", g.lost(), 12617197.0/340000000)
	g = newStage(clos(t, 4, 8, 4, 4), settings{})
	g.kill(32)
	held(t, "4 pods of 8 + 4, 4 tops, spine dead: 55/496", g.lost(), 55.0/496)
}

// Equal split over the next hops that are left, after convergence. Leaf 0 has
// spine 1 only, and so have the others for leaf 0.
func TestFluidUnevenAfterConvergence(t *testing.T) {
	f := clos(t, 1, 4, 2, 0)
	without := view{links: []int32{0}}
	g := newStage(f, settings{})
	g.compute(without, all(0, 6)...)
	g.lossy(g.between(5, 0), 0.01) // all that is for leaf 0: p/L
	held(t, "1 % from spine 1 to leaf 0: 1/400", g.lost(), 1.0/400)
	g = newStage(f, settings{})
	g.compute(without, all(0, 6)...)
	g.lossy(g.between(1, 5), 0.01) // leaf 1 to leaf 0 whole, to two others half
	held(t, "1 % from leaf 1 to spine 1: 1/600", g.lost(), 1.0/600)
}
