package sim

import (
	"fmt"
	"math"
	"testing"

	"halflight/model/reliability"
)

// staleLoss plays a fabric of which the spines restart one after the other, every
// two hours, with or without their tables, or not at all, and returns what is lost
// in each replication and how many spines restarted in all.
func staleLoss(t *testing.T, mean, upgrades string, n int) (lost []float64, boxes int64) {
	t.Helper()
	w := build(t, "stale", fmt.Sprintf(`
name: stale
warm_up: 2d
horizon: 60d
fabric: {clos: {pods: 2, leaves: 4, spines: 4, tops: 4}}
routers: {spread: 0}
detection: {settle: 100ms}
restart: {grace: 1d}
telemetry: [{name: nobody, complaints: false}]
applications: []
operations: {floor: 0, soak: 1min, first_repair: 1%s}
failures: [{name: cut, on: link, kind: hard, life: {exponential: {mean: %s}}, repair: {lead: 2h, hands_on: 0s}}]
`, upgrades, mean))
	for i := range n {
		r := Play(w, 1, uint32(i))
		sum := 0.0
		for _, row := range r.LostSeconds {
			for _, v := range row {
				sum += v
			}
		}
		lost = append(lost, sum)
		if r.Planned != nil {
			boxes += r.Planned.Boxes
		}
	}
	return lost, boxes
}

func restarting(work float64, kept bool) string {
	return fmt.Sprintf(", upgrades: {boxes: spines, every: 2h, work: %.0fms, drain: false, kept: %v, mistakes: {undrained: 0, early: 0, dead: 0}}", work*1e3, kept)
}

// lessBy is the mean of what one loses more than the other, and its standard error.
func lessBy(a, b []float64) (mean, deviation float64) {
	n := float64(len(a))
	for i := range a {
		mean += (a[i] - b[i]) / n
	}
	for i := range a {
		deviation += (a[i] - b[i] - mean) * (a[i] - b[i] - mean)
	}
	return mean, math.Sqrt(deviation / n / (n - 1))
}

// What spines that restart with tables kept lose to second faults, against Campbell's
// theorem (reliability.Stale): paired with the same faults and no restart.
func TestStaleTablesLose(t *testing.T) {
	t.Parallel()
	const n, work, mean = 10, 600.0, 50 * 3600.0
	none, _ := staleLoss(t, "50h", "", n)
	kept, boxes := staleLoss(t, "50h", restarting(work, true), n)
	got, off := lessBy(kept, none)
	c := reliability.Clos{Pods: 2, Leaves: 4, Spines: 4, Tops: 4, Parallel: 1}
	want := float64(boxes) / n * c.StaleSpine().Lost(work, []reliability.Pace{{Rate: 1 / (mean + 7200), Lasts: 7200}}, nil, nil)
	if math.Abs(got-want) > farOff*off || off > 0.1*want {
		t.Errorf("%v s lost more, of a standard error of %v; want %v", got, off, want)
	}
}

// The length of restart from which keeping tables costs more than it saves: half of
// it is clearly too short, and twice as much too long.
func TestKeepingTablesPays(t *testing.T) {
	t.Parallel()
	const n, rate = 6, 1 / (500*3600.0 + 7200)
	c := reliability.Clos{Pods: 2, Leaves: 4, Spines: 4, Tops: 4, Parallel: 1}
	links := []reliability.Pace{{Rate: rate, Lasts: 7200}}
	// Ten ms until the light is missed, five to prune; to converge, 50 ms each before an
	// LSP and a run, 6 ms of flooding, and a table of 8.
	cold := c.ColdSpine(0.015, 0.12)
	even := reliability.KeepingPays(func(l float64) float64 { return c.StaleSpine().Lost(l, links, nil, nil) }, func(float64) float64 { return cold })
	if want := math.Sqrt(2 * cold / (3.0 / 14 * rate)); math.Abs(even/want-1) > 1e-9 {
		t.Fatalf("%v s, want %v", even, want)
	}
	for _, work := range []float64{even / 2, 2 * even} {
		kept, _ := staleLoss(t, "500h", restarting(work, true), n)
		bare, _ := staleLoss(t, "500h", restarting(work, false), n)
		more, off := lessBy(kept, bare)
		if longer := work > even; longer != (more > 0) || math.Abs(more) < 2.5*off {
			t.Errorf("restarts of %.0f s, break-even %.0f s: tables kept lose %v s more, of a standard error of %v", work, even, more, off)
		}
	}
}
