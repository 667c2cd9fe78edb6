package mixture

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"halflight/results/stat"
	"halflight/sim/record"
)

const ms = int64(1e6)

// Three quarters of the weight stand at 50, one eighth at 200, one eighth runs down
// from 300 to 100 (all worked by hand; ms).
var byHand = []record.Wait{
	{From: 200 * ms, To: 200 * ms, Total: 100e6},
	{From: 50 * ms, To: 50 * ms, Total: 600e6},
	{From: 300 * ms, To: 100 * ms, Count: 1, Total: 0},
}

func TestByHand(t *testing.T) {
	// weight 600 + 100 + 200 = 900 ms.
	m := Of(byHand)
	if m.Weight() != 900e6 {
		t.Errorf("weight %v, want 900e6", m.Weight())
	}
	for _, c := range []struct{ p, want float64 }{
		{0.01, 50e6}, {0.5, 50e6}, {600.0 / 900, 50e6},
		{650.0 / 900, 150e6}, // 50 of 200 of the stretch
		{700.0 / 900, 200e6}, // 100 of the stretch, at its middle
		{800.0 / 900, 200e6}, // the point at 200
		{850.0 / 900, 250e6},
		{899.0 / 900, 299e6},
	} {
		if got := m.Quantile(c.p); math.Abs(got-c.want) > 1e-3 {
			t.Errorf("quantile %v is %v, want %v", c.p, got, c.want)
		}
	}
	if got, want := m.Mean(), (600*50.0+100*200+200*200)/900*1e6; math.Abs(got-want) > 1e-3 {
		t.Errorf("mean %v, want %v", got, want)
	}
	if m.Greatest() != 300e6 {
		t.Errorf("greatest %v, want 300e6", m.Greatest())
	}
}

// An atom that holds exactly the share asked for is the quantile, however the
// product rounds.
func TestQuantileAtAStep(t *testing.T) {
	above := 0
	for whole := int64(2); whole < 200; whole++ {
		for n := int64(1); n < whole; n++ {
			p := float64(n) / float64(whole)
			if float64(p*float64(whole)) > float64(n) {
				above++
			}
			m := Of([]record.Wait{{From: 1, To: 1, Total: float64(n)}, {From: 9, To: 9, Total: float64(whole - n)}})
			if got := m.Quantile(p); got != 1 {
				t.Errorf("quantile %d/%d is %v, want 1", n, whole, got)
			}
		}
	}
	for _, p := range []float64{0.07, 0.14, 0.28, 0.55, 0.56, 0.57} { // p x 100 rounds up
		if p*100 > math.Round(p*100) {
			above++
		}
		m := Of([]record.Wait{{From: 1, To: 1, Total: math.Round(p * 100)}, {From: 9, To: 9, Total: 100 - math.Round(p*100)}})
		if got := m.Quantile(p); got != 1 {
			t.Errorf("quantile %v is %v, want 1", p, got)
		}
	}
	if above == 0 {
		t.Error("no product rounded up, so nothing was tried")
	}
}

func randomWaits(dice *rand.Rand) (waits []record.Wait) {
	for range 1 + dice.IntN(6) {
		from := dice.Int64N(5000 * ms)
		if dice.IntN(2) == 0 {
			waits = append(waits, record.Wait{From: from, To: from, Total: 1 + float64(dice.Int64N(1e14))})
			continue
		}
		waits = append(waits, record.Wait{From: from + 1, To: dice.Int64N(from + 1), Count: 1 + dice.Int64N(1e5)})
	}
	return waits
}

// upToByPieces adds up, piece by piece, what lies at most at x: the plain twin.
func upToByPieces(waits []record.Wait, x float64) (sum float64) {
	for _, w := range waits {
		if w.From == w.To {
			if float64(w.From) <= x {
				sum += w.Total
			}
			continue
		}
		sum += float64(w.Count) * max(0, min(x, float64(w.From))-float64(w.To))
	}
	return sum
}

