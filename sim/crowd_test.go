package sim

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"halflight/model"
	"halflight/scenarios"
	"halflight/sim/impact"
	"halflight/sim/load"
	"halflight/sim/record"
)

const crowdedHall = `
name: crowded
random: false
horizon: 14h
fabric: {clos: {pods: 1, leaves: 4, spines: %d, tops: 0}}
traffic: {load: %v, busiest: %v, congestion: %v}
telemetry: [{name: nobody, complaints: false}]
overload: {leaves: true}
script: [%s]
`

func crowdedWorld(t *testing.T, spines int, load, busiest float64, on bool, script string) *model.World {
	return build(t, "crowded", fmt.Sprintf(crowdedHall, spines, load, busiest, on, script))
}

func congested(r *record.Replication) (total, congestion float64) {
	for _, row := range r.LostSeconds {
		for p, v := range row {
			total += v
			if impact.Phase(p) == impact.Congestion {
				congestion += v
			}
		}
	}
	return total, congestion
}

// One of two spines is out for two hours in a hall whose uplinks are 80 % full, by
// hand: converged, the other is asked for 1.6 times what it carries, on the way up
// and on the way down, and passes 1/1.6 of it each time. All that is lost after
// convergence is congestion, charged to that fault; the parts sum to the total.
func TestOneOfTwoSpinesLost(t *testing.T) {
	for _, how := range []manner{together, apart} {
		w := crowdedWorld(t, 2, 0.8, 0.8, true, "{at: 1h, on: spine-0-0, kind: hard, for: 2h}")
		e := newRandom(w, 1, 0, how)
		e.run()
		r := e.record(0)
		total, congestion := congested(&r)
		want := 7200 * (1 - 1/2.56)
		if congestion < want-0.01 || congestion > want+2 { // the other is too full for 2 s more, until the first settles
			t.Errorf("%v: %v s lost to congestion, want %v", how, congestion, want)
		}
		if f := &r.Faults[0]; math.Abs(f.LostSeconds-total) > 1e-9*total || math.Abs(total-e.ledger.Total(e.until)) > 1e-9*total || f.FullConvergence > 1e9 {
			t.Errorf("%v: the fault is charged %v s of %v, %v in all; it converged after %v", how, f.LostSeconds, total, e.ledger.Total(e.until), f.FullConvergence)
		}
		if n := e.ledger.Pairs(0); n != 4*3 {
			t.Errorf("%v: %d pairs lose something, want all 12", how, n)
		}
		if math.Abs(r.LoadWorst-1.6) > 1e-9 || math.Abs(r.LoadOver-2.0/14) > 1e-4 {
			t.Errorf("%v: load %v, too much for %v of the time", how, r.LoadWorst, r.LoadOver)
		}
		// A request of 10 packets, each lost with 1 - 1/2.56 on its way, and its reply.
		if a := r.Applications[0]; math.Abs(a.SlowShare-2.0/14) > 1e-3*a.SlowShare {
			t.Errorf("%v: slow %v", how, a.SlowShare)
		}
	}
}

// The busiest hour is from 12 to 13 h each day, and the mean of a day is the load:
// with 0.9 on average and 1.2 in that hour, nothing broken, each direction is asked
// for 1.2 times what it carries for one hour of 14, and loses 1/6 twice in a row. There
// is no fault, so demand is charged.
func TestBusiestHourAlone(t *testing.T) {
	for _, how := range []manner{together, apart} {
		w := crowdedWorld(t, 4, 0.9, 1, true, "")
		w.Traffic.Busiest = 1.2 // past what a scenario may ask for without servers
		e := newRandom(w, 1, 0, how)
		e.run()
		r := e.record(0)
		total, congestion := congested(&r)
		if want := 3600 * (1 - 1/1.44); math.Abs(congestion-want) > 1e-9*want || total != congestion {
			t.Errorf("%v: %v s lost to congestion of %v, want %v", how, congestion, total, want)
		}
		h := HeaderOf(w)
		last := len(h.Modes) - 1
		if h.Modes[last].Name != "demand" || math.Abs(r.LostSeconds[last][impact.Congestion]-total) > 1e-9*total || len(r.Older) != 1 || r.Older[0].On != "demand" {
			t.Errorf("%v: charged %v to %v", how, r.LostSeconds[last], h.Modes[last])
		}
	}
	if q := crowdedWorld(t, 4, 0.5, 0.96, true, "").Traffic.Quiet(); math.Abs(q-(12-0.96)/23) > 1e-12 {
		t.Errorf("outside the busiest hour %v", q)
	}
}

