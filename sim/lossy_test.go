package sim

import (
	"math"
	"testing"

	"halflight/model/failure"
	"halflight/sim/kernel"
)

// An LSP that is lost with probability p is sent again after 5 s, again and again
// (minimumLSPTransmissionInterval of ISO/IEC 10589, section 7.3.15.5; RFC 9681,
// section 3): it waits 5 p / (1 - p) s on average, 5, 50.5, 263 and 556 ms at 0.1, 1,
// 5 and 10 % (arithmetic: the mean of a geometric law), each within four standard
// errors of as many draws.
func TestLostLSPsWait(t *testing.T) {
	w := shipped(t, "orchard")
	lost := lostFloods(w, kernel.NewStream(9, 0))
	for p, ms := range map[float64]float64{0.001: 5, 0.01: 50.5, 0.05: 263, 0.1: 556} {
		const floods = 400_000
		sum := 0.0
		for i := range floods {
			sum += float64(lost(int32(i%7), uint64(i), p))
		}
		got := 5000 * sum / floods
		off := 4*5000*math.Sqrt(p)/(1-p)/math.Sqrt(floods) + 0.5
		if math.Abs(got-ms) > off {
			t.Errorf("loss %g: %g ms, want %g within %.2g", p, got, ms, off)
		}
	}
}

// In the engine an LSP whose only way loses half of all waits a whole number of 5 s, 5 s on
// average; and a fabric that is not lossy for LSPs has them at once.
func TestLSPsWaitOnALossyWay(t *testing.T) {
	t.Parallel()
	const every, events, perHop = 150e9, 60, 2e6
	for _, lossy := range []string{"true", "false"} {
		w := build(t, "lossy", `
name: lossy
warm_up: 0s
horizon: 9100s
fabric: {clos: {pods: 1, leaves: 2, spines: 1, tops: 0}}
failures: []
telemetry: [{name: nobody, complaints: false}]
applications: []
detection: {bfd: false, hello: false}
flooding: {per_hop: 2ms, lossy: `+lossy+`}
timers: {spf_run: 0s, spf: {rfc8405: {initial_delay: 0s, short_delay: 0s, long_delay: 0s, time_to_learn: 1s, holddown: 2s}}, lsp_generation: {first_delay: 0s, incremental_delay: 0s, maximum_delay: 0s, wait_time: 1ns}}
`)
		const toFar = 3 // from the spine to the second leaf
		w.Script = append(w.Script, failure.Scripted{Condition: failure.Condition{Kind: failure.Lossy, Loss: 0.5}, End: -1, On: w.Fabric.DirectionName(toFar), Directions: []int32{toFar}})
		for i := range int64(events / 2) {
			at := (2*i + 1) * every
			w.Script = append(w.Script, failure.Scripted{Condition: failure.Condition{Kind: failure.Drain}, At: at, End: at + every, On: w.Fabric.DirectionName(0), Directions: []int32{0}})
		}
		var means []float64
		for number := range atLeast {
			e := newRandom(w, 5, uint32(number), traced)
			e.run()
			runs, sum := e.control.RanAt[1], 0.0
			if len(runs) != events {
				t.Fatalf("lossy %s: %d runs, want %d", lossy, len(runs), events)
			}
			for i, at := range runs {
				wait := at - int64(i+1)*every - 2*perHop
				if sum += float64(wait) / 1e9; wait < 0 || wait%5e9 != 0 {
					t.Errorf("lossy %s: an LSP waits %d ns", lossy, wait)
				}
			}
			means = append(means, sum/events)
		}
		if lossy == "true" {
			agrees(t, "LSPs wait", means, 5)
		} else if mean, _ := meanAndError(means); mean != 0 {
			t.Errorf("LSPs wait %g s", mean)
		}
	}
}