// Quantiles against the twin: just below the quantile lies less than the share,
// at it at least the share.
func TestQuantileAgainstTwin(t *testing.T) {
	for seed := range uint64(400) {
		dice := rand.New(rand.NewPCG(seed, 1))
		waits := randomWaits(dice)
		m := Of(waits)
		whole := upToByPieces(waits, math.Inf(1))
		if math.Abs(m.Weight()-whole) > 1e-9*whole {
			t.Fatalf("seed %d: weight %v, want %v", seed, m.Weight(), whole)
		}
		for range 20 {
			p := dice.Float64()
			x := m.Quantile(p)
			if at := upToByPieces(waits, x+1e-3); at < p*whole*(1-1e-9) {
				t.Errorf("seed %d: %v of %v lies up to quantile %v = %v", seed, at, whole, p, x)
			}
			if under := upToByPieces(waits, x-1e-3); under > p*whole*(1+1e-9) {
				t.Errorf("seed %d: %v of %v lies under quantile %v = %v", seed, under, whole, p, x)
			}
			if a, b := m.UpTo(x), upToByPieces(waits, x); math.Abs(a-b) > 1e-9*whole {
				t.Errorf("seed %d: up to %v lies %v, want %v", seed, x, a, b)
			}
		}
	}
}

// integrate samples every stretch at the middles of equal steps: a numeric
// integration of any figure over the distribution, and the sorted sample itself.
func integrate(waits []record.Wait, steps int, figure func(wait float64) float64) (mean float64, values, weights []float64) {
	whole, sum := 0.0, 0.0
	for _, w := range waits {
		n, each := steps, float64(w.Count)*float64(w.From-w.To)/float64(steps)
		if w.From == w.To {
			n, each = 1, w.Total
		}
		for i := range n {
			v := figure(float64(w.To) + float64(w.From-w.To)*(float64(i)+0.5)/float64(n))
			values, weights = append(values, v), append(weights, each)
			sum += v * each
			whole += each
		}
	}
	return sum / whole, values, weights
}

func sampleQuantile(values, weights []float64, p float64) float64 {
	order := make([]int, len(values))
	whole := 0.0
	for i := range order {
		order[i] = i
		whole += weights[i]
	}
	slices.SortFunc(order, func(a, b int) int {
		if values[a] < values[b] {
			return -1
		}
		return 1
	})
	sum := 0.0
	for _, i := range order {
		if sum += weights[i]; sum >= p*whole {
			return values[i]
		}
	}
	return values[order[len(order)-1]]
}

func TestAgainstNumericIntegration(t *testing.T) {
	const steps = 20000
	for seed := range uint64(12) {
		dice := rand.New(rand.NewPCG(seed, 2))
		waits := randomWaits(dice)
		rest := dice.Int64N(3000 * ms)
		for name, c := range map[string]struct {
			m      *Mixture
			figure func(wait float64) float64
		}{
			"wait":    {Of(waits), func(w float64) float64 { return w }},
			"penalty": {Of(LessRest(waits, rest)), func(w float64) float64 { return max(0, w-float64(rest)) }},
		} {
			mean, values, weights := integrate(waits, steps, c.figure)
			// A step is at most 5 s / 20000; half of it is 1.25e5 ns.
			if got := c.m.Mean(); math.Abs(got-mean) > 1.3e5 {
				t.Errorf("seed %d: mean %s %v, integrated %v", seed, name, got, mean)
			}
			for _, p := range []float64{0.5, 0.95, 0.99} {
				if got, want := c.m.Quantile(p), sampleQuantile(values, weights, p); math.Abs(got-want) > 2.6e5 {
					t.Errorf("seed %d: quantile %v of %s %v, integrated %v", seed, p, name, got, want)
				}
			}
		}
	}
}

// The wait that an event meets under RFC 8405 with the timers 50 ms, 200 ms, 5 s:
// of a router that is in its last state with no timer running for half the time,
// and whose timer runs down from 5 s for the other half, half of the waits are 5 s
// and the rest uniform; p = 0.25 is 2.5 s.
func TestLastState(t *testing.T) {
	m := Of([]record.Wait{{From: 5000 * ms, To: 5000 * ms, Total: 7 * 5000e6}, {From: 5000 * ms, To: 0, Count: 7}})
	for p, want := range map[float64]float64{0.25: 2.5e9, 0.5: 5e9, 0.1: 1e9, 0.75: 5e9} {
		if got := m.Quantile(p); math.Abs(got-want) > 1e-3 {
			t.Errorf("quantile %v is %v, want %v", p, got, want)
		}
	}
}