// Room is lost where a gray direction drops less, and the other way round: of what a
// direction drops all is charged to whichever drops more.
func TestCrowdedAndGray(t *testing.T) {
	for _, s := range []struct {
		loss float64
		full bool
	}{{0.01, true}, {0.9, false}} {
		w := crowdedWorld(t, 2, 0.8, 0.8, true, fmt.Sprintf("{at: 1h, on: spine-0-0, kind: hard, for: 2h}, {at: 1h, on: leaf-0-0>spine-0-1, kind: silent, loss: %v, for: 2h}", s.loss))
		w.Timers.BFD, w.Timers.Hello = false, false
		e := newRandom(w, 1, 0, apart)
		e.run()
		r := e.record(0)
		phases := r.Faults[1].Phases
		gray := phases[impact.Unnoticed]
		if s.full == (gray > 60) {
			t.Errorf("loss %v: the gray fault is charged %v", s.loss, phases)
		}
		total, _ := congested(&r)
		if math.Abs(total-e.ledger.Total(e.until)) > 1e-9*total {
			t.Errorf("parts %v, all %v", total, e.ledger.Total(e.until))
		}
	}
}

// Where nothing is too full, following loads changes nothing but what is said of them.
func TestRoomForAll(t *testing.T) {
	for _, how := range []manner{together, apart} {
		var records [2]record.Replication
		for i := range records {
			w := shipped(t, "storm")
			w.WarmUp, w.Horizon = 0, 4*3600e9
			w.Traffic.Load, w.Traffic.Busiest, w.Traffic.Congestion = 0.05, 0.06, i == 1
			e := newRandom(w, 3, 0, how)
			e.run()
			records[i] = e.record(0)
		}
		off, on := &records[0], &records[1]
		if on.LoadWorst < 0.05 || on.LoadOver != 0 {
			t.Errorf("%v: load %v, over %v", how, on.LoadWorst, on.LoadOver)
		}
		n := len(off.LostSeconds)
		on.LoadWorst, on.LostSeconds, on.Onsets, on.Present, on.Unseen = 0, on.LostSeconds[:n], on.Onsets[:n], on.Present[:n], on.Unseen[:n]
		if !reflect.DeepEqual(off, on) {
			t.Errorf("%v: loads that leave room change the play", how)
		}
	}
}

// A crowded hall: loads by the tables in force, and by the tables as they will be
// once all is noticed. In a lull what is lost for want of room is within 2 %; in a
// storm, where routers wait 5 s before they put a flapping link into their tables
// again, the latter says up to a fifth less. The parts sum to the total.
func TestCrowdedTogetherAsOneByOne(t *testing.T) {
	for i, name := range []string{"lull", "storm"} {
		seed, least := uint64(i), []float64{0.98, 0.8}[i]
		var lost [2]float64
		for k, how := range []manner{together, apart} {
			w := shipped(t, name)
			w.WarmUp, w.Horizon = 0, []int64{48, 6}[i]*3600e9
			w.Traffic.Load, w.Traffic.Busiest, w.Traffic.Congestion = 0.75, 0.75, true
			e := newRandom(w, seed, 0, how)
			e.run()
			r := e.record(0)
			total := 0.0
			total, lost[k] = congested(&r)
			if math.Abs(total-e.ledger.Total(e.until)) > 1e-9*total {
				t.Errorf("%v: parts %v, all %v", how, total, e.ledger.Total(e.until))
			}
			t.Logf("%s: %v s lost, %v for want of room; load %v, too much for %v of the time", name, total, lost[k], r.LoadWorst, r.LoadOver)
		}
		if lost[0] == 0 || lost[0] > 1.02*lost[1] || lost[0] < least*lost[1] {
			t.Errorf("%s: %v s together, %v one by one", name, lost[0], lost[1])
		}
	}
}

