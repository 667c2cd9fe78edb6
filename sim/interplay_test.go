package sim

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"testing"

	"halflight/model"
	"halflight/model/failure"
	"halflight/sim/record"
)

// halfLit is a fabric of 36 links with BFD of 3 packets, on which only scripted
// loss happens; each end of a session that falls sends one LSP.
func halfLit(t *testing.T, interval, horizon string, multiplier int, jitter string) *model.World {
	t.Helper()
	return build(t, "half-lit", fmt.Sprintf(`
name: half-lit
warm_up: 100s
horizon: %s
fabric: {clos: {pods: 1, leaves: 6, spines: 6, tops: 0}}
failures: []
telemetry: [{name: nobody, complaints: false}]
applications: []
detection: {settle: 2s, bfd: {interval: %s, multiplier: %d, jitter: %s}, hello: false}
flooding: {per_hop: 5ms}
timers: {spf_run: 0s, lsp_generation: {first_delay: 0s, incremental_delay: 0s, maximum_delay: 0s, wait_time: 1ns}}
`, horizon, interval, multiplier, jitter))
}

// dim makes a direction of each of the first links lossy for good.
func dim(w *model.World, links int, c failure.Condition) {
	c.Kind = failure.Lossy
	for l := range links {
		w.Script = append(w.Script, failure.Scripted{Condition: c, End: -1, On: w.Fabric.DirectionName(int32(2 * l)), Directions: []int32{int32(2 * l)}})
	}
}

// falseDowns are mean times to a false down of a BFD session, in s: packets to
// k losses in a row (Feller, An Introduction to Probability Theory, vol. 1,
// section XIII.7, from memory; equal to our own Markov solution) at a mean gap
// of 0.875 of the interval (RFC 5880, section 6.8.7; uniform is our reading) and
// the rest of the detection time; for k = 5 with the packet more that jitter
// sometimes lets in. A timer-accurate small simulation of our own gave 48.507
// +- 0.765, 178.886 +- 3.310 and 27.160 +- 0.191 s for the first, fifth and
// sixth.
var falseDowns = []struct {
	name       string
	interval   string
	multiplier int
	jitter     string
	loss       failure.Condition
	mean       float64
}{
	{"10 %, 50 ms x 3", "50ms", 3, "25%", failure.Condition{Loss: 0.1}, 48.58125},
	{"10 %, 50 ms x 3, no jitter", "50ms", 3, "false", failure.Condition{Loss: 0.1}, 55.5},
	{"10 %, 10 ms x 3", "10ms", 3, "25%", failure.Condition{Loss: 0.1}, 9.71625},
	{"20 %, 50 ms x 3", "50ms", 3, "25%", failure.Condition{Loss: 0.2}, 6.8},
	{"20 %, 50 ms x 5", "50ms", 5, "25%", failure.Condition{Loss: 0.2}, 182.646302},
	{"30 %, 50 ms x 5", "50ms", 5, "25%", failure.Condition{Loss: 0.3}, 27.2247796},
	{"5 %, 50 ms x 3", "50ms", 3, "25%", failure.Condition{Loss: 0.05}, 368.39375},
	// Two-state loss (Gilbert 1960, from memory), bad stretches of 3 packets:
	// 672 packets where independent losses would take 1,010,100.
	{"1 % in threes, 50 ms x 3", "50ms", 3, "25%", failure.Condition{Loss: 0.01, BurstMean: 3, BurstLoss: 1}, 29.41875},
}

// ups are the first times, in s, from the onset or a session's return to its
// next false down, as the LSPs of the end that hears nothing show.
func ups(t *testing.T, e *engine, want int) []float64 {
	t.Helper()
	var out []float64
	up := int64(0)
	for i, at := range e.control.OriginatedAt[e.f.To(0)] {
		if i%2 == 1 {
			up = at
		} else if len(out) < want {
			out = append(out, float64(at-up)/1e9)
		}
	}
	if len(out) < want {
		t.Fatalf("only %d false downs", len(out))
	}
	return out
}

// Mean time between false downs of a session with one lossy direction.
func TestFalseDownsOfASession(t *testing.T) {
	t.Parallel()
	for i, c := range falseDowns {
		const many = 120
		w := halfLit(t, c.interval, fmt.Sprintf("%.0fs", 2*many*(c.mean+3)), c.multiplier, c.jitter)
		dim(w, 1, c.loss)
		var means, outlive []float64
		for n := range atLeast {
			e := newRandom(w, uint64(5880+i), uint32(n), traced)
			e.run()
			sum, longer := 0.0, 0.0
			for _, up := range ups(t, e, many) {
				sum += up
				if up > c.mean {
					longer++
				}
			}
			means, outlive = append(means, sum/many), append(outlive, longer/many)
		}
		agrees(t, c.name+": mean", means, c.mean)
		if c.mean > 25 { // so many packets that the law is exponential
			agrees(t, c.name+": outlive the mean", outlive, math.Exp(-1))
		}
	}
}

