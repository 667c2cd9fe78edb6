package linkstate

import (
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"halflight/model/fabric"
	"halflight/model/timer"
)

// A surge against the same events one router at a time: machines, books and
// batches after random LSPs at random instants, timers expiring between them.
func TestSurgeAgainstOneByOne(t *testing.T) {
	f, err := fabric.Clos{Pods: 3, Leaves: 4, Spines: 3, Tops: 2, Parallel: 1}.Build(1, 1)
	if err != nil {
		t.Fatal(err)
	}
	p := timer.Default(10*ms, false)
	n := len(f.Routers)
	for seed := range uint64(200) {
		random := rand.New(rand.NewPCG(8405, seed))
		// A mixture of one kind has no surges.
		quick, plain := New(f, &p, Options{}), New(f, &p, Options{SPF: slices.Repeat([]*timer.SPF{&p.SPF}, n)})
		now, fired := int64(0), 0
		for range 60 {
			now += int64(random.ExpFloat64() * float64([]int64{ms, 100 * ms, 3000 * ms}[random.IntN(3)]))
			origin := int32(random.IntN(n))
			changes := random.IntN(4) > 0
			var group []int32
			for x := range int32(n) {
				if random.IntN(5) > 0 {
					group = append(group, x)
				}
			}
			for _, c := range []*Control{quick, plain} {
				for x := range c.backs { // timers that have expired
					if b := &c.backs[x]; b.spfAt < now {
						at := b.spfAt
						b.settle(&p.SPF, at, c.bookOf(int32(x)))
						b.expire(&p.SPF, at, c.bookOf(int32(x)))
						c.ranFrom[x] = at
						fired++
					}
				}
				l := c.compose(origin)
				l.fault = int32(seed % 3)
				if changes {
					l.metric[0] = c.data.logs[origin].at(c.data.logs[origin].newest()).metric[0] + 1
				} else {
					l.metric[0] = c.data.logs[origin].at(c.data.logs[origin].newest()).metric[0]
				}
				if len(group) > 0 {
					c.deliverAll(group, version{origin, c.data.logs[origin].add(l)}, now)
				}
				c.close()
			}
			if !reflect.DeepEqual(quick.backs, plain.backs) || !reflect.DeepEqual(quick.ranFrom, plain.ranFrom) {
				t.Fatalf("seed %d at %d: the machines differ", seed, now)
			}
			if !reflect.DeepEqual(quick.Tasks, plain.Tasks) || !reflect.DeepEqual(quick.batches.all, plain.batches.all) {
				t.Fatalf("seed %d at %d: other timers expire together", seed, now)
			}
			if !reflect.DeepEqual(quick.heard, plain.heard) {
				t.Fatalf("seed %d at %d: other events are remembered", seed, now)
			}
		}
		if fired == 0 {
			t.Fatalf("seed %d: no timer expired", seed)
		}
		a, b := quick.Waits(now), plain.Waits(now)
		b.Rest = a.Rest
		if !reflect.DeepEqual(a, b) {
			t.Fatalf("seed %d: waits %v, one by one %v", seed, a, b)
		}
	}
}
