package messages

import (
	"container/heap"
	"math"
	"slices"
	"testing"

	"halflight/model"
	"halflight/model/fabric"
	"halflight/model/timer"
)

// pair is two routers with one link.
func pair(t *testing.T, set timer.Set, by *wire) *play {
	f, err := fabric.Graph([]fabric.Router{{Name: "a"}, {Name: "b"}}, []fabric.Link{{Upper: 1, Metric: [2]uint32{1, 1}}}, 2)
	if err != nil {
		t.Fatal(err)
	}
	set.SecondLSPCounts = true
	return newPlay(&model.World{Fabric: f, Timers: set}, by)
}

// hand puts LSPs of n other routers into what router a owes to b.
func hand(p *play, n int) {
	p.routers[1].database = make(database, 2+n)
	p.plan(event{at: 0, stage: timers, do: func() {
		x := p.routers[0]
		x.effects = x.effects[:0]
		for i := range n {
			x.owe(p.now, 0, &lsp{origin: int32(2 + i), number: 1})
		}
		p.carryOut(0, x.effects)
	}})
}

// follow works through the queue and calls see after each event.
func follow(p *play, end int64, see func()) {
	for len(p.queue) > 0 && p.queue[0].at < end {
		e := heap.Pop(&p.queue).(*event)
		p.now, p.round = e.at, e.round
		e.do()
		see()
	}
}

// The last of n LSPs leaves an interface max(0, n-b) x t after the first, with
// bursts of b and t between LSPs: RFC 9681, section 1 has more than 30 s for
// 1,000 of them 33 ms apart.
func TestPacing(t *testing.T) {
	for _, c := range []struct {
		n, burst       int
		interval, last int64
	}{
		{64, 1, 33e6, 2079e6}, {64, 10, 33e6, 1782e6}, {64, 10, 1e6, 54e6}, {5, 10, 33e6, 0},
		{1000, 1, 33e6, 32_967e6}, {1000, 10, 33e6, 32_670e6}, {1000, 10, 1e6, 990e6},
	} {
		p := pair(t, timer.Set{}, &wire{perHop: 1e6, resend: 1e15, burst: c.burst, interval: c.interval})
		hand(p, c.n)
		last, sent := int64(-1), 0
		follow(p, 100e9, func() {
			if n := p.routers[0].sent; n > sent {
				last, sent = p.now, n
			}
		})
		if sent != c.n || last != c.last {
			t.Errorf("%d LSPs, bursts of %d, %d ns apart: %d sent, the last at %d ns, want %d", c.n, c.burst, c.interval, sent, last, c.last)
		}
	}
}

// No more than a window of LSPs leaves in the time that an acknowledgement takes:
// 100 in 10 ms are 10,000 in a second, in 50 ms 2,000 (RFC 9681, section 6.2.1).
// Played for a fifth of a second.
func TestWindow(t *testing.T) {
	for _, c := range []struct {
		trip int64
		want int
	}{{10e6, 2_000}, {50e6, 400}} {
		p := pair(t, timer.Set{}, &wire{perHop: c.trip / 2, resend: 1e15, window: 100})
		hand(p, 3_000)
		follow(p, 0.2e9, func() {})
		if got := p.routers[0].sent; got != c.want {
			t.Errorf("round trip %d ns: %d sent in 0.2 s, want %d", c.trip, got, c.want)
		}
	}
}

// An LSP that is lost with probability p waits 5 s x p / (1 - p) on average: it is
// sent again every 5 s (ISO/IEC 10589, minimumLSPTransmissionInterval).
func TestRepetition(t *testing.T) {
	for _, loss := range []float64{0.05, 0.3} {
		const n = 10_000
		p := pair(t, timer.Set{}, &wire{perHop: 1e6, resend: 5e9, loss: loss, seed: 3})
		for i := range n {
			p.plan(event{at: int64(i) * 1000e9, stage: timers, do: func() {
				x := p.routers[0]
				x.effects = x.effects[:0]
				x.flood(p.now, &lsp{origin: 0, number: 2 + i}, -1)
				p.carryOut(0, x.effects)
			}})
		}
		sum, has := 0.0, 1
		follow(p, math.MaxInt64, func() {
			if l := p.routers[1].database[0]; l.number > has {
				sum += float64(p.now-int64(l.number-2)*1000e9-1e6) / 1e9
				has = l.number
			}
		})
		mean, want := sum/n, 5*loss/(1-loss)
		if spread := 5 * math.Sqrt(loss) / (1 - loss) / math.Sqrt(n); has != n+1 || math.Abs(mean-want) > 3.5*spread {
			t.Errorf("loss %g: %d arrived, mean wait %.4f s, want %.4f within %.4f", loss, has-1, mean, want, 3.5*spread)
		}
	}
}

// One LSP crosses every link at least once, and every router passes it on but to
// where it came from: between L and 2L - R + 1 copies on R routers and L links.
func TestCopies(t *testing.T) {
	for _, clos := range []string{"{pods: 1, leaves: 8, spines: 4, tops: 0}", "{pods: 3, leaves: 4, spines: 2, tops: 3}", "{pods: 1, leaves: 3, spines: 2, tops: 0, parallel: 2}"} {
		w := build(t, "{name: copies, random: false, horizon: 1s, fabric: {clos: "+clos+"}, detection: {bfd: false, hello: false}, flooding: {pacing: false}, script: [{at: 100ms, on: spine-0-0, kind: drain}]}")
		p := playScript(w, ideal(w))
		sent := 0
		for _, x := range p.routers {
			sent += x.sent
		}
		links, routers := len(w.Fabric.Links), len(w.Fabric.Routers)
		if len(p.routers[w.Fabric.Ports[0][0].Peer].originations) != 1 || sent < links || sent > 2*links-routers+1 {
			t.Errorf("%s: %d LSPs, %d copies, want between %d and %d", clos, len(p.routers[w.Fabric.Ports[0][0].Peer].originations), sent, links, 2*links-routers+1)
		}
	}
}

