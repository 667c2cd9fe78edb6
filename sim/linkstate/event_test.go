package linkstate

import (
	"slices"
	"testing"

	"halflight/model/fabric"
	"halflight/model/timer"
	"halflight/sim/paths/plain"
)

// small is the control plane of 3 leaves and 2 spines, at rest.
func small(t testing.TB, change func(*timer.Set)) *Control {
	f, err := fabric.Clos{Pods: 1, Leaves: 3, Spines: 2, Parallel: 1}.Build(1, 1)
	if err != nil {
		t.Fatal(err)
	}
	p := timer.Default(10*ms, false)
	p.OverloadLeaves = false
	if change != nil {
		change(&p)
	}
	return New(f, &p, Options{Trace: true})
}

// expires is when the SPF timer of x expires.
func (c *Control) expires(x int32) int64 { return c.backs[x].spfAt }

// RFC 8405, section 3, IGP event: the reception of a change that asks for a new
// computation is one: adjacency, metric, overload bit.
func TestRFC8405Section3ReceptionOfAChangeIsAnEvent(t *testing.T) {
	for name, change := range map[string]func(*lsp){
		"adjacency": func(l *lsp) { l.metric[0] = 0 },
		"metric":    func(l *lsp) { l.metric[0] = 7 },
		"overload":  func(l *lsp) { l.overload = true },
	} {
		c := small(t, nil)
		l := c.compose(0)
		change(l)
		c.deliver(1, version{0, c.data.logs[0].add(l)}, 3*ms)
		if c.expires(1) != 53*ms || c.expires(2) != Never {
			t.Errorf("%s: timers %d %d", name, c.expires(1), c.expires(2))
		}
	}
}

// The same: a refresh, which changes nothing but its number, is none; nor is an
// older version, nor a router's own coming back.
func TestRFC8405Section3RefreshIsNoEvent(t *testing.T) {
	c := small(t, nil)
	second := version{0, c.data.logs[0].add(c.compose(0))}
	if !c.deliver(1, second, 3*ms) || c.expires(1) != Never {
		t.Error("a refresh must be taken in and start no timer", c.expires(1))
	}
	l := c.compose(0)
	l.metric[0] = 7
	third := version{0, c.data.logs[0].add(l)}
	if !c.deliver(1, third, 4*ms) || c.expires(1) != 54*ms {
		t.Error("a change", c.expires(1))
	}
	c.backs[1].spfAt = Never
	if c.deliver(1, second, 5*ms) || c.deliver(1, third, 5*ms) || c.expires(1) != Never {
		t.Error("what is not newer is not taken in")
	}
	if c.deliver(0, third, 5*ms) || c.expires(0) != Never {
		t.Error("a router's own LSP from another")
	}
	// The same by the group.
	c = small(t, nil)
	c.deliverAll([]int32{1, 2, 3, 4}, version{0, c.data.logs[0].add(c.compose(0))}, 3*ms)
	for x := range int32(5) {
		if c.expires(x) != Never {
			t.Error("a refresh to a group", x)
		}
	}
}

// The same: an origination is an event at its origin; a change that leaves the
// LSP as it was is one too, at the instant at which it would have gone out.
func TestRFC8405Section3OriginationIsAnEvent(t *testing.T) {
	c := small(t, nil)
	c.Lose(0, 0, -1, 10*ms)
	if c.expires(0) != Never {
		t.Error("before the LSP is originated", c.expires(0))
	}
	c.Do(Task{Kind: Originate, A: 0}, 60*ms)
	if c.expires(0) != 110*ms || len(c.OriginatedAt[0]) != 1 {
		t.Error("origination", c.expires(0), c.OriginatedAt[0])
	}
	c = small(t, nil)
	c.Lose(0, 0, -1, 10*ms)
	c.Gain(0, 0, -1, 30*ms)
	c.Do(Task{Kind: Originate, A: 0}, 60*ms)
	if c.expires(0) != 110*ms || len(c.OriginatedAt[0]) != 0 {
		t.Error("unchanged", c.expires(0), c.OriginatedAt[0])
	}
}

// The same: what only this router does is no event: dropping a next hop at once.
func TestRFC8405Section3LocalTriggerIsNoEvent(t *testing.T) {
	c := small(t, func(p *timer.Set) { p.PruneDelay = 0 })
	c.Lose(0, 0, -1, 10*ms)
	if got := plain.Ports(c.Table.Of(2, 0)); len(got) != 1 || c.expires(0) != Never {
		t.Error("next hops", got, "timer", c.expires(0))
	}
}