// lightOnCuts are how long, in ms, cuts of the first link with its light on go unseen at
// the far end: fifty, each longer after a packet without jitter would have left.
func lightOnCuts(t *testing.T, w *model.World, number int) []float64 {
	t.Helper()
	e := newRandom(w, 3, uint32(number), traced)
	e.run()
	var out []float64
	for _, at := range e.control.OriginatedAt[e.f.To(0)] {
		if since := (at - w.WarmUp) % 15e9; since < 5e9 {
			out = append(out, float64(since-int64(len(out))*1e6-0.5e6)/1e6)
		}
	}
	if len(out) != cuts {
		t.Fatalf("%d of %d cuts missed", len(out), cuts)
	}
	return out
}

const cuts = 50

// A link that is cut with its light on is missed a session's detection time after the
// last packet: with the jitter of RFC 5880, section 6.8.7, k I - 0.4405 I after the cut on
// average, 127.98 ms for 3 x 50 ms and 767.86 ms for 3 x 300 ms (renewal theory, as in
// model/reliability), and never before (k-1) I or after k I. With a multiplier of 1 gaps
// are 75 to 90 %: I - 0.4136 I. Without jitter packets leave at multiples of the interval:
// cuts that are spread evenly over one are missed k I - 0.5 I after, 125 ms.
func TestCutWithItsLightOn(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		interval   string
		multiplier int
		jitter     string
		mean       float64
		low, high  float64
	}{{"50ms", 3, "25%", 127.98, 100, 150}, {"300ms", 3, "25%", 767.86, 600, 900}, {"100ms", 1, "25%", 58.64, 10, 100}, {"50ms", 3, "0", 125, 100, 150}} {
		w := halfLit(t, c.interval, "1000s", c.multiplier, c.jitter)
		for i := range int64(cuts) {
			at := w.WarmUp + i*15e9 + i*1e6 + 0.5e6
			w.Script = append(w.Script, failure.Scripted{Condition: failure.Condition{Kind: failure.Hard, Light: true}, At: at, End: at + 5e9,
				On: w.Fabric.Links[0].Name, Links: []int32{0}})
		}
		name := fmt.Sprintf("%s x %d, jitter %s", c.interval, c.multiplier, c.jitter)
		var means []float64
		for number := range 40 {
			sum := 0.0
			for _, ms := range lightOnCuts(t, w, number) {
				if sum += ms; ms <= c.low || ms > c.high {
					t.Errorf("%s: missed after %g ms", name, ms)
				}
			}
			means = append(means, sum/cuts)
		}
		if c.jitter == "0" {
			if mean, _ := meanAndError(means); math.Abs(mean-c.mean) > 1e-9 {
				t.Errorf("%s: %g ms, want %g", name, mean, c.mean)
			}
			continue
		}
		agreesWithin(t, name, means, c.mean, 0.005)
	}
}

// Hellos are jittered too, by up to a quarter (RFC 1142, section 10.1), each neighbour's on
// a phase of its own: a router that hangs in its control plane is missed by all of its
// neighbours between 2 and 3 intervals of 1 s later, at instants of their own, 3 s - 0.4405 s
// on average.
func TestHangsAreMissedOneByOne(t *testing.T) {
	t.Parallel()
	w := build(t, "hangs", `
name: hangs
warm_up: 0s
horizon: 1000s
fabric: {clos: {pods: 1, leaves: 6, spines: 6, tops: 0}}
failures: []
telemetry: [{name: nobody, complaints: false}]
applications: []
detection: {settle: 2s, bfd: false, hello: {interval: 1s, multiplier: 3}}
timers: {lsp_generation: {first_delay: 0s, incremental_delay: 0s, maximum_delay: 0s, wait_time: 1ns}}
`)
	const hangs = 50
	spine := int32(w.Fabric.Leaves)
	for i := range int64(hangs) {
		at := (20*i + 5) * 1e9
		w.Script = append(w.Script, failure.Scripted{Condition: failure.Condition{Kind: failure.Hard, Light: true, Control: true}, At: at, End: at + 5e9,
			On: w.Fabric.Routers[spine].Name, Routers: []int32{spine}})
	}
	var means []float64
	for number := range 40 {
		e := newRandom(w, 7, uint32(number), traced)
		e.run()
		sum, missed, instants := 0.0, 0, map[int64]bool{}
		for x := range spine {
			for _, at := range e.control.OriginatedAt[x] {
				if since := at%20e9 - 5e9; since > 0 && since < 5e9 {
					sum, missed, instants[at] = sum+float64(since)/1e9, missed+1, true
					if since <= 2e9 || since > 3e9 {
						t.Errorf("missed after %d ns", since)
					}
				}
			}
		}
		if missed != hangs*int(spine) || len(instants) != missed {
			t.Fatalf("%d missed at %d instants", missed, len(instants))
		}
		means = append(means, sum/float64(missed))
	}
	agreesWithin(t, "missed", means, 3-0.4405, 0.00005)
}

