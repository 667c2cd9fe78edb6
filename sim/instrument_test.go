package sim

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"halflight/model/operation"
	"halflight/results/stat"
	"halflight/sim/record"
)

// False alarms come as a Poisson process at the rate of the instrument, drain
// what is sound, and cost a technician's time: 45 min exp(0.5^2/2) a visit, the
// mean of its log-normal law.
func TestFalseAlarms(t *testing.T) {
	t.Parallel()
	w := build(t, "phantoms", `
name: phantoms
warm_up: 10d
horizon: 300d
fabric: {clos: {pods: 1, leaves: 8, spines: 4, tops: 0}}
telemetry: [{name: counters, polling: {false_alarms: 1/2d}}]
operations: {reaction: automatic}
failures: []
`)
	all := playAll(w, 3, 60)
	alarms := each(all, func(r *record.Replication) float64 { return float64(r.Watched[0].FalseAlarms) })
	agrees(t, "false alarms", alarms, 150)
	if z := dispersed(alarms); math.Abs(z) > farOff {
		t.Errorf("false alarms are not Poisson: z = %.2f", z)
	}
	agrees(t, "technicians on false alarms", each(all, func(r *record.Replication) float64 { return r.HandsOn }), 0.75*math.Exp(0.125)/48)
	for i := range all {
		r := &all[i]
		if r.FalseDrains == 0 || r.FalseDrains != r.Drains || r.Sightings != 0 || r.Repairs != 0 {
			t.Fatalf("replication %d: %d false drains of %d, %d sightings, %d repairs", i, r.FalseDrains, r.Drains, r.Sightings, r.Repairs)
		}
	}
}

// A receiver whose drift is seen in time never drops anything: with all faults
// announced 20 d ahead none comes; with half of them, half do. By arithmetic.
func TestDriftIsSeenInTime(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		share    string
		come, no float64
	}{{"100%", 0, 1}, {"50%", 0.5, 0.5}} {
		w := build(t, "drift", fmt.Sprintf(`
name: drift
warm_up: 100d
horizon: 2000d
fabric: {clos: {pods: 1, leaves: 4, spines: 4, tops: 0}}
telemetry: [{name: light, optics: {}}, {name: nobody, complaints: false}]
operations: {reaction: automatic, first_repair: 1}
failures: [{name: dirt, on: link, kind: lossy, life: {exponential: {mean: 400d}}, loss: 1e-3, drift: {share: %s, over: 20d}, repair: {lead: 1h, hands_on: 1h}}]
`, c.share))
		all := playAll(w, 9, atLeast)
		// A life that is shorter than the time to repair it cannot be saved.
		short := (2.0/24 + 10.0/1440 + 1.0/1440) / 400
		averted := each(all, func(r *record.Replication) float64 { return float64(r.Averted) })
		agreesWithin(t, c.share+": averted", averted, 16*2000/400*c.no, 16*2000/400*2*short)
		if c.come == 0 {
			for i := range all {
				if n := all[i].Onsets[0]; n > 1 {
					t.Errorf("replication %d: %d came although all are announced", i, n)
				}
			}
			continue
		}
		agreesWithin(t, c.share+": come", each(all, func(r *record.Replication) float64 { return float64(r.Onsets[0]) }), 16*2000/400*c.come, 16*2000/400*2*short)
	}
}

// watched is a small hall with every instrument.
const watched = `
name: watched
warm_up: 0d
horizon: 120d
fabric: {clos: {pods: 2, leaves: 8, spines: 4, tops: 2}}
telemetry: [%s]
operations: {reaction: automatic}
failures:
  - {name: dirt, on: link, kind: lossy, life: {exponential: {mean: 500d}}, loss: {loguniform: {low: 1e-5, high: 1e-2}}, drift: {share: 50%%, over: 5d}}
  - {name: hush, on: link, kind: silent, life: {exponential: {mean: 800d}}, loss: {loguniform: {low: 1e-4, high: 5e-2}}}
  - {name: hole, on: link, kind: blackhole, life: {exponential: {mean: 800d}}}
  - {name: tall, on: link, kind: oversize, life: {exponential: {mean: 800d}}}
  - {name: dead, on: link, kind: hard, life: {exponential: {mean: 500d}}}
`

var everyInstrument = []struct{ name, keys string }{
	{"counters", "polling: {}"}, {"mesh", "probes: {false_alarms: 1/30d, window: 100000}"}, {"pairs", "probes: {rate: 1/s, between: leaves, false_alarms: 1/30d}"},
	{"servers", "hosts: {}"}, {"reports", "drops: {}"}, {"light", "optics: {}"}, {"complaints", "complaints: {}"},
}

