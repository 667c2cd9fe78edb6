package sim

import (
	"testing"
	"time"
)

func TestQuick(t *testing.T) {
	for _, name := range []string{"tidewater"} {
		w := shipped(t, name)
		begin := time.Now()
		w.WarmUp, w.Horizon = min(w.WarmUp, 10*86400e9), min(w.Horizon, 10*86400e9)
		r := Play(w, 1, 0)
		t.Log(name, time.Since(begin), len(r.Faults), r.SPFRuns, r.Originations, r.WaitMean/1e9, r.Present, r.Applications)
	}
}
