package sim

import (
	"reflect"
	"testing"
	"time"
)

// In noise, where blame goes to and fro and routers run many times for one
// fault, a fault still reaches at most all routers and all pairs.
func TestReachIsAtMostAll(t *testing.T) {
	w := shipped(t, "storm", "warm_up=0s", "horizon=4h")
	routers, pairs := int32(len(w.Fabric.Routers)), int32(w.Fabric.Leaves*(w.Fabric.Leaves-1))
	e := newRandom(w, 1, 0, asFits)
	e.run()
	r := e.record(0)
	most := int32(0)
	for i := range r.Faults {
		f := &r.Faults[i]
		if f.Touched > routers || f.Pairs > pairs {
			t.Errorf("fault %d on %s: %d of %d routers, %d of %d pairs", f.Index, f.On, f.Touched, routers, f.Pairs, pairs)
		}
		most = max(most, f.Touched)
	}
	if runs := r.SPFRuns; most < routers/2 || runs < int64(routers)*int64(len(r.Faults)) {
		t.Errorf("no fault reached more than %d routers in %d runs: too calm to try anything", most, runs)
	}
}

// A play that is no longer wanted gives up, long before its end.
func TestPlayUntil(t *testing.T) {
	w := shipped(t, "storm", "horizon=10y")
	stop := make(chan struct{})
	time.AfterFunc(20*time.Millisecond, func() { close(stop) })
	if _, finished := PlayUntil(stop, w, 1, 0); finished {
		t.Error("ten years of storm were played")
	}
	w = shipped(t, "storm", "horizon=1h", "warm_up=0s")
	if r, finished := PlayUntil(make(chan struct{}), w, 1, 0); !finished || !reflect.DeepEqual(r, Play(w, 1, 0)) {
		t.Error("a play that nobody stops is not the same")
	}
}