// Loads need independent hashing.
func TestCongestionRefusesPolarised(t *testing.T) {
	text := strings.Replace(fmt.Sprintf(crowdedHall, 2, 0.5, 0.6, true, ""), "random: false", "random: false\nhashing: polarised", 1)
	s, problems := scenarios.Parse("crowded", []byte(text))
	if problems.Any() {
		t.Fatal(problems.String())
	}
	if _, more := model.Build(s); len(more) != 1 || more[0].Path != "traffic.congestion" {
		t.Errorf("%v", more)
	}
}

// Servers with two leaves, one of which dies for two hours, by hand: the mate carries
// what both did, and of its two uplinks each is asked for 4/3 of the load where six
// halves of what a leaf sends to one other had been three halves. At a load of 0.9
// that is 1.2: what the mate sends and gets, 8 of 12 parts, loses a sixth.
func TestMateOfADeadLeafIsCrowded(t *testing.T) {
	text := strings.Replace(fmt.Sprintf(crowdedHall, 2, 0.9, 0.9, true, "{at: 1h, on: leaf-0-0, kind: hard, for: 2h}"), "telemetry:", "homing: {groups: 4, attachments: 2}\ntelemetry:", 1)
	w := build(t, "mates", text)
	e := newRandom(w, 1, 0, asFits)
	e.run()
	r := e.record(0)
	total, congestion := congested(&r)
	if want := 7200 * 8.0 / 12 / 6; congestion < want-0.5 || congestion > want+1 || math.Abs(r.LoadWorst-1.2) > 1e-9 {
		t.Errorf("%v s lost to congestion, want %v; load %v, want 1.2", congestion, want, r.LoadWorst)
	}
	if math.Abs(total-e.ledger.Total(e.until)) > 1e-9*total {
		t.Errorf("parts %v, all %v", total, e.ledger.Total(e.until))
	}
}

// Random worlds of every kind in crowded halls: parts sum to the total, what is
// offered is delivered or lost at moments when tables are of all ages, and loads
// followed change by change are those found from nothing.
func TestSwarmInACrowd(t *testing.T) {
	t.Parallel()
	tooFull := 0
	for seed := range uint64(swarmSeeds) {
		w := swarmWorld(t, seed, false, "3h")
		if w.Polarised {
			continue
		}
		w.Traffic.Load, w.Traffic.Busiest, w.Traffic.Congestion = 0.7, 0.9, true
		for _, how := range []manner{apart, together} {
			checkBooks(t, seed, w, how)
			e := newRandom(w, seed, 0, how)
			e.run()
			if sum := e.followed() + e.ledger.Share(); math.Abs(sum-1) > 1e-9 {
				t.Errorf("seed %d, %v: delivered and lost make %v", seed, how, sum)
			}
			if e.crowd.over > 0 {
				tooFull++
			}
			if how == together {
				continue
			}
			fresh := load.New(e.f, e.control.Table, e.ledger.PairWeight, func(d int32) bool { return e.body.ways[d].Dead }, func(x int32) bool { return !e.body.dead[x] }, true)
			fresh.All()
			for dir, l := range fresh.Load {
				if got := e.crowd.book.Load[dir]; got != l {
					t.Errorf("seed %d: %s has a load of %v, from nothing %v", seed, e.f.DirectionName(int32(dir)), got, l)
				}
			}
		}
	}
	if tooFull < 20 {
		t.Errorf("only %d plays had a direction that was too full", tooFull)
	}
}