func without(name string) string {
	var list []string
	for _, i := range everyInstrument {
		keys := i.keys
		if i.name == name {
			if name != "complaints" {
				continue
			}
			keys = "complaints: false"
		}
		list = append(list, fmt.Sprintf("{name: %s, %s}", i.name, keys))
	}
	return strings.Join(list, ", ")
}

// Turning one instrument off leaves every other draw as it was: faults begin at
// the same instants, and whatever another instrument saw first it sees first,
// at the same instant. What the pairs of replications save is printed: the
// variance of a difference of unrelated replications over that of these.
func TestTurningAnInstrumentOff(t *testing.T) {
	t.Parallel()
	const n = 8
	all := playAll(build(t, "watched", fmt.Sprintf(watched, without(""))), 4, n)
	felt := func(set []record.Replication) []float64 {
		return each(set, func(r *record.Replication) float64 { return r.Applications[0].DegradedLeafHours })
	}
	for _, off := range everyInstrument {
		less := playAll(build(t, "watched", fmt.Sprintf(watched, without(off.name))), 4, n)
		same, later := 0, 0
		for i := range all {
			before := firsts(&all[i])
			for part, a := range firsts(&less[i]) {
				b, ok := before[part]
				switch {
				case !ok && off.name == "light":
					continue // it had been seen coming
				case !ok || a.Onset != b.Onset && off.name != "light":
					t.Fatalf("without %s, replication %d: %s begins at %d, with it at %d (%v)", off.name, i, part, a.Onset, b.Onset, ok)
				case a.Onset != b.Onset:
					continue
				case b.SightedBy == off.name:
					if a.Sighted != record.None && a.Sighted < b.Sighted {
						t.Errorf("without %s, replication %d: %s is seen earlier, by %s", off.name, i, part, a.SightedBy)
					}
					later++
				case a.Sighted != b.Sighted || a.SightedBy != b.SightedBy:
					t.Errorf("without %s, replication %d: %s is seen by %q after %d, with it by %q after %d", off.name, i, part, a.SightedBy, a.Sighted, b.SightedBy, b.Sighted)
				default:
					same++
				}
			}
		}
		c := stat.Paired(felt(less), felt(all), 0.95)
		t.Logf("without %-10s %4d first faults seen as before, %3d later or never; correlation %5.2f, variance ratio of pairing %.3g", off.name, same, later, c.Correlation, c.Reduction)
		if same < 50 {
			t.Errorf("without %s: only %d faults to compare", off.name, same)
		}
		if c.Correlated && !(c.Correlation > 0) {
			t.Errorf("without %s: correlation %v", off.name, c.Correlation)
		}
	}
}

// firsts are the first faults of parts and modes: those after them depend on when
// the first was mended.
func firsts(r *record.Replication) map[string]record.Fault {
	out := map[string]record.Fault{}
	for _, f := range r.Faults {
		key := fmt.Sprintf("%d %s", f.Mode, strings.NewReplacer(">", "~").Replace(f.On))
		a, b, _ := strings.Cut(f.On, ">")
		if b != "" && b < a { // the two directions of one link
			key = fmt.Sprintf("%d %s~%s", f.Mode, b, a)
		}
		if _, ok := out[key]; !ok && f.Mode < 5 {
			out[key] = f
		}
	}
	return out
}

// A detector that is switched on late meets a backlog: drains peak, then fall to
// what is new each day. The shape is that of restarts after such a detector came
// into use: capped at 20 a day at first, a few a day once the backlog was cleared
// (Guo et al., SIGCOMM 2015, from memory).
func TestBacklog(t *testing.T) {
	t.Parallel()
	w := build(t, "backlog", `
name: backlog
warm_up: 100d
horizon: 60d
fabric: {clos: {pods: 1, leaves: 8, spines: 8, tops: 0}}
detection: {bfd: false}
telemetry: [{name: late, from: 30d, probes: {false_alarms: 1/30d}}, {name: nobody, complaints: false}]
operations: {reaction: automatic, floor: 50%}
failures: [{name: hush, on: link, kind: silent, life: {exponential: {mean: 1y}}, loss: 1%}]
`)
	const n = 10
	var drains, unseen [60]float64
	for _, r := range playAll(w, 2, n) {
		for d := range drains {
			drains[d] += float64(r.Days[d].Drains) / n
			unseen[d] += float64(r.Days[d].Unseen) / n
		}
	}
	before, after := 0.0, 0.0
	for d := range 30 {
		before += drains[d]
		after += drains[30+d] / 29
	}
	after -= drains[30] / 29
	t.Logf("drains a day: before %.2f, first day %.1f, then %.2f; unseen at its eve %.1f, a day later %.1f", before, drains[30], after, unseen[29], unseen[30])
	if before != 0 || drains[30] < 10*after || unseen[29] < 10 || unseen[30] > unseen[29]/10 {
		t.Errorf("drains %v\nunseen %v", drains, unseen)
	}
}

