package stat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestDrawIsSplitMix holds the stream against the first outputs of SplitMix64
// for seed 1234567 (Rosetta Code, "Pseudo-random numbers/Splitmix64"; from memory).
func TestDrawIsSplitMix(t *testing.T) {
	d := draw{1234567}
	for k, want := range []uint64{
		6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431, 16408922859458223821,
	} {
		if got := d.at(uint64(k)); got != want {
			t.Errorf("output %d is %d, want %d", k, got, want)
		}
	}
}

// TestDrawBelowIsEven: chi-square of 20 cells over 200,000 draws, within 3.5
// standard deviations (19 degrees of freedom: mean 19, variance 38).
func TestDrawBelowIsEven(t *testing.T) {
	const cells, draws = 20, 200_000
	var counts [cells]float64
	for k := range uint64(draws) {
		counts[(draw{99}).below(k, cells)]++
	}
	index := 0.0
	for _, c := range counts {
		d := c - draws/cells
		index += d * d / (draws / cells)
	}
	if z := (index - 19) / math.Sqrt(38); math.Abs(z) > 3.5 {
		t.Errorf("z = %.2f", z)
	}
}

// plainQuantile is the dumb twin of Pooled.quantile: copies, then sorts.
func plainQuantile(perReplication [][]float64, t times, q float64) float64 {
	var all []float64
	for r, values := range perReplication {
		for range int(t[r]) {
			all = append(all, values...)
		}
	}
	return QuantileType7(all, q)
}

// plainWeighted is the same with weights.
func plainWeighted(perReplication [][]Weighted, t times, q float64) float64 {
	var all []Weighted
	for r, samples := range perReplication {
		for range int(t[r]) {
			all = append(all, samples...)
		}
	}
	return WeightedQuantile(all, q)
}

// TestPooledAgainstTwin compares every resample with copying and sorting, on
// samples from empty to many strides of marks, with many equal values.
func TestPooledAgainstTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		n := rapid.IntRange(1, 30).Draw(t, "replications")
		most := rapid.SampledFrom([]int{1, 5, 60, 300}).Draw(t, "most")
		kinds := rapid.SampledFrom([]int{3, 100, 1 << 40}).Draw(t, "kinds of value")
		plain, weighted, filled := make([][]float64, n), make([][]Weighted, n), false
		for i := range n {
			for range r.IntN(most + 1) {
				v := float64(r.IntN(kinds))
				plain[i] = append(plain[i], v)
				weighted[i] = append(weighted[i], Weighted{v, float64(r.IntN(1 << 30))})
				filled = filled || weighted[i][len(weighted[i])-1].Weight > 0
			}
		}
		if !filled {
			t.Skip("nothing to draw from")
		}
		p, w := Pool(plain), PoolWeighted(weighted)
		q := rapid.Float64Range(0.001, 0.999).Draw(t, "q")
		taken := make(times, n)
		for b := range 20 {
			w.take(taken, draw{7}, b)
			if got, want := w.quantile(taken, q), plainWeighted(weighted, taken, q); got != want {
				t.Fatalf("weighted: got %v, want %v", got, want)
			}
			p.take(taken, draw{7}, b)
			if got, want := p.quantile(taken, q), plainQuantile(plain, taken, q); got != want {
				t.Fatalf("got %v, want %v", got, want)
			}
		}
	})
}

// clusters makes replications whose values share a factor: value = exp(a + b)
// with a of its replication and b its own, so that pooled values are lognormal
// with the variances added. Counts are Poisson and know nothing of a.
func clusters(r *rand.Rand, replications int, count, shared, own float64) [][]float64 {
	out := make([][]float64, replications)
	for i := range out {
		a := shared * r.NormFloat64()
		for t := r.ExpFloat64(); t < count; t += r.ExpFloat64() {
			out[i] = append(out[i], math.Exp(a+own*r.NormFloat64()))
		}
	}
	return out
}

func TestPooledSameBytes(t *testing.T) {
	sample := clusters(rand.New(rand.NewPCG(1, 2)), 20, 40, 0.5, 1)
	a, b := Pool(sample).Quantile(0.9, 0.95, 42), Pool(sample).Quantile(0.9, 0.95, 42)
	if a.Value != b.Value || a.Low != b.Low || a.High != b.High {
		t.Errorf("the same seed gave %v and %v", a, b)
	}
	if c := Pool(sample).Quantile(0.9, 0.95, 43); c.Low == a.Low && c.High == a.High {
		t.Error("the seed does not matter")
	}
	for i := range sample {
		slices.Reverse(sample[i])
	}
	if c := Pool(sample).Quantile(0.9, 0.95, 42); c.Low != a.Low || c.High != a.High {
		t.Error("the order of values within a replication matters")
	}
}