// An LSP that leaves a router's two-way topology as it was: an event or not, as
// the timers say. Leaf 0 stops listing spine 3; spine 3's own LSP that stops
// listing leaf 0 follows.
func TestSecondLSPOfOneLink(t *testing.T) {
	for _, counts := range []bool{true, false} {
		c := small(t, func(p *timer.Set) { p.SecondLSPCounts = counts })
		first, second := c.compose(0), c.compose(3)
		first.metric[0], second.metric[0] = 0, 0
		c.deliverAll([]int32{1, 2, 3, 4}, version{0, c.data.logs[0].add(first)}, 3*ms)
		if c.expires(1) != 53*ms {
			t.Error("first", c.expires(1))
		}
		for x := range c.backs {
			c.backs[x].spfAt = Never
		}
		c.deliverAll([]int32{0, 1, 2, 4}, version{3, c.data.logs[3].add(second)}, 60*ms)
		if got := c.expires(1) != Never; got != counts {
			t.Errorf("second_lsp_counts %v: event %v", counts, got)
		}
	}
}

// A flood of what came over an adjacency does not go on from routers that have it
// already; an origination has nobody to stop at.
func TestLateFloodStops(t *testing.T) {
	for _, c := range []struct {
		late bool
		have []int32 // besides leaf 1, which passes leaf 0's LSP on
		want []int64 // when it is there, ms; spines are 3 and 4
	}{
		{true, nil, []int64{-1, 0, 14, 12, 12}},
		{true, []int32{4}, []int64{-1, 0, 14, 12, 0}},
		{true, []int32{3, 4}, []int64{-1, 0, -1, 0, 0}},
		{false, []int32{3, 4}, []int64{-1, 0, 14, 0, 0}},
	} {
		c0 := small(t, nil)
		l := c0.compose(0)
		l.metric[0] = 7
		v := version{0, c0.data.logs[0].add(l)}
		got := []int64{-1, 0, -1, -1, -1}
		c0.data.put(1, 0, v.seq)
		for _, x := range c.have {
			c0.data.put(x, 0, v.seq)
			got[x] = 0
		}
		c0.send(1, []version{v}, c.late, 10*ms)
		for _, task := range c0.Tasks {
			had := make([]uint32, 5)
			copy(had, c0.data.seq[0])
			c0.arrive(task.A, task.B, task.At)
			for x := range had {
				if had[x] < v.seq && c0.data.seq[0][x] == v.seq {
					got[x] = task.At / ms
				}
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("late %v, had by %v: there at %v, want %v", c.late, c.have, got, c.want)
		}
	}
}

// One LSP through the SPF back-off state of 2,880 routers, distance by
// distance: at rest (every timer starts, all share one event; the figure holds
// the sweep that puts the machines at rest again), and with every timer running.
func BenchmarkLSP(b *testing.B) {
	f, err := fabric.Clos{Pods: 36, Leaves: 40, Spines: 24, Tops: 24, Parallel: 1}.Build(1, 1)
	if err != nil {
		b.Fatal(err)
	}
	p := timer.Default(10*ms, false)
	for _, state := range []string{"rest", "armed"} {
		c := New(f, &p, Options{})
		fl := &flood{hop: make([]uint16, len(f.Routers)), from: 0}
		c.hops(fl)
		content := [2]*lsp{c.compose(0), c.compose(0)}
		content[1].metric[0] = 7
		now := int64(20_000 * ms)
		b.Run("routers=2880/state="+state, func(b *testing.B) {
			b.ReportAllocs()
			b.ResetTimer()
			for i := range b.N {
				v := version{0, c.data.logs[0].add(content[(i+1)&1])}
				for h := 1; h < len(fl.level)-1; h++ {
					c.deliverAll(fl.reach[fl.level[h]:fl.level[h+1]], v, now+int64(h)*c.t.PerHop)
					c.close()
				}
				if i&63 == 63 {
					c.data.put(0, 0, v.seq)
					c.trim(0)
				}
				if state == "armed" {
					now += ms
					continue
				}
				now += 20_000 * ms
				for x := range c.backs {
					c.backs[x].spfAt = Never
				}
				for k := range c.Tasks {
					c.batches.give(c.Tasks[k].A)
				}
				c.Tasks = c.Tasks[:0]
			}
		})
	}
}
