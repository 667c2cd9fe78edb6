package messages

import (
	"container/heap"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"halflight/model"
	"halflight/sim"
)

// swinging is a fabric of 160 routers on which one link between a leaf and a
// spine is cut and comes back, all timers at rest before each transition.
func swinging(b *testing.B, transitions int, random bool) *model.World {
	changes := make([]string, transitions)
	for i := range changes {
		changes[i] = fmt.Sprintf("%ds", 60*i)
	}
	return build(b, fmt.Sprintf(`
name: swinging
random: %t
warm_up: 0s
horizon: %ds
failures: []
telemetry: [{name: nobody, complaints: false}]
applications: []
routers: {spread: 0}
detection: {bfd: false, hello: false}
fabric: {clos: {pods: 2, leaves: 48, spines: 16, tops: 2}}
script: [{at: 60s, on: leaf-0-0~spine-0-0, kind: flapping, changes: [%s]}]
`, random, 60*(transitions+2), strings.Join(changes, ", ")))
}

// BenchmarkRatio takes the time of one link transition in the engine, as random
// runs have it and as scripts have it, and in this twin, set-up left out, and
// beside it that of a hold in container/heap with 1e5 pending.
func BenchmarkRatio(b *testing.B) {
	const few, many = 2, 202
	timed := func(do func()) time.Duration {
		start := time.Now()
		do()
		return time.Since(start)
	}
	var random, script, twin, hold time.Duration
	n := 0
	for b.Loop() {
		n++
		for _, transitions := range [2]int{few, many} {
			sign := time.Duration(1)
			if transitions == few {
				sign = -1
			}
			w := swinging(b, transitions, true)
			random += sign * timed(func() { sim.Play(w, 1, 0) }) / (many - few)
			w = swinging(b, transitions, false)
			script += sign * timed(func() { sim.Script(w) }) / (many - few)
		}
		p := newPlay(swinging(b, few, false), ideal(swinging(b, few, false)))
		if len(p.routers) != 160 {
			b.Fatalf("%d routers, want 160", len(p.routers))
		}
		twin += timed(func() { p.run(60e9 * (few + 2)) }) / few
		if len(p.shares) < 5 || p.share > 1e-12 {
			b.Fatalf("lost shares %v: something must be lost, and nothing in the end", p.shares)
		}
		hold += holdContainer()
	}
	each := func(d time.Duration) float64 { return float64(d.Nanoseconds()) / float64(n) }
	b.ReportMetric(0, "ns/op") // all together mean nothing
	b.ReportMetric(each(random), "ns/transition-random")
	b.ReportMetric(each(script), "ns/transition-script")
	b.ReportMetric(each(twin), "ns/transition-twin")
	b.ReportMetric(each(twin)/each(random), "twin/random")
	b.ReportMetric(each(twin)/each(script), "twin/script")
	b.ReportMetric(each(hold), "ns/hold-container")
}

// holdContainer is the time of one hold of the hold model (pop the first, push
// one due an exponential time later) with container/heap by pointer.
func holdContainer() time.Duration {
	const pending, holds = 100_000, 1_000_000
	chance := rand.New(rand.NewPCG(7, 7))
	later := make([]int64, 1<<16)
	for i := range later {
		later[i] = int64(-1e6 * math.Log(1-chance.Float64()))
	}
	var h pending32
	for i := range pending {
		heap.Push(&h, &event32{at: later[i&0xffff], key: uint64(i)})
	}
	turn := func(n int) {
		for i := range n {
			e := heap.Pop(&h).(*event32)
			heap.Push(&h, &event32{at: e.at + later[i&0xffff], key: e.key})
		}
	}
	turn(2 * pending)
	start := time.Now()
	turn(holds)
	return time.Since(start) / holds
}

// event32 is as large as the engine's event.
type event32 struct {
	at  int64
	key uint64
	_   [2]uint64
}

type pending32 []*event32

func (h pending32) Len() int { return len(h) }
func (h pending32) Less(i, j int) bool {
	return h[i].at < h[j].at || h[i].at == h[j].at && h[i].key < h[j].key
}
func (h pending32) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h *pending32) Push(e any)   { *h = append(*h, e.(*event32)) }

func (h *pending32) Pop() any {
	last := len(*h) - 1
	e := (*h)[last]
	(*h)[last] = nil
	*h = (*h)[:last]
	return e
}
