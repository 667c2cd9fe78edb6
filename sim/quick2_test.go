package sim

import (
	"testing"
	"time"
)

func TestQuickModes(t *testing.T) {
	for i := range shipped(t, "tidewater").Modes {
		w := shipped(t, "tidewater")
		if w.Modes[i].Name != "optic-flap" {
			continue
		}
		w.Modes = w.Modes[i : i+1]
		begin := time.Now()
		w.WarmUp, w.Horizon = 10*86400e9, 80*86400e9
		e := newRandom(w, 1, 0, false)
		setup := time.Since(begin)
		e.run()
		r := e.record(0)
		t.Log(w.Modes[0].Name, setup, time.Since(begin)-setup, len(e.faults), r.SPFRuns, r.Originations)
	}
}