func TestPooled(t *testing.T) {
	each := make([][]record.Wait, 20)
	var all []record.Wait
	for i := range each {
		dice := rand.New(rand.NewPCG(uint64(i), 3))
		long := 1e12 + dice.Int64N(1e12)
		each[i] = []record.Wait{{From: 50 * ms, To: 50 * ms, Total: float64(1e14 - long)}, {From: 5000 * ms, To: 5000 * ms, Total: float64(long / 2)},
			{From: 5000 * ms, To: 0, Count: long / (10000 * ms)}}
		all = append(all, each[i]...)
	}
	p, whole := Pool(each), Of(all)
	for _, q := range []float64{0.5, 0.95, 0.99, 0.995} {
		e := p.Quantile(q, 0.95, 1)
		if e.Value != whole.Quantile(q) {
			t.Errorf("quantile %v is %v, exactly %v", q, e.Value, whole.Quantile(q))
		}
		if !e.Available() || e.Low > e.Value || e.High < e.Value {
			t.Errorf("quantile %v = %v has interval %v to %v (%s)", q, e.Value, e.Low, e.High, e.Reason)
		}
	}
	if e := p.Quantile(0.5, 0.95, 1); e.Low != 50e6 || e.High != 50e6 {
		t.Errorf("median stands at 50 ms in every replication, its interval is %v to %v", e.Low, e.High)
	}
	// About 1.5 % of the time is not at rest, half of it running down: the share
	// above x is (1.5 % / 2)(1 + 1 - x/5 s), 1 % at x = 3.3 s; chance moves the
	// 1.5 % by 0.29 % / sqrt(20), which is 0.07 %, so that p99 moves by 0.3 s.
	if e := p.Quantile(0.99, 0.95, 1); e.Low < 2.2e9 || e.Low > 3.3e9 || e.High < 3.4e9 || e.High > 4.6e9 {
		t.Errorf("p99 %v has interval %v to %v", e.Value, e.Low, e.High)
	}
	if got := p.Largest(); got.Value != 5e9 || got.Available() {
		t.Errorf("largest %v, interval %v", got.Value, got.Sides)
	}
}

// The grid keeps all weight, and what it moves it moves within a cell.
func TestGrid(t *testing.T) {
	for seed := range uint64(50) {
		waits := randomWaits(rand.New(rand.NewPCG(seed, 4)))
		m := Of(waits)
		g := newGrid(m)
		sum := 0.0
		for _, w := range g.place([]*Mixture{m})[0] {
			sum += w.Weight
		}
		if math.Abs(sum-m.Weight()) > 1e-9*m.Weight() {
			t.Errorf("seed %d: grid weighs %v, the waits %v", seed, sum, m.Weight())
		}
		for i := 1; i < len(g.middles); i++ {
			if wide := (g.edges[i+1] - g.edges[i]) / 2 / g.middles[i]; wide > 0.02 || wide <= 0 {
				t.Fatalf("seed %d: cell %d from %v to %v", seed, i, g.edges[i], g.edges[i+1])
			}
		}
	}
}

// Limits at the middle of a cell move to its edges; others stay.
func TestGridMovesLimitsOutwards(t *testing.T) {
	g := newGrid(Of([]record.Wait{{From: 5000 * ms, To: 0, Count: 1}}))
	e := stat.Estimate{Low: g.middles[100], High: g.middles[400], Sides: stat.TwoSided, Known: true}
	value := (g.middles[200] + g.middles[201]) / 2
	if got := g.exact(e, value); got.Low != g.edges[100] || got.High != g.edges[401] || got.Value != value {
		t.Errorf("%v from %v to %v, want %v from %v to %v", got.Value, got.Low, got.High, value, g.edges[100], g.edges[401])
	}
	e.Low, e.High = 50e6, 5e9
	if got := g.exact(e, 1e9); got.Low != 50e6 || got.High != 5e9 {
		t.Errorf("points moved to %v and %v", got.Low, got.High)
	}
}

func BenchmarkPool(b *testing.B) {
	each := make([][]record.Wait, 20)
	for i := range each {
		dice := rand.New(rand.NewPCG(uint64(i), 5))
		for range 40 {
			each[i] = append(each[i], randomWaits(dice)...)
		}
	}
	for b.Loop() {
		p := Pool(each)
		p.Quantile(0.5, 0.95, 1)
		p.Quantile(0.95, 0.95, 1)
		p.Quantile(0.99, 0.95, 1)
	}
}
