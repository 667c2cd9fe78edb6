package reliability

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func TestBackoffUnderPoisson(t *testing.T) {
	for _, row := range table(t, "poisson.txt", 11) {
		v := numbers(t, row)
		b := Backoff{Initial: v[1], Short: v[2], Long: v[3], Learn: v[4], Holddown: v[5]}
		l, err := b.UnderPoisson(v[0])
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			what      string
			got, want float64
			digits    int
		}{
			{"QUIET", l.Quiet, v[6], 12}, {"SHORT_WAIT", l.ShortWait, v[7], 12}, {"LONG_WAIT", l.LongWait, v[8], 12},
			{"busy", l.BusyMean, v[9], 12}, {"runs", l.RunsPerBusy, v[10], 12}, {"runs an hour", l.RunRate * 3600, v[11], 12},
			{"events a run", l.EventsPerRun, v[12], 10}, {"wait", l.WaitMean, v[13], 12}, {"long", l.LongRuns, v[14], 10},
			{"short", l.ShortRuns, v[15], 10},
		} {
			printed(t, fmt.Sprintf("%s at rate %s of %+v", c.what, row[0], b), c.got, c.want, c.digits, 1e-9)
		}
		// What must hold: every event belongs to one run.
		events := 1 + l.ShortRuns + l.LongRuns + v[0]*(b.Initial+l.ShortRuns*b.Short+l.LongRuns*b.Long)
		within(t, "identity", events, l.EventsPerBusy, 1e-12)
		within(t, "shares", l.Quiet+l.ShortWait+l.LongWait, 1, 1e-14)
	}
}

func TestBackoffHolddown(t *testing.T) {
	for _, row := range table(t, "holddown.txt", 14) {
		v := numbers(t, row)
		share, stretch, events := PoissonBusy(v[0], v[1])
		printed(t, "share", share, v[2], 12, 1e-9)
		printed(t, "stretch", stretch, v[3], 12, 1e-9)
		printed(t, "events", events, v[4], 10, 1e-9)
		printed(t, "stretches an hour", 3600*v[0]/events, v[5], 10, 1e-9)
	}
}

// Second method: the state machine of RFC 8405 played under Poisson events, fixed seeds, 40 runs, |z| <= 3.5. Each run
// is begun afresh and measured after its first 200 events, so that its start does not count. In one setting the short
// delay is 0, in one the rate is so high that QUIET is rare.
func TestBackoffAgainstPlay(t *testing.T) {
	for i, c := range []struct {
		b    Backoff
		rate float64
	}{
		{section6, 0.1}, {section6, 0.3}, {Backoff{0.05, 0.2, 2, 1, 4}, 2}, {Backoff{0.1, 0, 1, 0.8, 2}, 1.5}, {Backoff{0, 0.01, 0.5, 0.2, 0.6}, 4},
	} {
		want, err := c.b.UnderPoisson(c.rate)
		if err != nil {
			t.Fatal(err)
		}
		var long, short, runs, wait [40]float64
		for r := range 40 {
			rng := rand.New(rand.NewPCG(uint64(i), uint64(r)))
			long[r], short[r], runs[r], wait[r] = playBackoff(rng, c.b, c.rate, 20000)
		}
		for _, m := range []struct {
			what string
			x    []float64
			want float64
		}{{"LONG_WAIT", long[:], want.LongWait}, {"SHORT_WAIT", short[:], want.ShortWait}, {"runs", runs[:], want.RunRate}, {"wait", wait[:], want.WaitMean}} {
			mean, square := 0.0, 0.0
			for _, x := range m.x {
				mean += x / 40
			}
			for _, x := range m.x {
				square += (x - mean) * (x - mean)
			}
			if z := (mean - m.want) / math.Sqrt(square/39/40); !(math.Abs(z) <= 3.5) {
				t.Errorf("setting %d: %s played %g, want %g, z %.2f", i, m.what, mean, m.want, z)
			}
		}
	}
}

// playBackoff gives shares of LONG_WAIT and SHORT_WAIT, SPF runs per time and the mean wait of an event.
func playBackoff(rng *rand.Rand, b Backoff, rate float64, events int) (long, short, runs, wait float64) {
	const before = 200
	now, began, last, spf := 0.0, 0.0, math.Inf(-1), -1.0
	from := 0.0
	for e := range events + before {
		gap := rng.ExpFloat64() / rate
		if e > before { // the states between the last event and this one
			until := min(now+gap, last+b.Holddown)
			short += max(0, min(until, began+b.Learn)-now)
			long += max(0, until-max(now, began+b.Learn))
		}
		now += gap
		if e == before {
			from = now
		}
		delay := b.Long
		switch {
		case now-last >= b.Holddown:
			began, delay = now, b.Initial
		case now-began < b.Learn:
			delay = b.Short
		}
		if now >= spf {
			spf = now + delay
			if e > before {
				runs++
			}
		}
		if e > before {
			wait += spf - now
		}
		last = now
	}
	span := now - from
	return long / span, short / span, runs / span, wait / float64(events-1)
}