func TestPooledTooLittle(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	small := Pool(clusters(r, 20, 3, 0.5, 1))
	narrow := make([][]float64, 20)
	copy(narrow, clusters(r, 5, 100, 0.5, 1))
	full := Pool(clusters(r, 20, 100, 0.5, 1))
	for what, e := range map[string]Estimate{
		"60 values for p99":           small.Quantile(0.99, 0.95, 1),
		"5 of 20 replications":        Pool(narrow).Quantile(0.5, 0.95, 1),
		"a level beyond all":          full.Quantile(0.5, 0.9999, 1),
		"5 of 20, weighted":           PoolWeighted(equalWeights(narrow)).Quantile(0.5, 0.95, 1),
		"one replication, low level":  Pool(clusters(r, 1, 100, 0.5, 1)).Quantile(0.5, 0.0001, 1),
		"one replication, high level": Pool(clusters(r, 1, 100, 0.5, 1)).Quantile(0.5, 0.95, 1),
	} {
		if e.Available() || !e.Known || e.Reason == "" {
			t.Errorf("%s: %+v", what, e)
		}
	}
	if e := full.Quantile(0.99, 0.95, 1); !e.Available() || e.N != 20 {
		t.Errorf("2,000 values for p99: %+v", e)
	}
	none := Pool(make([][]float64, 20)).Quantile(0.5, 0.95, 1)
	if none.Known || none.Available() {
		t.Errorf("no value: %+v", none)
	}
	wantCodes(t, "no value", none, ZeroSeen)
	wantCodes(t, "5 of 20", Pool(narrow[:6]).Quantile(0.5, 0.95, 1), FewReplications)
	narrow[0] = append(narrow[0], narrow[0]...)
	wantCodes(t, "one with a third", Pool(narrow).Quantile(0.5, 0.95, 1), OneReplication)
}

// TestWorth: a value alone in its replication is worth about itself, copies add
// nothing, and weights count as copies do.
func TestWorth(t *testing.T) {
	const replications = 400
	r := rand.New(rand.NewPCG(5, 6))
	single, copied, weighted := make([][]float64, replications), make([][]float64, replications), make([][]Weighted, replications)
	for i := range single {
		v := r.NormFloat64()
		single[i] = []float64{v}
		copied[i] = slices.Repeat([]float64{v}, 50)
		weighted[i] = []Weighted{{v, 50}}
	}
	// z^2/t^2 for 399 degrees of freedom is 0.994; the share at the quantile of a
	// sample is 0.9 to a value, and the divisor n-1: together under 2 %.
	near(t, "single", Pool(single).worth(0.9, 0.95), replications, 0.02)
	near(t, "copied", Pool(copied).worth(0.9, 0.95), replications, 0.02)
	near(t, "weighted", PoolWeighted(weighted).worth(0.9, 0.95), replications, 0.02)
	agree := slices.Repeat([][]Weighted{{{1, 9}, {2, 1}}}, 20)
	if e := PoolWeighted(agree).Quantile(0.5, 0.95, 1); e.Low != 1 || e.High != 1 || len(e.Warnings) != 0 {
		t.Errorf("20 replications that agree: %+v", e)
	}
}

// TestTakeSkipsEmptyResamples: with 6 of 60 replications filled, one resample in
// about 500 would be empty, and none may be.
func TestTakeSkipsEmptyResamples(t *testing.T) {
	sample := make([][]float64, 60)
	for i := range 6 {
		sample[i*9] = []float64{float64(i)}
	}
	p, taken, again := Pool(sample), make(times, 60), 0
	for b := range 5000 {
		p.take(taken, draw{3}, b)
		if Sum(taken) != 60 || p.whole(taken) == 0 {
			t.Fatalf("resample %d holds %v replications and %v values", b, Sum(taken), p.whole(taken))
		}
		first := times(make([]float64, 60))
		for k := range 60 {
			first[(draw{3}).below(uint64(b)<<30+uint64(k), 60)]++
		}
		if p.whole(first) == 0 {
			again++
		}
	}
	if again == 0 {
		t.Error("no first try was empty: the test shows nothing")
	}
}

func equalWeights(perReplication [][]float64) [][]Weighted {
	out := make([][]Weighted, len(perReplication))
	for i, values := range perReplication {
		for _, v := range values {
			out[i] = append(out[i], Weighted{v, 1})
		}
	}
	return out
}

func BenchmarkPooledQuantile(b *testing.B) {
	for _, n := range []float64{50, 5000} {
		sample := clusters(rand.New(rand.NewPCG(1, 2)), 20, n, 0.5, 1)
		b.Run(fmt.Sprintf("replications=20/values=%g", n), func(b *testing.B) {
			p := Pool(sample)
			for b.Loop() {
				p.Quantile(0.99, 0.9, 1)
			}
		})
	}
}

// TestPooledGolden pins limits once computed here, so that a change of the
// stream, the order of draws or the ranks cannot pass unseen.
func TestPooledGolden(t *testing.T) {
	sample, k := make([][]float64, 20), uint64(0)
	for i := range sample {
		for range 10 + i {
			k++
			sample[i] = append(sample[i], float64(100*i+(draw{11}).below(k, 1000)))
		}
	}
	e := Pool(sample).Quantile(0.5, 0.95, 2024)
	if e.Value != 1685.5 || e.Low != 1293.5 || e.High != 1965 {
		t.Errorf("%v (%v to %v), want 1685.5 (1293.5 to 1965)", e.Value, e.Low, e.High)
	}
}