// Links that corrupt packets are taken out of use as far as a floor allows, and
// that cuts what corruption loses by three to six orders of magnitude against
// leaving them (Zhuo et al., SIGCOMM 2017, abstract; its conditions from memory).
func TestDrainsCutCorruptionLoss(t *testing.T) {
	t.Parallel()
	lost := func(telemetry, reaction string) float64 {
		w := build(t, "corruption", fmt.Sprintf(`
name: corruption
warm_up: 360d
horizon: 90d
fabric: {clos: {pods: 1, leaves: 4, spines: 8, tops: 0}}
detection: {bfd: false}
telemetry: [%s{name: nobody, complaints: false}]
operations: {reaction: %s}
failures: [{name: optic-dirty, on: link, kind: lossy, life: {exponential: {mean: 1y}}}]
`, telemetry, reaction))
		sum := 0.0
		for _, r := range playAll(w, 12, 20) {
			for _, v := range r.LostSeconds[0] {
				sum += v
			}
		}
		return sum
	}
	nothing, people := lost("", "human"), lost("{name: counters, polling: {}}, ", "human")
	programs := lost("{name: counters, polling: {every: 10s}}, ", "automatic")
	t.Logf("lost to corruption: nothing done %.3g, counters and people %.3g (1e%.1f less), counters of 10 s and programs %.3g (1e%.1f less)", nothing, people,
		math.Log10(nothing/people), programs, math.Log10(nothing/programs))
	for _, r := range []float64{nothing / programs, nothing / people} {
		if r < 1e3 || r > 1e6 {
			t.Errorf("cut by %.3g, published 1e3 to 1e6", r)
		}
	}
	if programs > people/10 {
		t.Errorf("programs leave %.3g, people %.3g", programs, people)
	}
}

// A part that keeps coming back is replaced whole after its third ticket, and is
// then as frail as any other: fewer faults where few parts have most of them.
func TestReplacingRepeatOffenders(t *testing.T) {
	t.Parallel()
	const text = `
name: lemons
warm_up: 300d
horizon: 400d
fabric: {clos: {pods: 1, leaves: 8, spines: 4, tops: 0}}
operations: {reaction: automatic, floor: 0, first_repair: 1%s}
failures: [{name: dirt, on: link, kind: lossy, life: {exponential: {mean: 200d}}, frailty: {unit: {lognormal: {sigma: 1.5}}}, loss: 1e-3, repair: {lead: 1h, hands_on: 1h}}]
`
	keep := playAll(build(t, "lemons", fmt.Sprintf(text, "")), 6, 40)
	swap := playAll(build(t, "lemons", fmt.Sprintf(text, ", replace: {tickets: 3, within: 120d}")), 6, 40)
	count := func(set []record.Replication, f func(r *record.Replication) int64) []float64 {
		return each(set, func(r *record.Replication) float64 { return float64(f(r)) })
	}
	onsets := func(r *record.Replication) int64 { return r.Onsets[0] }
	c := stat.Paired(count(keep, onsets), count(swap, onsets), 0.95)
	t.Logf("onsets without and with replacement differ by %.1f (%.1f to %.1f)", c.Difference.Value, c.Difference.Low, c.Difference.High)
	if !(c.Difference.Low > 0) {
		t.Errorf("replacement saves nothing: %+v", c.Difference)
	}
	replaced, repeats := 0.0, 0.0
	for i := range keep {
		if keep[i].Replaced != 0 {
			t.Fatal("replaced although nobody asked for it")
		}
		replaced += float64(swap[i].Replaced)
		repeats += float64(keep[i].Repeats) - float64(swap[i].Repeats)
	}
	if replaced == 0 || repeats <= 0 {
		t.Errorf("%v replaced, %v fewer repeats", replaced, repeats)
	}
}

