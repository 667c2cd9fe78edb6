package linkstate

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"halflight/model/timer"
	"halflight/sim/record"
)

// booked drives one machine through noise (ns, in order) and books its waits
// over [from, to), as Control does for every router.
func booked(p timer.SPF, noise []int64, from, to int64) (w *waitBook, state [3]int64) {
	var b backoff
	b.reset(&p, 0)
	begun := false
	w = newWaitBook(&p)
	through := func(now int64) {
		for b.spfAt <= now {
			at := b.spfAt
			b.settle(&p, at, w)
			b.expire(&p, at, w)
		}
		b.settle(&p, now, w)
	}
	for _, t := range append(slices.Clone(noise), Never) {
		if !begun && t >= from {
			through(from)
			begun, w, state = true, newWaitBook(&p), b.state
			if b.spfAt != Never {
				b.armed = from
			}
		}
		if t >= to {
			break
		}
		through(t)
		b.event(&p, t)
	}
	through(to)
	if b.spfAt != Never {
		w.ramp(b.spfAt-b.armed, b.spfAt-to)
	}
	for i := range state {
		state[i] = b.state[i] - state[i]
	}
	return w, state
}

// meets is the wait that an event at t would meet, found by having it there.
func meets(p timer.SPF, noise []int64, t int64) int64 {
	var b backoff
	b.reset(&p, 0)
	for _, n := range noise {
		if n > t {
			break
		}
		for b.spfAt <= n {
			b.expire(&p, b.spfAt, nil)
		}
		b.event(&p, n)
	}
	for b.spfAt <= t {
		b.expire(&p, b.spfAt, nil)
	}
	b.event(&p, t)
	return b.spfAt - t
}

// RFC 8405 under one event every X, defaults of its section 6: mean wait of an
// unrelated failure at a random phase, its longest, and the share of time in
// LONG_WAIT; stuck there for good when X is below the hold-down. Closed forms,
// by arithmetic: stuck, with P = X*ceil(LONG/X): (LONG^2/2 + (P-LONG)*LONG)/P;
// else (I^2/2 + (LEARN-I)*SHORT + (HOLD-LEARN)*LONG + (X-HOLD)*I)/X. The printed
// means are those of a table made from a second program's machine.
func TestWaitsUnderPeriodicNoise(t *testing.T) {
	for _, c := range []struct {
		x       int64
		printed float64 // ms, one decimal
		long    float64 // share, four decimals
	}{
		{100, 2500, 1}, {1000, 2500, 1}, {3000, 2916.7, 1}, {4000, 3437.5, 1}, {9000, 3611.1, 1}, {9999, 3749.9, 1},
		{10000, 4759.1, 0.95}, {11000, 4331, 0.8636}, {20000, 2404.6, 0.4750}, {60000, 834.9, 0.1583}, {600000, 128.5, 0.0158},
	} {
		p := section6()
		initial, short, long, learn, hold, x := 50.0, 200.0, 5000.0, 500.0, 10000.0, float64(c.x)
		mean := (initial*initial/2 + (learn-initial)*short + (hold-learn)*long + (x-hold)*initial) / x
		if c.x < 10000 {
			period := x * math.Ceil(long/x)
			mean = (long*long/2 + (period-long)*long) / period
		}
		if math.Abs(mean-c.printed) > 0.0501 {
			t.Errorf("every %d ms: closed form %v, printed %v", c.x, mean, c.printed)
		}
		period := c.x * ((5000 + c.x - 1) / c.x) // whole periods of event and run
		from := period * (20000/period + 2)
		to := from + 20*period
		w, state := booked(p, every(0, c.x, to), from*ms, to*ms)
		pieces, got := piecesOf(w)
		if math.Abs(got/float64(ms)-mean) > 1e-9*mean {
			t.Errorf("every %d ms: mean %v ms, want %v", c.x, got/float64(ms), mean)
		}
		if most := slices.MaxFunc(pieces, func(a, b record.Wait) int { return int(a.From - b.From) }); most.From != 5000*ms {
			t.Errorf("every %d ms: longest wait %d ns", c.x, most.From)
		}
		if share := float64(state[longState]) / float64((to-from)*ms); math.Abs(share-c.long) > 0.00005001 {
			t.Errorf("every %d ms: share of LONG_WAIT %v, want %v", c.x, share, c.long)
		}
	}
}

