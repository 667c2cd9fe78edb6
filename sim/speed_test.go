package sim

import (
	"container/heap"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"halflight/model"
	"halflight/model/failure"
	"halflight/sim/kernel"
)

// The speed table. One command prints it, the twin's ratio included:
//
//	go test -run '^$' -bench 'Speed|Ratio' -benchtime 1x ./sim ./sim/messages
//
// Long rows stop at these caps, and say how far they came; -days 0 -seconds 0
// plays them whole.
var (
	speedDays    = flag.Int("days", 1, "long rows of the speed table: simulated `days` at most; 0 for all of them")
	speedSeconds = flag.Int("seconds", 60, "long rows of the speed table: `seconds` by the clock at most; 0 for no limit")
)

// fabrics are the sizes of the table, by their number of routers.
var fabrics = map[int]string{
	160:    "{pods: 2, leaves: 48, spines: 16, tops: 2}",
	688:    "{pods: 10, leaves: 40, spines: 16, tops: 8}",
	2_880:  "{pods: 36, leaves: 40, spines: 24, tops: 24}",
	5_120:  "{pods: 64, leaves: 32, spines: 32, tops: 32}",  // k = 64, full
	10_000: "{pods: 100, leaves: 60, spines: 25, tops: 60}", // 300,000 links
}

// sized is a world of so many routers with the default faults.
func sized(b *testing.B, routers int, more string, set ...string) *model.World {
	w := build(b, "speed", "name: speed\nwarm_up: 0s\nfabric: {clos: "+fabrics[routers]+"}\n"+more, set...)
	if n := len(w.Fabric.Routers); n != routers {
		b.Fatalf("%d routers, want %d", n, routers)
	}
	return w
}

// swings cuts and heals one link between a leaf and a spine after the other, all
// timers at rest before each: what the engine of random runs takes for one
// transition. Set-up is not timed.
func swings(b *testing.B, w *model.World, stream *kernel.Stream) {
	const apart = 60_000_000_000 // far beyond the longest timer
	w.Horizon = 100 * 365 * 24 * hour
	e := newEngine(w, stream, together)
	e.settle()
	uplinks, at := len(w.Fabric.Ports[0]), int64(0)
	runs := e.control.SPFRuns
	swing := func(n int) {
		leaf := n % w.Fabric.Leaves
		link := w.Fabric.Ports[leaf][(n/w.Fabric.Leaves+n)%uplinks].Link
		e.addFault(fault{Condition: failure.Condition{Kind: failure.Hard}, mode: -1, unit: -1, on: w.Fabric.Links[link].Name,
			onset: at + apart, end: at + 2*apart, links: []int32{link}})
		at += 3 * apart
		e.advance(at)
		e.settle()
		e.ledger.CatchUp(at)
	}
	const enough = 20 // of them in one turn, so that one turn says something
	n := 0
	for b.Loop() {
		for range enough {
			swing(n)
			n++
		}
	}
	if share := e.ledger.Share(); share != 0 {
		b.Fatalf("a share %v is lost after all links are back", share)
	}
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(2*n), "ns/transition")
	b.ReportMetric(float64(e.control.SPFRuns-runs)/float64(2*n), "SPF-runs/transition")
}

// BenchmarkSpeed is every row of the table that this package can play. Beside
// each stands what one hold in container/heap took with 1e5 pending in the same
// run, the machine's own measure; and the most the process held in memory.
func BenchmarkSpeed(b *testing.B) {
	row := func(name string, do func(b *testing.B)) {
		b.Run(name, func(b *testing.B) {
			forgetPeak()
			do(b)
			b.ReportMetric(peak(), "MiB-peak")
			b.ReportMetric(holdContainer(), "ns/hold-container")
		})
	}
	long := func(name string, atMost float64, make func(b *testing.B) *model.World) {
		row(name, func(b *testing.B) {
			lap(b, *speedDays, make)
			b.ReportMetric(atMost, "s-at-most-whole")
		})
	}
	seed := kernel.NewStream(1, 0)

	for _, spread := range []float64{0, 0.5} {
		row(fmt.Sprintf("row=transition/routers=2880/spread=%v", spread), func(b *testing.B) {
			w := sized(b, 2880, "random: false")
			stream := &seed
			if w.Spread = spread; spread == 0 {
				stream = nil
			}
			swings(b, w, stream)
			b.ReportMetric(map[float64]float64{0: 60_000, 0.5: 200_000}[spread], "ns-at-most")
		})
	}
	for _, routers := range []int{160, 688, 2_880, 5_120} {
		row(fmt.Sprintf("row=growth/routers=%d/spread=0.2", routers), func(b *testing.B) {
			w := sized(b, routers, "random: false")
			w.Spread = 0.2
			swings(b, w, &seed)
		})
	}
	for _, routers := range []int{160, 688, 2_880, 5_120} {
		row(fmt.Sprintf("row=growth-random/routers=%d", routers), func(b *testing.B) {
			// Equal faults a link, and some 200 of them at every size.
			days := map[int]string{160: "125d", 688: "26d", 2_880: "87h", 5_120: "37h"}[routers]
			lap(b, 0, func(b *testing.B) *model.World {
				return sized(b, routers, "failures: [{name: cut, on: link, kind: hard, life: {exponential: {mean: 1000d}}}]", "horizon="+days)
			})
		})
	}
	row("row=hosts/routers=2880", func(b *testing.B) {
		lap(b, 0, func(b *testing.B) *model.World { // some 280 events, of which no table hears
			return sized(b, 2880, "failures: []\nunderlay: {hosts: 48, reboots: {rate: 1/30d, away: 5min}, flaps: false}\n", "horizon=87min", "fib.prefixes=1")
		})
	})
	long("row=glacier/routers=2880", 20, func(b *testing.B) *model.World { return shipped(b, "glacier") })
	long("row=glacier-year/routers=2880", 10, func(b *testing.B) *model.World { return shipped(b, "glacier", "horizon=365d") })
	long("row=glacier-flaps/routers=2880", 20, func(b *testing.B) *model.World {
		w := shipped(b, "glacier", "horizon=30d", "warm_up=0s")
		i := slices.IndexFunc(w.Modes, func(m failure.Mode) bool { return m.Name == "optic-flap" })
		w.Modes[i].Life = failure.Episodes(1.2e-2 / 86400) // the top of its range, some 3,300 flaps a day
		if w.Modes[i].Residual != nil {
			b.Fatal("the first onset would be of another law")
		}
		return w
	})
	long("row=k64/routers=5120", 5, func(b *testing.B) *model.World { return sized(b, 5_120, "", "horizon=30d") })
	long("row=ten-thousand/routers=10000", 60, func(b *testing.B) *model.World { return sized(b, 10_000, "", "horizon=7d") })
}