// A leaf that its neighbours miss one by one is out as a whole: it is not the leaf with the
// fewest uplinks left. One with a cut uplink is.
func TestHungLeafHasNoShare(t *testing.T) {
	t.Parallel()
	hang := func(router, link int32) float64 {
		w := build(t, "hung", `
name: hung
warm_up: 0s
horizon: 200s
fabric: {clos: {pods: 1, leaves: 6, spines: 6, tops: 0}}
failures: []
telemetry: [{name: nobody, complaints: false}]
applications: []
detection: {settle: 2s, bfd: false, hello: {interval: 1s, multiplier: 3}}
`)
		add := func(c failure.Condition, routers, links []int32) {
			w.Script = append(w.Script, failure.Scripted{Condition: c, At: 20e9, End: 50e9, On: "it", Routers: routers, Links: links})
		}
		if router >= 0 {
			add(failure.Condition{Kind: failure.Hard, Light: true, Control: true}, []int32{router}, nil)
		}
		if link >= 0 {
			add(failure.Condition{Kind: failure.Hard}, nil, []int32{link})
		}
		r := Play(w, 7, 0)
		return r.CapacityWorst
	}
	for _, c := range []struct {
		router, link int32
		want         float64
	}{{0, -1, 1}, {-1, 0, 5. / 6}, {0, 7, 5. / 6}, {6, -1, 5. / 6}} {
		if got := hang(c.router, c.link); got != c.want {
			t.Errorf("router %d, link %d: a leaf is left with %v of its uplinks, want %v", c.router, c.link, got, c.want)
		}
	}
}

// The end that hears nothing tells the other with its next packet (RFC 5880, section
// 6.8.7; that it should be sent at once is left out): of one direction that stops, the
// second LSP comes 0.4405 I after the first on average, 22.02 ms with 50 ms.
func TestToldByTheNextPacket(t *testing.T) {
	t.Parallel()
	w := halfLit(t, "50ms", "1000s", 3, "25%")
	for i := range int64(cuts) {
		at := w.WarmUp + i*15e9 + i*1e6 + 0.5e6
		w.Script = append(w.Script, failure.Scripted{Condition: failure.Condition{Kind: failure.Silent, Loss: 1}, At: at, End: at + 5e9,
			On: w.Fabric.DirectionName(0), Directions: []int32{0}})
	}
	var means []float64
	for number := range 40 {
		e := newRandom(w, 3, uint32(number), traced)
		e.run()
		sum, told := 0.0, 0
		first, second := e.control.OriginatedAt[e.f.To(0)], e.control.OriginatedAt[e.f.From(0)]
		for i := 0; i < min(len(first), len(second)); i += 2 { // the other LSPs are those of its return
			gap := float64(second[i]-first[i]) / 1e6
			if sum, told = sum+gap, told+1; gap <= 0 || gap > 50 {
				t.Errorf("told %g ms later", gap)
			}
		}
		if told != cuts {
			t.Fatalf("%d of %d told", told, cuts)
		}
		means = append(means, sum/float64(told))
	}
	agreesWithin(t, "told", means, 50*0.4405, 0.005)
}

