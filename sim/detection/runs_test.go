package detection

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"halflight/model/reliability"
	"halflight/sim/kernel"
)

// near fails unless got is want within a share of it.
func near(t testing.TB, what string, got, want, share float64) {
	t.Helper()
	if !(math.Abs(got-want) <= share*math.Abs(want)) {
		t.Errorf("%s: %.15g, want %.15g, off by %.2g of it", what, got, want, math.Abs(got-want)/math.Abs(want))
	}
}

// heldMean fails unless the mean of draws in replications of their own lies
// within 3.5 standard errors. error is that of want.
func heldMean(t testing.TB, what string, want, error float64, replications, draws int, draw func(u func() float64) float64) {
	t.Helper()
	means, purpose := make([]float64, replications), kernel.PurposeOf(what)
	mean, square := 0.0, 0.0
	for r := range means {
		stream, n := kernel.NewStream(30, uint32(r)), uint64(0)
		u := func() float64 { n++; return stream.Uniform(purpose, 0, n) }
		for range draws {
			means[r] += draw(u) / float64(draws)
		}
		mean += means[r] / float64(replications)
	}
	for _, x := range means {
		square += (x - mean) * (x - mean)
	}
	se := math.Hypot(math.Sqrt(square/float64(replications-1)/float64(replications)), error)
	if z := (mean - want) / se; !(math.Abs(z) <= 3.5) || replications < 30 {
		t.Errorf("%s: %.6g +- %.2g in %d replications, want %.6g, z %.2f", what, mean, se, replications, want, z)
	}
}

// upTo is the probability of a number of n or fewer.
func (l *runLaw) upTo(n int) float64 {
	switch last := len(l.below) - 1; {
	case n < 0:
		return 0
	case n <= last:
		return l.below[n]
	default:
		left := 1 - l.below[last]
		return l.below[last] - left*math.Expm1(float64(n-last)*math.Log1p(-l.hazard))
	}
}

// Mean number of probes to k losses in a row, (1-p^k)/((1-p) p^k): Feller vol. 1
// XIII.7 (from memory), figures at 60 digits.
func TestRunMeans(t *testing.T) {
	for _, c := range []struct {
		p    float64
		k    int
		want float64
	}{
		{0.001, 2, 1001000}, {0.001, 3, 1001001000}, {0.001, 5, 1.001001001e15}, {0.01, 2, 10100}, {0.01, 3, 1010100}, {0.01, 5, 10101010100},
		{0.02, 3, 127550}, {0.05, 2, 420}, {0.05, 3, 8420}, {0.05, 5, 3368420}, {0.1, 3, 1110}, {0.1, 5, 111110}, {0.3, 2, 14.4444444444},
		{0.3, 3, 51.4814814815}, {0.3, 5, 586.46090535}, {0.5, 2, 6}, {0.5, 3, 14}, {0.5, 5, 62}, {0.9, 2, 2.34567901235}, {0.9, 3, 3.71742112483},
		{0.9, 5, 6.93508780843}, {1, 3, 3},
	} {
		law := newRunLaw(Loss{Share: c.p}, c.k, runs)
		near(t, fmt.Sprintf("p %g k %d", c.p, c.k), law.mean()+float64(c.k), c.want, 1e-9)
	}
	if law := newRunLaw(Loss{}, 3, runs); !math.IsInf(law.mean(), 1) || !math.IsInf(law.draw(0.999), 1) {
		t.Error("a run of losses without loss")
	}
}

// Probability of a run of k within n probes, table and tail: at 15 digits by
// recursion; the last row of the first list is 520 of 1024 sequences.
func TestRunWithin(t *testing.T) {
	for _, c := range []struct {
		p    float64
		k, n int
		want float64
	}{
		{0.01, 3, 1000, 0.00098754547336383}, {0.01, 3, 72000, 0.068797276206977}, {0.1, 3, 100, 0.084765180061179},
		{0.1, 3, 1200, 0.66098397350404}, {0.3, 3, 20, 0.31027498602487}, {0.3, 3, 100, 0.86394792066358}, {0.5, 3, 3, 0.125},
		{0.05, 3, 10000, 0.69509725785224}, {0.1, 5, 1000, 0.0089253728469164}, {0.5, 3, 10, 0.5078125},
	} {
		near(t, fmt.Sprintf("p %g k %d n %d", c.p, c.k, c.n), newRunLaw(Loss{Share: c.p}, c.k, runs).upTo(c.n-c.k), c.want, 1e-9)
	}
	for _, p := range []float64{0.001, 0.03, 0.2, 0.5, 0.8, 0.97} {
		for k := 1; k <= 6; k++ {
			law := newRunLaw(Loss{Share: p}, k, runs)
			for _, n := range []int{1, k, k + 1, 2*k + 1, 50, 119, 120, 121, 300, 3000, 20000} {
				near(t, fmt.Sprintf("p %g k %d n %d", p, k, n), law.upTo(n-k), reliability.RunWithin(p, k, n), 1e-9)
			}
		}
	}
}