// The same for doubling (arithmetic): form A is stuck at the ceiling with the
// mean of RFC 8405 if events come sooner than the wait time; if not, a run
// restarts each time and the mean is (F^2/2 + (WAIT-F)*INC + (X-WAIT)*F)/X,
// about 199 ms for 10 s. Form B every 9 s: spacing 5 s back from the last run,
// mean 1411 ms: 50 ms of ramp to the run, then 5,000 down to 50 ms, then 50 ms.
func TestDoublingWaitsUnderPeriodicNoise(t *testing.T) {
	a := timer.SPF{Family: timer.DoublingA, First: 50 * ms, Incremental: 200 * ms, Maximum: 5000 * ms, Wait: 10000 * ms}
	b := a
	b.Family = timer.DoublingB
	for _, c := range []struct {
		p          timer.SPF
		x          int64
		mean, near float64
	}{
		{a, 9000, 3611.1111111, 0.0001}, {a, 3000, 2916.6666667, 0.0001}, {a, 10000, (50*50/2 + 9950*200) / 10000.0, 1e-9},
		{a, 20000, (50*50/2 + 9950*200 + 10000*50) / 20000.0, 1e-9},
		{b, 9000, (50*50/2 + (5000*5000-50*50)/2 + 50*(9000-50-4950)) / 9000.0, 1e-9}, {b, 9000, 1411, 0.5},
	} {
		from := c.x * 30
		w, _ := booked(c.p, every(0, c.x, from+c.x*60), from*ms, (from+c.x*60)*ms)
		if _, got := piecesOf(w); math.Abs(got/float64(ms)-c.mean) > c.near {
			t.Errorf("%v every %d ms: mean %v ms, want %v", c.p.Family, c.x, got/float64(ms), c.mean)
		}
	}
}

// Against asking: over random noise the book's mean is that of an event put at
// the middle of every millisecond, and its distribution the same, for every
// family. All instants are whole milliseconds, between which waits are straight
// lines, so both are exact.
func TestWaitsAgainstAnEventAtEveryInstant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		whole := func(name string, low, high int64) int64 { return ms * rapid.Int64Range(low, high).Draw(t, name) }
		p := timer.SPF{Family: timer.Family(rapid.IntRange(0, 3).Draw(t, "family"))}
		p.Initial, p.Short, p.Long = whole("initial", 0, 5), whole("short", 0, 20), whole("long", 0, 50)
		p.TimeToLearn = whole("learn", 0, 30)
		p.Holddown = p.TimeToLearn + whole("hold", 1, 60)
		p.First, p.Incremental, p.Maximum = whole("first", 0, 5), whole("incremental", 1, 10), whole("maximum", 5, 60)
		p.Wait = p.Maximum + whole("wait", 1, 60)
		p.Rapid, p.Slow, p.RapidRuns = whole("rapid", 0, 5), whole("slow", 0, 50), rapid.IntRange(1, 4).Draw(t, "runs")
		if p.Family == timer.DoublingB {
			p.First = min(p.First, p.Incremental)
		}
		var noise []int64
		now := int64(0)
		for range rapid.IntRange(0, 25).Draw(t, "events") {
			now += whole("gap", 0, 80)
			noise = append(noise, now)
		}
		from := whole("from", 0, 200)
		to := from + whole("span", 1, 400)
		w, _ := booked(p, noise, from, to)
		pieces, mean := piecesOf(w)
		limits := []int64{0, 1, 3, 7, 15, 31, 59, 80}
		sum, upTo := 0.0, make([]float64, len(limits))
		for at := from + ms/2; at < to; at += ms {
			wait := meets(p, noise, at)
			sum += float64(wait)
			for i, l := range limits {
				if wait < l*ms {
					upTo[i]++
				}
			}
		}
		span := float64((to - from) / ms)
		if math.Abs(mean-sum/span) > 1e-6*(1+mean) {
			t.Fatalf("mean %v, by asking %v ns", mean, sum/span)
		}
		for i, l := range limits {
			if got := below(pieces, l*ms) / float64(ms); math.Abs(got-upTo[i]) > 1e-6 {
				t.Fatalf("%v ms of waits below %d ms, by asking %v; %+v", got, l, upTo[i], pieces)
			}
		}
	})
}

// below is the time in ns during which the wait lies below a limit.
func below(pieces []record.Wait, limit int64) (sum float64) {
	for _, p := range pieces {
		if p.From < limit {
			sum += p.Total
		}
		sum += float64(p.Count) * float64(max(0, min(p.From, limit)-min(p.To, limit)))
	}
	return sum
}