// interplay is what BFD sessions over links with loss in one direction do to
// back-off at its defaults, as a simulation of our own found it that shares no
// line with this one: exponential times to a false down of the mean above, down
// for 2 s, two LSPs 5 ms apart at each edge. share: of QUIET, SHORT_WAIT and
// LONG_WAIT; then mean, and median where it is not a timer's value, of the SPF
// delay that an unrelated failure meets, ms. printed is one run (40,000 s for up
// to 3 links, 10,000 s for more) with the standard error of one such run; rerun
// is the mean over 40 further runs with its own.
var interplay = []struct {
	loss           float64
	links          int
	horizon        int // s
	printed, rerun [5][2]float64
}{
	{0.05, 1, 20000,
		[5][2]float64{{.969, .0031}, {.001, .0004}, {.030, .0030}, {168.9, 12.2}},
		[5][2]float64{{.966999, .000493}, {.00135094, 2.04e-5}, {.0316497, .000473}, {173.695, 1.93}}},
	{0.05, 10, 10000,
		[5][2]float64{{.717, .0173}, {.010, .0006}, {.273, .0168}, {1105.4, 72}},
		[5][2]float64{{.72004, .00137}, {.00984969, 4.2e-5}, {.27011, .00133}, {1086.62, 5.69}}},
	{0.05, 30, 5000,
		[5][2]float64{{.386, .0162}, {.015, .0005}, {.598, .0161}, {2287.1, 64}, {1740, 236}},
		[5][2]float64{{.373188, .00181}, {.0153053, 4.72e-5}, {.611507, .0018}, {2318.2, 7.12}, {1833.07, 26.3}}},
	{0.10, 1, 10000,
		[5][2]float64{{.792, .0071}, {.008, .0004}, {.200, .0068}, {810, 29.3}},
		[5][2]float64{{.780848, .00112}, {.00806469, 3.88e-5}, {.211087, .00108}, {862.223, 4.64}}},
	{0.10, 3, 5000,
		[5][2]float64{{.476, .0093}, {.015, .0004}, {.510, .0091}, {1960.8, 37.3}},
		[5][2]float64{{.476462, .00207}, {.0147437, 5.47e-5}, {.508794, .00203}, {1963.58, 8.34}}},
	{0.10, 10, 3000,
		[5][2]float64{{.079, .0083}, {.009, .0006}, {.913, .0087}, {3130.8, 29.3}, {3593.7, 51}},
		[5][2]float64{{.0846195, .00132}, {.0087375, 8.43e-5}, {.906643, .00137}, {3113.42, 4.64}, {3563, 8.08}}},
	{0.10, 30, 1500,
		[5][2]float64{{.000, .0006}, {.000, .0003}, {.999, .0006}, {2896.3, 17}, {2979.8, 27}},
		[5][2]float64{{.000696402, 7.63e-5}, {.00025125, 1.71e-5}, {.999052, 8.96e-5}, {2871.92, 2.68}, {2938.76, 4.27}}},
}

// Gray links meet back-off. The engine lets a session return 2 s after its last
// false down; where it would fall anew within them (4 % of cases at 10 %), the
// 2 s start again, which the other simulation leaves out: shown there to move
// QUIET by at most 0.0024.
func TestGrayLinksWindTheBackoffUp(t *testing.T) {
	t.Parallel()
	for i, c := range interplay {
		w := halfLit(t, "50ms", fmt.Sprintf("%ds", c.horizon), 3, "25%")
		dim(w, c.links, failure.Condition{Loss: c.loss})
		all := playAll(w, uint64(300+i), 40)
		name := fmt.Sprintf("%g %%, %d links", c.loss*100, c.links)
		seen := [5][]float64{shareOf(all, 0), shareOf(all, 1), shareOf(all, 2),
			each(all, func(r *record.Replication) float64 { return r.WaitMean / 1e6 }),
			each(all, func(r *record.Replication) float64 { return medianWait(r.Waits) / 1e6 })}
		for k, what := range []string{"QUIET", "SHORT_WAIT", "LONG_WAIT", "mean delay", "median delay"} {
			if c.rerun[k][0] > 0 {
				agreesWithin(t, name+": "+what+", one run", seen[k], c.printed[k][0], c.printed[k][1])
				agreesWithin(t, name+": "+what+", 40 runs", seen[k], c.rerun[k][0], c.rerun[k][1])
			}
		}
		// A link's QUIET share in closed form: no edge in the last 10 s; n
		// independent links: its power. A session is up for at least 0.15 s.
		up := map[float64]float64{0.05: 368.39375, 0.1: 48.58125}[c.loss]
		anew := 1 - math.Exp(-1.85/(up-0.15))
		down := 2 + anew/(1-anew)*1.1 // falls anew after 1.1 s of the 2, in the mean
		one := (up - 0.15) * math.Exp(-9.85/(up-0.15)) / (up + down)
		agrees(t, name+": QUIET, closed form", seen[0], math.Pow(one, float64(c.links)))
	}
}

// medianWait is the median of the distribution that pieces make: at From for
// Total, or Count times running down from From to To.
func medianWait(pieces []record.Wait) float64 {
	var points []float64
	total := 0.0
	for _, p := range pieces {
		points = append(points, float64(p.From), float64(p.To))
		total += p.Total + float64(p.Count)*float64(p.From-p.To)
	}
	below := func(x float64) (time float64) {
		for _, p := range pieces {
			if float64(p.From) <= x {
				time += p.Total
			}
			time += float64(p.Count) * max(0, min(x, float64(p.From))-float64(p.To))
		}
		return time / total
	}
	slices.SortFunc(points, cmp.Compare[float64])
	low := 0.0
	for _, high := range points {
		if below(high) >= 0.5 {
			for high-low > 1 {
				if mid := (low + high) / 2; below(mid) >= 0.5 {
					high = mid
				} else {
					low = mid
				}
			}
			return high
		}
		low = high
	}
	return low
}