// A draw is the inverse of the probabilities: u just below and above each step.
func TestDrawInverts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		law := newRunLaw(anyLoss(t), rapid.IntRange(1, 6).Draw(t, "k"), runs)
		u := rapid.Float64Range(1e-6, 1-1e-6).Draw(t, "u")
		n := law.draw(u)
		if n > 1e7 {
			return // beyond what the steps of a float64 can tell apart
		}
		if low, high := law.upTo(int(n)-1), law.upTo(int(n)); u < low-1e-9 || u > high+1e-9 {
			t.Fatalf("u %v gives %v, whose probabilities are %v to %v", u, n, low, high)
		}
	})
}

func anyLoss(t *rapid.T) Loss {
	l := Loss{Share: rapid.Float64Range(0.001, 0.9).Draw(t, "share")}
	if rapid.Bool().Draw(t, "bursts") {
		l.BurstMean = rapid.Float64Range(1, 60).Draw(t, "burst mean")
		l.BurstLoss = rapid.Float64Range(l.Share, 1).Draw(t, "burst loss")
	}
	return l
}

// The dumb twin: the probability of every state and run length, packet by
// packet. After an arrival the chain is bad with the share that arrivals have.
func TestRunsAgainstTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loss, k := anyLoss(t), rapid.IntRange(1, 6).Draw(t, "k")
		law := newRunLaw(loss, k, runs)
		bad, lost := loss.Share/loss.BurstLoss, [2]float64{0, loss.BurstLoss}
		leave := 1 / loss.BurstMean
		enter := leave * bad / (1 - bad)
		if loss.BurstMean == 0 || bad >= 1 {
			bad, leave, enter, lost = 0, 0, 0, [2]float64{loss.Share, 0}
		}
		if enter > 1 {
			return // no chain has so short gaps between bad stretches
		}
		goodHere, badHere := (1-bad)*(1-lost[0]), bad*(1-lost[1])
		at := make([][2]float64, k) // by length of the run: probability, by state
		at[0] = [2]float64{goodHere / (goodHere + badHere), badHere / (goodHere + badHere)}
		dead := 0.0
		for n := 1; n <= 400; n++ {
			next := make([][2]float64, k)
			for run, v := range at {
				moved := [2]float64{v[0]*(1-enter) + v[1]*leave, v[0]*enter + v[1]*(1-leave)}
				for s, p := range moved {
					next[0][s] += p * (1 - lost[s])
					if run+1 == k {
						dead += p * lost[s]
					} else {
						next[run+1][s] += p * lost[s]
					}
				}
			}
			at = next
			if got := law.upTo(n - k); math.Abs(got-dead) > 1e-9*dead+1e-14 {
				t.Fatalf("within %d packets: %v, want %v", n, got, dead)
			}
		}
	})
}

// Two-state loss that loses everything within a bad stretch, mean number of
// packets to k losses in a row from a good packet on, exact in fractions:
// E = (1/a + A)/(1 - B) of the chain of Gilbert 1960 (from memory). Independent
// loss of 1 % would take 1,010,100 and 1.01e10 packets.
func TestBursts(t *testing.T) {
	for _, c := range []struct {
		loss, burst float64
		k           int
		want        float64
	}{{0.01, 3, 3, 672}, {0.01, 3, 5, 1515.75}, {0.01, 10, 3, 1224.57}, {0.001, 3, 3, 6747}, {0.001, 10, 5, 15231.6}} {
		loss := Loss{Share: c.loss, BurstMean: c.burst, BurstLoss: 1}
		what := fmt.Sprintf("loss %g bursts of %g, k %d", c.loss, c.burst, c.k)
		law := newRunLaw(loss, c.k, runs)
		near(t, what, law.mean()+float64(c.k), c.want, 5e-6)
		heldMean(t, what, c.want, 0, 40, 500, func(u func() float64) float64 { return law.draw(u()) + float64(c.k) })
	}
}
