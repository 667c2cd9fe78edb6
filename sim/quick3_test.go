package sim

import (
	"runtime"
	"testing"
	"time"
)

func TestGlacier(t *testing.T) {
	w := shipped(t, "glacier")
	begin := time.Now()
	w.WarmUp, w.Horizon = 1*86400e9, 2*86400e9
	e := newRandom(w, 1, 0, false)
	setup := time.Since(begin)
	e.run()
	r := e.record(0)
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	t.Log(w.Modes[0].Name, setup, time.Since(begin)-setup, len(e.faults), r.SPFRuns, r.Originations, m.Sys>>20, "MiB")
}