// lap builds a world and plays one replication of it on one core: the warm-up, and some
// days after it (0: all), up to the limit by the clock.
func lap(b *testing.B, days int, make func(b *testing.B) *model.World) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	for b.Loop() {
		begun := time.Now()
		w := make(b)
		switch n := len(w.Fabric.Routers) * w.Fabric.Leaves; { // as package replication has it
		case n > 20_000_000:
			defer debug.SetGCPercent(debug.SetGCPercent(5))
		case n > 1_000_000:
			defer debug.SetGCPercent(debug.SetGCPercent(25))
		}
		e := newRandom(w, 1, 0, asFits)
		set := time.Since(begun)
		to := e.until
		if days > 0 {
			to = min(to, w.WarmUp+int64(days)*24*hour)
		}
		reached := int64(0)
		for reached < to && (*speedSeconds == 0 || time.Since(begun).Seconds() < float64(*speedSeconds)) {
			reached = min(to, reached+hour)
			e.advance(reached)
		}
		e.ledger.Flush(reached)
		play := time.Since(begun) - set
		b.ReportMetric(float64(len(w.Fabric.Links)), "links")
		b.ReportMetric(set.Seconds(), "s-set-up")
		b.ReportMetric(play.Seconds(), "s-play")
		b.ReportMetric(float64(max(0, reached-w.WarmUp))/float64(24*hour), "days-done")
		b.ReportMetric(float64(e.until-w.WarmUp)/float64(24*hour), "days-whole")
		b.ReportMetric(float64(len(e.faults)), "faults")
		b.ReportMetric(float64(e.control.Originations), "LSPs")
		b.ReportMetric(float64(play.Nanoseconds())/float64(max(1, e.control.Originations)), "ns/LSP")
	}
	b.ReportMetric(0, "ns/op")
}

// forgetPeak gives back what is not used and starts the peak anew.
func forgetPeak() {
	debug.FreeOSMemory()
	os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) // not everywhere: the peak is then that of all rows so far
}

// peak is the most that the process held, in MiB; 0 where nobody says.
func peak() float64 {
	text, _ := os.ReadFile("/proc/self/status")
	_, rest, _ := strings.Cut(string(text), "VmHWM:")
	kib, _ := strconv.ParseFloat(strings.Fields(rest + " 0")[0], 64)
	return kib / 1024
}

// holdContainer is the time in ns of one hold of the hold model (pop the first,
// push one due an exponential time later) with container/heap by pointer, 1e5
// pending.
func holdContainer() float64 {
	const pending, holds = 100_000, 500_000
	chance := rand.New(rand.NewPCG(7, 7))
	later := make([]int64, 1<<16)
	for i := range later {
		later[i] = int64(-1e6 * math.Log(1-chance.Float64()))
	}
	var h heldEvents
	for i := range pending {
		heap.Push(&h, &kernel.Event{At: later[i&0xffff], Key: uint64(i)})
	}
	turn := func(n int) {
		for i := range n {
			e := heap.Pop(&h).(*kernel.Event)
			heap.Push(&h, &kernel.Event{At: e.At + later[i&0xffff], Key: e.Key})
		}
	}
	turn(2 * pending)
	begun := time.Now()
	turn(holds)
	return float64(time.Since(begun).Nanoseconds()) / holds
}

type heldEvents []*kernel.Event

func (h heldEvents) Len() int           { return len(h) }
func (h heldEvents) Less(i, j int) bool { return kernel.Before(h[i], h[j]) }
func (h heldEvents) Swap(i, j int)      { h[i], h[j] = h[j], h[i] }
func (h *heldEvents) Push(e any)        { *h = append(*h, e.(*kernel.Event)) }

func (h *heldEvents) Pop() any {
	last := len(*h) - 1
	e := (*h)[last]
	(*h)[last] = nil
	*h = (*h)[:last]
	return e
}