func TestBackoffExtremes(t *testing.T) {
	l, err := section6.UnderPoisson(1e-12)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "rare: wait", l.WaitMean, 0.05, 1e-9)
	within(t, "rare: LONG_WAIT", l.LongWait, 9.5e-12, 1e-9)
	within(t, "rare: long runs", l.LongRuns, 1e-12*(10-0.05)-1e-12*(0.5-0.05), 1e-6) // a second event after Learn
	// Events every millisecond: the timer of 5 s is always armed, exp(rate H) is beyond float64.
	l, err = section6.UnderPoisson(1000)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "dense: wait", l.WaitMean, 2.5, 1e-3)
	within(t, "dense: runs", l.RunRate, 1/(5+1e-3), 1e-9)
	if !math.IsInf(l.BusyMean, 1) || l.LongWait != 1 {
		t.Errorf("dense: %+v", l)
	}
	for _, c := range []struct {
		b    Backoff
		want error
	}{{Backoff{0, 0, 0, 5, 5}, ErrHolddown}, {Backoff{6, 6, 6, 5, 10}, ErrPoisson}, {Backoff{0, 0, 10, 5, 10}, ErrPoisson}} {
		if _, err := c.b.UnderPoisson(1); !errors.Is(err, c.want) {
			t.Errorf("%+v: %v, want %v", c.b, err, c.want)
		}
	}
	if _, err := (Backoff{0, 0, 0, 5, 5}).UnderPeriodic(1); !errors.Is(err, ErrHolddown) {
		t.Error("a hold-down that does not exceed the time to learn was let through")
	}
}

// RFC 8405 section 6 defaults under one event every gap, ms; derived, five rows brute-forced by their source. Means are
// printed to a tenth, shares to four decimals.
func TestBackoffUnderPeriodic(t *testing.T) {
	ms := Backoff{Initial: 50, Short: 200, Long: 5000, Learn: 500, Holddown: 10000}
	for _, c := range []struct {
		gap    float64
		stuck  bool
		period float64
		mean   string
		long   string
	}{
		{100, true, 5000, "2500.0", "1.0000"}, {1000, true, 5000, "2500.0", "1.0000"}, {3000, true, 6000, "2916.7", "1.0000"},
		{4000, true, 8000, "3437.5", "1.0000"}, {9000, true, 9000, "3611.1", "1.0000"}, {9999, true, 9999, "3749.9", "1.0000"},
		{10000, false, 10000, "4759.1", "0.9500"}, {11000, false, 11000, "4331.0", "0.8636"}, {20000, false, 20000, "2404.6", "0.4750"},
		{60000, false, 60000, "834.9", "0.1583"}, {600000, false, 600000, "128.5", "0.0158"},
	} {
		l, err := ms.UnderPeriodic(c.gap)
		if err != nil {
			t.Fatal(err)
		}
		mean, long := fmt.Sprintf("%.1f", l.WaitMean), fmt.Sprintf("%.4f", l.LongWait)
		if l.Stuck != c.stuck || l.RunPeriod != c.period || mean != c.mean || long != c.long || l.WaitMax != 5000 {
			t.Errorf("gap %g: %+v, want stuck %v period %g mean %s long %s max 5000", c.gap, l, c.stuck, c.period, c.mean, c.long)
		}
		within(t, "shares", l.Quiet+l.ShortWait+l.LongWait, 1, 1e-14)
		if !c.stuck {
			within(t, "quiet", l.Quiet, PeriodicQuietShare(c.gap, 10000), 1e-12)
		}
	}
	// Fixed-period triggers of 5, 15 and 60 s, hold-down 10 s.
	for _, c := range [][2]float64{{5, 0}, {15, 1.0 / 3}, {60, 0.833333333333}} {
		printed(t, "quiet", PeriodicQuietShare(c[0], 10), c[1], 12, 1e-9)
	}
}

// Second method: the state machine played on whole numbers, the wait of a fresh event asked at every half.
func TestBackoffPeriodicAgainstPlay(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	for range 400 {
		learn := rng.IntN(20)
		b := [5]int{rng.IntN(30), rng.IntN(30), rng.IntN(60), learn, learn + 1 + rng.IntN(40)}
		gap := 1 + rng.IntN(70)
		set := Backoff{float64(b[0]), float64(b[1]), float64(b[2]), float64(b[3]), float64(b[4])}
		l, err := set.UnderPeriodic(float64(gap))
		if err != nil {
			t.Fatal(err)
		}
		mean, longest, long := playPeriodic(b, gap, int(l.RunPeriod))
		what := fmt.Sprintf("%+v every %d", set, gap)
		within(t, what+" wait", l.WaitMean, mean, 1e-12)
		within(t, what+" LONG_WAIT", l.LongWait, long, 1e-12)
		if longest > l.WaitMax || longest < l.WaitMax-0.5 {
			t.Errorf("%s: longest wait %g, want %g less at most a half", what, longest, l.WaitMax)
		}
	}
}

// playPeriodic plays ten periods and then measures a whole number of both the run period and the gap. Time steps by 1,
// timers before events; a fresh event asked at the middle of a step sees the mean of that step exactly.
func playPeriodic(b [5]int, gap, period int) (mean, longest, long float64) {
	initial, short, late, learn, hold := b[0], b[1], b[2], b[3], b[4]
	measure := period * gap
	warm := measure * (1 + 400/measure)
	state, spf, learnEnd, holdEnd := 0, -1, -1, -1
	for now := range warm + measure {
		if spf == now {
			spf = -1
		}
		if state == 1 && learnEnd == now {
			state = 2
		}
		if holdEnd == now {
			state = 0
		}
		if now%gap == 0 {
			delay := [3]int{initial, short, late}[state]
			if state == 0 {
				state, learnEnd = 1, now+learn
				if learn == 0 {
					state = 2
				}
			}
			holdEnd = now + hold
			if spf < 0 && delay > 0 {
				spf = now + delay
			}
		}
		if now >= warm {
			wait := float64([3]int{initial, short, late}[state])
			if spf >= 0 {
				wait = float64(spf-now) - 0.5
			}
			mean += wait / float64(measure)
			longest = max(longest, wait)
			if state == 2 {
				long += 1 / float64(measure)
			}
		}
	}
	return mean, longest, long
}