// Whatever is lost on the way, in the end routers that reach one another over
// adjacencies have the same database, and it says what is so.
func TestDatabasesMeet(t *testing.T) {
	for seed := range uint64(150) {
		w := build(t, generate(2_000_000+seed, seed%2 == 0))
		w.Horizon = 400e9
		by := queued(w)
		by.atOnce, by.loss, by.seed, by.burst, by.interval, by.window = false, 0.3, seed, 1, 33e6, 2
		p := playScript(w, by)
		databasesMeet(t, seed, p)
	}
}

// databasesMeet holds the databases at both ends of every adjacency against one another
// and against what is so.
func databasesMeet(t *testing.T, seed uint64, p *play) {
	t.Helper()
	for l, k := range p.f.Links {
		if !p.lines[l].both || !p.lines[l].alive {
			continue
		}
		a, b := p.routers[k.Lower], p.routers[k.Upper]
		if !slices.Equal(a.database.summary(), b.database.summary()) {
			t.Fatalf("seed %d: %v and %v at the ends of %s", seed, a.database.summary(), b.database.summary(), k.Name)
		}
		if now := a.compose(0); !now.says(b.database[k.Lower]) {
			t.Fatalf("seed %d: the other end of %s has %v of its lower end, %v is so", seed, k.Name, b.database[k.Lower], now)
		}
	}
}

// Waits of the families against published and hand-worked timelines: events, runs.
func TestWaits(t *testing.T) {
	standard := timer.SPF{Initial: 50, Short: 200, Long: 5000, TimeToLearn: 500, Holddown: 10000}
	doubling := timer.SPF{Family: timer.DoublingA, First: 50, Incremental: 200, Maximum: 5000, Wait: 10000}
	spacing := doubling
	spacing.Family = timer.DoublingB
	var often []int64
	for at := int64(0); at <= 13000; at += 100 {
		often = append(often, at)
	}
	for _, c := range []struct {
		name         string
		spf          timer.SPF
		events, runs []int64
	}{
		// RFC 8405, section 5, with the values of its section 6; by hand.
		{"one component", standard, []int64{0, 30, 120, 180, 400}, []int64{50, 320, 600}},
		{"second failure", standard, []int64{0, 2000}, []int64{50, 7000}},
		{"noise every 9 s", standard, []int64{0, 9000, 18000, 20000, 27000}, []int64{50, 14000, 23000, 32000}},
		{"noise every 11 s", standard, []int64{0, 11000, 16000, 22000}, []int64{50, 11050, 21000, 27000}},
		{"events as timers expire", standard, []int64{0, 200, 400, 600, 800, 1000, 1200, 1400, 1600, 1800, 2000}, []int64{50, 400, 600, 5600}},
		{"long delay over holddown", timer.SPF{Initial: 50, Short: 200, Long: 5000, TimeToLearn: 1000, Holddown: 3000}, []int64{0, 1500, 5000}, []int64{50, 6500}},
		{"values of section 3", timer.SPF{Initial: 0, Short: 100, Long: 2000, TimeToLearn: 1000, Holddown: 3000}, []int64{0, 40, 1500}, []int64{0, 140, 3500}},
		{"quiet at the instant", standard, []int64{0, 10000}, []int64{50, 10050}},
		// RFC 8541, Table 2 as published: delays 150, 150, 300, 600 and 150, 150, 150, 1000.
		{"RFC 8541, E", timer.SPF{Family: timer.DoublingA, First: 150, Incremental: 150, Maximum: 1000, Wait: 10000}, []int64{10, 214, 410, 1010}, []int64{160, 364, 710, 1610}},
		{"RFC 8541, S", timer.SPF{Family: timer.TwoStep, Rapid: 150, RapidRuns: 3, Slow: 1000, Wait: 10000}, []int64{10, 212, 410, 1010}, []int64{160, 362, 560, 2010}},
		// By hand.
		{"doubling a, every 100 ms", doubling, often, []int64{50, 300, 700, 1500, 3100, 6300, 11300, 16300}},
		{"doubling b, every 100 ms", spacing, often, []int64{50, 250, 650, 1450, 3050, 6250, 11250, 16250}},
		{"doubling a, every 10 s", doubling, []int64{0, 10000, 20000}, []int64{50, 10050, 20050}},
	} {
		p := pair(t, timer.Set{SPF: c.spf}, &wire{})
		for _, at := range c.events {
			p.plan(event{at: at, stage: arrivals, do: func() {
				x := p.routers[0]
				x.effects = x.effects[:0]
				x.spf.event(x, p.now)
				p.carryOut(0, x.effects)
			}})
		}
		follow(p, 1e6, func() {})
		if got := p.routers[0].runs; !slices.Equal(got, c.runs) {
			t.Errorf("%s: runs at %v, want %v", c.name, got, c.runs)
		}
	}
}
