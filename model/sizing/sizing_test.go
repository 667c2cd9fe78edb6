package sizing

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"halflight/model"
	"halflight/model/fabric"
	"halflight/model/reliability"
	"halflight/scenarios"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.Abs(got-want) > tolerance*math.Abs(want) {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

// Fleets: common practice, no source. 2,500 routers of 25 years of 8,760 h fail
// every 87.6 h, 160,000 optics of 100 years every 5.475 h.
func TestFleetGaps(t *testing.T) {
	year := float64(reliability.HoursPerYear)
	a := OfUnits([]Named{
		{"router", reliability.Population{Count: 2500, MTBF: 25 * year, MTTR: 4}},
		{"optic", reliability.Population{Count: 160000, MTBF: 100 * year}},
	}, nil, 720)
	near(t, "routers", a.Populations[0].Gap, 87.6, 1e-12)
	near(t, "optics", a.Populations[1].Gap, 5.475, 1e-12)
	near(t, "both, a day", a.Together.PerDay.Mean, 24/87.6+24/5.475, 1e-12)
	near(t, "FIT of 25 y", a.Populations[0].FIT, 1e9/219000, 1e-12)
	near(t, "AFR of 25 y", a.Populations[0].AFR, 1-math.Exp(-1.0/25), 1e-12)
	near(t, "down now", a.Populations[0].Broken.Mean, 2500*4/219004.0, 1e-12)
	if a.Together.Units != 162500 || a.Populations[0].Broken.P99 != 1 {
		t.Errorf("%+v", a.Together)
	}
	if got := a.Populations[0].Spares; got != poissonCover(720/87.6) {
		t.Errorf("%d spares, want %d", got, poissonCover(720/87.6))
	}
}

// poissonCover sums masses one by one: the dumb twin.
func poissonCover(mean float64) int {
	sum, mass := 0.0, math.Exp(-mean)
	for s := 0; ; s++ {
		if sum += mass; sum >= Cover {
			return s
		}
		mass *= mean / float64(s+1)
	}
}

// A 2-of-2 group with a crew of one: three states solved by hand. With l = 1/MTBF
// and m = 1/MTTR the weights are 1, 2l/m, 2(l/m)^2.
func TestGroupByHand(t *testing.T) {
	a := OfUnits(nil, []reliability.Group{{Units: 2, Need: 2, MTBF: 100, MTTR: 10, Crew: 1}}, 720)
	g := a.Groups[0]
	u := (0.2 + 0.02) / (1 + 0.2 + 0.02)
	near(t, "unavailability", g.Unavailability, u, 1e-12)
	near(t, "MTTF", float64(g.MTTF), 50, 1e-12)
	near(t, "mean up", float64(g.MeanUp), 50, 1e-12)
	near(t, "mean down", float64(g.MeanDown), 50*u/(1-u), 1e-12)
	if a.Together != nil {
		t.Error("no population, yet some together")
	}
}

func worldOf(t *testing.T, text string) *model.World {
	t.Helper()
	s, problems := scenarios.Parse("test", []byte(text))
	if problems.Any() {
		t.Fatal(problems.String())
	}
	w, more := model.Build(s)
	if len(more) > 0 {
		t.Fatal(more)
	}
	return w
}

// The losses of widths, by following every pair of leaves over every shortest
// path of a small fabric.
func TestWidthLossesByPaths(t *testing.T) {
	for _, c := range []reliability.Clos{
		{Pods: 1, Leaves: 3, Spines: 2, Parallel: 1}, {Pods: 1, Leaves: 4, Spines: 3, Parallel: 2},
		{Pods: 2, Leaves: 3, Spines: 2, Tops: 2, Parallel: 1}, {Pods: 3, Leaves: 2, Spines: 2, Tops: 3, Parallel: 2},
	} {
		w := widthOf(c, true)
		f, err := fabric.Clos{Pods: c.Pods, Leaves: c.Leaves, Spines: c.Spines, Tops: c.Tops, Parallel: c.Parallel}.Build(1e11, 1e11)
		if err != nil {
			t.Fatal(err)
		}
		router, link := loads(f)
		near(t, "uplink", w.Uplink, link[0], 1e-12)
		near(t, "spine", w.Spine, router[f.Leaves], 1e-12)
		if c.Tops > 0 {
			near(t, "top", w.Top, router[len(router)-1], 1e-12)
		}
		if w.Links != len(f.Links) || w.Routers != len(f.Routers) || w.Transceivers != 2*len(f.Links) {
			t.Errorf("%+v: counts %+v", c, w)
		}
	}
}

// loads returns the share of uniform demand that each router and each link
// carries: demand split equally over shortest paths, leaves no transit.
func loads(f *fabric.Fabric) (router, link []float64) {
	router, link = make([]float64, len(f.Routers)), make([]float64, len(f.Links))
	pair := 1 / float64(f.Leaves*(f.Leaves-1))
	for s := range f.Leaves {
		for d := range f.Leaves {
			if s == d {
				continue
			}
			paths := shortest(f, int32(s), int32(d))
			for _, path := range paths {
				share := pair / float64(len(paths))
				seen := map[int32]bool{int32(s): true, int32(d): true}
				for _, l := range path {
					link[l] += share
					for _, x := range []int32{f.Links[l].Lower, f.Links[l].Upper} {
						if !seen[x] {
							router[x] += share
							seen[x] = true
						}
					}
				}
			}
		}
	}
	return router, link
}

// shortest lists all shortest paths as lists of links, breadth first.
func shortest(f *fabric.Fabric, s, d int32) [][]int32 {
	type walk struct {
		at    int32
		links []int32
	}
	for front := []walk{{at: s}}; ; {
		var found [][]int32
		var next []walk
		for _, w := range front {
			if w.at == d {
				found = append(found, w.links)
				continue
			}
			if w.at != s && int(w.at) < f.Leaves {
				continue
			}
			for _, p := range f.Ports[w.at] {
				next = append(next, walk{p.Peer, append(append([]int32(nil), w.links...), p.Link)})
			}
		}
		if len(found) > 0 {
			return found
		}
		front = next
	}
}

// One uplink is out by its own cuts, its spine's faults, flaps while dark, and
// the power domain of its spine and the line cards at its two ends; a leaf's own
// faults and gray ones leave it in use. Every share is dwell over life and dwell.
func TestUplinkOutByHand(t *testing.T) {
	w := worldOf(t, `
fabric: {clos: {pods: 1, leaves: 4, spines: 2}}
groups: {power_domain: {leaves: 2}, line_card: {ports: 2}}
operations: {first_repair: 100%}
failures:
  - {name: cut, on: link, kind: hard, life: {exponential: {mean: 999h}}, repair: {lead: 1h}}
  - {name: dead, on: spine, kind: hard, life: {exponential: {mean: 1996h}}, repair: {lead: 4h}}
  - {name: leafy, on: leaf, kind: hard, life: {exponential: {mean: 10h}}, repair: {lead: 10h}}
  - {name: power, on: power_domain, kind: hard, life: {exponential: {mean: 4990h}}, repair: {lead: 10h}}
  - {name: gray, on: link, kind: lossy, loss: 1%, life: {exponential: {mean: 10h}}, repair: {lead: 10h}}
  - {name: card, on: line_card, kind: hard, members: 1, life: {exponential: {mean: 990h}}, repair: {lead: 10h}}
  - {name: flap, on: link, kind: flapping, life: {exponential: {mean: 99990s}}, flaps: 2, down: 2s, gap: 6s}
`)
	a := OfWorld(w, 720)
	up := (1 - 1.0/1000) * (1 - 4.0/2000) * (1 - 10.0/5000) * (1 - 0.01/2) * (1 - 0.01/2) * (1 - 4.0/100000)
	near(t, "one uplink", a.Uplinks.Unavailability, 1-up, 1e-9)
	u := a.Uplinks.Unavailability
	near(t, "one or both out", a.Uplinks.Lost[0].ThisOne, 1-(1-u)*(1-u), 1e-12)
	near(t, "both out", a.Uplinks.Lost[1].ThisOne, u*u, 1e-12)
	near(t, "any of four leaves", a.Uplinks.Lost[1].AnyLeaf, 1-math.Pow(1-u*u, 4), 1e-9)
	near(t, "leaves", a.Uplinks.Lost[0].Leaves, 4*(1-(1-u)*(1-u)), 1e-12)
}

// Onsets, dwell and what is present of one mode, by hand: 8 links, life 99 h,
// lead 1 h: one onset every 100 h a link.
func TestModeByHand(t *testing.T) {
	w := worldOf(t, `
fabric: {clos: {pods: 1, leaves: 4, spines: 2}}
operations: {first_repair: 100%}
failures:
  - {name: cut, on: link, kind: hard, life: {exponential: {mean: 99h}}, repair: {lead: 30min, hands_on: 30min}}
  - {name: half, on: link, kind: silent, loss: 1%, life: {exponential: {mean: 98h}}, repair: {lead: 2h, hands_on: 0s}}
`)
	a := OfWorld(w, 720)
	cut, half := a.Modes[0], a.Modes[1]
	near(t, "gap", float64(cut.Gap), 12.5, 1e-12)
	near(t, "a month", cut.PerMonth.Mean, 57.6, 1e-12)
	near(t, "dwell", cut.Dwell, 1, 1e-12)
	near(t, "present", cut.Present.Mean, 0.08, 1e-12)
	near(t, "any", float64(a.Any.Gap), 6.25, 1e-12)
	near(t, "any dwell", a.Any.Dwell, 1.5, 1e-12)
	near(t, "gray", a.Gray.Present.Mean, 0.16, 1e-12)
	if cut.Spares == nil || *cut.Spares != poissonCover(57.6) || half.Spares != nil {
		t.Errorf("spares %v, %v", cut.Spares, half.Spares)
	}
}

// What a visit does not mend waits for another: of those that name the part 0.8 work, of
// others 0.4, and the 16th does. Dead routers are replaced whole, alone or with what
// has power in common; flaps end by themselves; counters see no silent loss.
func TestVisitsByHand(t *testing.T) {
	text := `
fabric: {clos: {pods: 1, leaves: 4, spines: 2}}
groups: {power_domain: {leaves: 2}, line_card: {ports: 2}}
operations: {first_repair: {guided: 80%, blind: 40%}}
costs: {visit: 1, technician_hour: 0, optic: 0, port: 0, leaf: 0}
telemetry: [{name: counters, polling: {}}, {name: probes, probes: {wrong_link: 15%}}]
failures:
  - {name: cut, on: link, kind: hard, life: {exponential: {mean: 97.5h}}, repair: {lead: 90min, hands_on: 30min}}
  - {name: card, on: line_card, kind: hard, life: {exponential: {mean: 90y}}, repair: {lead: 90min, hands_on: 30min}}
  - {name: power, on: power_domain, kind: hard, life: {exponential: {mean: 90y}}, repair: {lead: 90min, hands_on: 30min}}
  - {name: dead, on: spine, kind: hard, life: {exponential: {mean: 98h}}, repair: {lead: 90min, hands_on: 30min}}
  - {name: dirty, on: link, kind: lossy, loss: 1%, life: {exponential: {mean: 90y}}, repair: {lead: 90min, hands_on: 30min}}
  - {name: mute, on: spine, kind: silent, loss: 1%, life: {exponential: {mean: 90y}}, repair: {lead: 90min, hands_on: 30min}}
  - {name: flap, on: link, kind: flapping, life: {exponential: {mean: 90y}}, flaps: 2, down: 1h, gap: 30min}
`
	a := OfWorld(worldOf(t, text), 720)
	guided, blind := (1-math.Pow(0.2, 16))/0.8, (1-math.Pow(0.6, 16))/0.4
	for i, want := range []float64{2 * guided, 2 * guided, 2, 2, 2 * guided, 2 * blind, 2.5} {
		near(t, a.Modes[i].Name, a.Modes[i].Dwell, want, 1e-12)
	}
	near(t, "cuts now", a.Modes[0].Present.Mean, 8*0.025, 1e-9)
	up := (1 - 0.025) * (1 - 0.02)
	near(t, "one uplink", a.Uplinks.Unavailability, 1-up, 0.01) // but for what lasts 90 years
	for _, s := range a.Steps.Spines {
		near(t, "visits", s.Cost, 8760*float64(s.Spines)*(4*guided/100+1/100.0), 0.01)
	}
	// Those who complain do name it.
	a = OfWorld(worldOf(t, strings.Replace(text, ", {name: probes, probes: {wrong_link: 15%}}", "", 1)), 720)
	near(t, "complaints", a.Modes[5].Dwell, 2*guided, 1e-12)
}

// Inventory of glacier: the numbers of its own text.
func TestInventory(t *testing.T) {
	text, ok := scenarios.Source("glacier")
	if !ok {
		t.Fatal("glacier is not shipped")
	}
	n := OfWorld(worldOf(t, string(text)), 720).Inventory
	want := Inventory{Pods: 36, Leaves: 1440, Spines: 864, Tops: 576, Routers: 2880, LeafSpineLinks: 34560, SpineTopLinks: 20736,
		Links: 55296, Transceivers: 110592, PathsInside: 24, PathsBetween: 576, Hops: 4, Copies: 2*55296 - 2880 + 1, Fabrics: 1}
	if n != want {
		t.Errorf("got %+v, want %+v", n, want)
	}
}

// Widths: the present one once, marked, and each other once.
func TestWidthsAround(t *testing.T) {
	list := widthsAround(reliability.Clos{Pods: 2, Leaves: 2, Spines: 4, Tops: 1, Parallel: 1})
	present := 0
	seen := map[[2]int]bool{}
	for _, w := range list {
		if w.Present {
			present++
		}
		if k := [2]int{w.Spines, w.Tops}; seen[k] {
			t.Errorf("%v twice", k)
		} else {
			seen[k] = true
		}
	}
	if present != 1 || len(list) != 6 {
		t.Errorf("%d present among %d: %+v", present, len(list), list)
	}
}

// What is infinite is null in JSON, which has no infinity.
func TestNumber(t *testing.T) {
	out, err := json.Marshal([]Number{1.5, Number(math.Inf(1)), Number(math.NaN())})
	if err != nil || string(out) != "[1.5,null,null]" {
		t.Errorf("%s, %v", out, err)
	}
	all, err := json.Marshal(OfUnits(nil, []reliability.Group{{Units: 60, Need: 1, MTBF: 1e9, MTTR: 1e-3}}, 720))
	if err != nil || !strings.Contains(string(all), `"mttf_h":null`) {
		t.Errorf("%s, %v", all, err)
	}
}
