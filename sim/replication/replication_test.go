package replication

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"slices"
	"sync"
	"testing"

	"halflight/model"
	"halflight/scenarios"
	"halflight/sim/record"
)

func world(t *testing.T, name string, set ...string) *model.World {
	t.Helper()
	text, ok := scenarios.Source(name)
	if !ok {
		t.Fatal("no scenario", name)
	}
	s, problems := scenarios.Parse(name, text, set...)
	if problems.Any() {
		t.Fatal(problems.String())
	}
	w, more := model.Build(s)
	if len(more) > 0 {
		t.Fatal(more)
	}
	return w
}

// played runs a short lull: a few faults in each replication.
func played(t *testing.T, ctx context.Context, o Options) *Result {
	t.Helper()
	r, err := Run(ctx, world(t, "lull", "horizon=6h", "warm_up=1h"), o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func bytesOf(t *testing.T, r *Result) []byte {
	t.Helper()
	b, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// The number of workers changes no byte, and replications come in order.
func TestWorkersChangeNoByte(t *testing.T) {
	const first, count = 3, 6
	one := played(t, t.Context(), Options{Workers: 1, Seed: 5, First: first, Count: count})
	two := played(t, t.Context(), Options{Workers: 2, Seed: 5, First: first, Count: count})
	if a, b := bytesOf(t, one), bytesOf(t, two); !bytes.Equal(a, b) {
		t.Errorf("one worker made %d bytes, two workers others (%d)", len(a), len(b))
	}
	faults := 0
	for i := range one.Replications {
		if got := one.Replications[i].Number; got != uint32(first+i) {
			t.Errorf("replication %d stands at place %d", got, i)
		}
		faults += len(one.Replications[i].Faults)
	}
	if len(one.Replications) != count || one.Partial || faults == 0 {
		t.Errorf("%d replications with %d faults, partial: %v", len(one.Replications), faults, one.Partial)
	}
	other := played(t, t.Context(), Options{Workers: 2, Seed: 6, First: first, Count: count})
	if bytes.Equal(bytesOf(t, one), bytesOf(t, other)) {
		t.Error("another seed gave the same bytes")
	}
}

// What was played before the context ended is kept, and the rest is missed.
func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	whole := played(t, t.Context(), Options{Workers: 1, Seed: 5, Count: 2})
	r := played(t, ctx, Options{Workers: 1, Seed: 5, Count: 4, OnDone: func(done, total int) {
		if total != 4 {
			t.Errorf("%d in all, want 4", total)
		}
		if done == 2 {
			cancel()
		}
	}})
	if !r.Partial || !bytes.Equal(bytesOf(t, &Result{Header: r.Header, Replications: r.Replications}), bytesOf(t, whole)) {
		t.Errorf("partial: %v, %d replications; want the 2 that were done", r.Partial, len(r.Replications))
	}
	r = played(t, ctx, Options{Workers: 2, Seed: 5, Count: 4})
	if !r.Partial || len(r.Replications) != 0 {
		t.Errorf("partial: %v, %d replications after the end", r.Partial, len(r.Replications))
	}
}

// What is there already is skipped, what is played is handed over at once, and
// the two together are the whole.
func TestSkipAndKeep(t *testing.T) {
	whole := played(t, t.Context(), Options{Workers: 1, Seed: 5, Count: 6})
	there := map[uint32]bool{1: true, 4: true}
	var kept []record.Replication
	last := 0
	rest := played(t, t.Context(), Options{Workers: 2, Seed: 5, Count: 6,
		Skip:   func(n uint32) bool { return there[n] },
		Keep:   func(r *record.Replication) error { kept = append(kept, *r); return nil },
		OnDone: func(done, _ int) { last = done }})
	if rest.Partial || len(rest.Replications) != 4 || len(kept) != 4 || last != 6 {
		t.Fatalf("partial: %v, %d played, %d kept, %d done", rest.Partial, len(rest.Replications), len(kept), last)
	}
	slices.SortFunc(kept, func(a, b record.Replication) int { return int(a.Number) - int(b.Number) })
	all := append(kept, whole.Replications[1], whole.Replications[4])
	slices.SortFunc(all, func(a, b record.Replication) int { return int(a.Number) - int(b.Number) })
	if !bytes.Equal(bytesOf(t, whole), bytesOf(t, &Result{Header: whole.Header, Replications: all})) {
		t.Error("what was skipped and what was played do not make the whole")
	}
}

// Once there is enough, the numbers played have no hole.
func TestEnough(t *testing.T) {
	for _, workers := range []int{1, 3} {
		asked := 0
		var lock sync.Mutex
		r := played(t, t.Context(), Options{Workers: workers, Seed: 5, Count: 40, Enough: func() bool {
			lock.Lock()
			defer lock.Unlock()
			asked++
			return asked > 5
		}})
		if !r.Partial || len(r.Replications) != 6 {
			t.Fatalf("%d workers: partial %v, %d replications, want 6", workers, r.Partial, len(r.Replications))
		}
		for i := range r.Replications {
			if r.Replications[i].Number != uint32(i) {
				t.Errorf("%d workers: number %d at place %d", workers, r.Replications[i].Number, i)
			}
		}
	}
}

// When a replication cannot be kept the run stops and says why.
func TestKeepFails(t *testing.T) {
	full := errors.New("disk full")
	n := 0
	r, err := Run(t.Context(), world(t, "lull", "horizon=6h", "warm_up=1h"), Options{Workers: 1, Seed: 5, Count: 6,
		Keep: func(*record.Replication) error {
			if n++; n == 3 {
				return full
			}
			return nil
		}})
	if !errors.Is(err, full) || r == nil || !r.Partial || len(r.Replications) != 3 {
		t.Errorf("%v, %+v", err, r)
	}
}