// A cut whose repairs work four times in five takes 1.25 visits, each with its lead and
// hands-on time; a dead router takes one.
func TestVisitsOfRepairs(t *testing.T) {
	t.Parallel()
	for on, mean := range map[string]float64{"link": operation.Visits(0.8), "spine": 1} {
		w := build(t, "visits", `
name: visits
warm_up: 0s
horizon: 20y
fabric: {clos: {pods: 1, leaves: 4, spines: 4, tops: 0}}
failures: [{name: cut, on: `+on+`, kind: hard, life: {exponential: {mean: 20d}}, repair: {lead: 30h, hands_on: 2h}}]
`)
		r, _ := Sketch(nil, w, 1, 0)
		sum, n := 0.0, 0.0
		for i := range r.Faults {
			if f := &r.Faults[i]; f.End >= 0 {
				sum += float64(f.End-f.Onset) / 3600e9
				n++
			}
		}
		spread := 3 * math.Sqrt(0.2) / 0.8 / math.Sqrt(n) // of a geometric number, three sigma
		if got := sum / n / 32; math.Abs(got-mean) > spread || n < 1000 {
			t.Errorf("%s: %v repairs of 32 h, want %v within %v", on, got, mean, spread)
		}
		if got := float64(r.Visits) / float64(r.Repairs); math.Abs(got-mean) > spread {
			t.Errorf("%s: %v visits, want %v", on, got, mean)
		}
	}
}

// The least share of uplinks left is 0 where a leaf that lives has none, at once or one
// after the other; not where it is dead, or away so shortly that neighbours miss it as it
// is back, or drained.
func TestCapacityOfLeavesCutOff(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		script string
		left   float64
		cut    bool
	}{
		{"{at: 1min, on: leaf-0-0~spine-0-0, kind: hard, for: 1min}, {at: 1min, on: leaf-0-0~spine-0-1, kind: hard, for: 1min}", 1, true},
		{"{at: 1min, on: leaf-0-0~spine-0-0, kind: hard, for: 1min}, {at: 90s, on: leaf-0-0~spine-0-1, kind: hard, for: 1min}", 0.5, true},
		{"{at: 1min, on: leaf-0-0~spine-0-0, kind: hard, for: 1min}", 0.5, false},
		{"{at: 1min, on: leaf-0-0, kind: restart, for: 1min}", 1, false},
		{"{at: 1min, on: leaf-0-0, kind: restart, for: 10ms}", 1, false},
		{"{at: 59min, on: leaf-0-0, kind: hard}", 1, false},
	} {
		w := build(t, "left", "name: left\nrandom: false\nwarm_up: 0s\nhorizon: 1h\nfabric: {clos: {pods: 1, leaves: 4, spines: 2, tops: 0}}\n"+
			"detection: {bfd: false, hello: false}\ntelemetry: [{name: nobody, complaints: false}]\nscript: ["+c.script+"]\n")
		r := Play(w, 1, 0)
		if r.CapacityWorst != c.left || r.CutOff != c.cut {
			t.Errorf("%s: %v left, cut off %v; want %v and %v", c.script, r.CapacityWorst, r.CutOff, c.left, c.cut)
		}
		if left := r.CapacityLeft(); c.cut && left != 0 || !c.cut && left != c.left {
			t.Errorf("%s: %v left in all", c.script, left)
		}
	}
}

// Jobs of servers on one leaf stand still when it is dark for more than 9 s and
// are lost after 2 min, not after 1 min (Qian et al., SIGCOMM 2024, section 9.3):
// leaves dark for 9 s, a ms more, 1 and 2 min, a second more, and one for good, by hand;
// and leaves that are alive with no link that is: both cut for 10 s, one cut while the
// spine at the other is away for 121 s.
func TestStalls(t *testing.T) {
	t.Parallel()
	w := build(t, "stalls", `
name: stalls
warm_up: 1h
horizon: 2h
fabric: {clos: {pods: 1, leaves: 4, spines: 2, tops: 0}}
failures: []
script:
  - {at: 1min, on: leaf-0-0, kind: restart, for: 9s}
  - {at: 30min, on: leaf-0-0, kind: restart, for: 9001ms}
  - {at: 30min, on: leaf-0-1, kind: restart, for: 120s}
  - {at: 2min, on: leaf-0-1, kind: restart, for: 60s}
  - {at: 3min, on: leaf-0-2, kind: restart, for: 121s}
  - {at: 110min, on: leaf-0-3, kind: hard}
  - {at: 4min, on: spine-0-0, kind: restart, for: 10min}
  - {at: 40min, on: leaf-0-0~spine-0-0, kind: hard, for: 10s}
  - {at: 40min, on: leaf-0-0~spine-0-1, kind: hard, for: 10s}
  - {at: 50min, on: leaf-0-2~spine-0-0, kind: hard, for: 5min}
  - {at: 51min, on: spine-0-1, kind: restart, for: 121s}
`)
	whole := Play(w, 1, 0)
	quick, _ := Sketch(nil, w, 1, 0)
	for _, r := range []*record.Replication{&whole, &quick} {
		if r.Stalls != 7 || r.StallsLost != 3 {
			t.Errorf("%d stalls, %d of them lost; want 7 and 3", r.Stalls, r.StallsLost)
		}
	}
}
