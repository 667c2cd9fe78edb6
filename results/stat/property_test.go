package stat

import (
	"math"
	"math/big"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"pgregory.net/rapid"
)

var levels = rapid.SampledFrom([]float64{0.5, 0.8, 0.9, 0.95, 0.99, 0.999})

// TestSumAgainstExact holds RunningSum against arbitrary precision: it may be
// off by one rounding of the result, and by 2 n e^2 of the sum of magnitudes
// (Neumaier 1974; e = 2^-53).
func TestSumAgainstExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(-1e12, 1e12), 0, 200).Draw(t, "values")
		exact, magnitude := new(big.Float).SetPrec(2000), 0.0
		for _, v := range values {
			exact.Add(exact, new(big.Float).SetFloat64(v))
			magnitude += math.Abs(v)
		}
		want, _ := exact.Float64()
		n := float64(len(values))
		allowed := 0x1p-52*math.Abs(want) + 2*n*n*0x1p-106*magnitude
		if got := Sum(values); math.Abs(got-want) > allowed {
			t.Fatalf("sum %v, exact %v", got, want)
		}
	})
}

// TestSumKeepsWhatAdditionLoses: the classic case, 1 + 1e100 + 1 - 1e100 = 2
// (Neumaier 1974 against Kahan), where plain addition gives 0.
func TestSumKeepsWhatAdditionLoses(t *testing.T) {
	if got := Sum([]float64{1, 1e100, 1, -1e100}); got != 2 {
		t.Errorf("got %v, want 2", got)
	}
	if got := Sum([]float64{math.Inf(1), 1}); !math.IsInf(got, 1) {
		t.Errorf("an infinite sum became %v", got)
	}
}

// TestClopperPearsonInverts: at each limit the binomial tail is half of 1-level,
// by summing probabilities, not by the function that gave the limit.
func TestClopperPearsonInverts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 300).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		level := levels.Draw(t, "level")
		low, high := ClopperPearson(x, n, level)
		tail := (1 - level) / 2
		if x > 0 {
			inverts(t, "low", 1-binomialSum(n, low, x-1), tail, float64(n)*binomialTerm(n-1, low, x-1)*halfDigit(low))
		} else if low != 0 {
			t.Fatalf("low %v", low)
		}
		if x < n {
			inverts(t, "high", binomialSum(n, high, x), tail, float64(n)*binomialTerm(n-1, high, x)*halfDigit(high))
		} else if high != 1 {
			t.Fatalf("high %v", high)
		}
	})
}

// TestPoissonInverts does the same with Poisson tails.
func TestPoissonInverts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.IntRange(0, 400).Draw(t, "x")
		level := levels.Draw(t, "level")
		low, high := PoissonInterval(x, level)
		tail := (1 - level) / 2
		if x > 0 {
			inverts(t, "low", 1-poissonSum(low, x-1), tail, poissonTerm(low, x-1)*halfDigit(low))
		}
		inverts(t, "high", poissonSum(high, x), tail, poissonTerm(high, x)*halfDigit(high))
	})
}

// inverts allows the tail the quantile's own error and what rounding a limit to
// twelve digits moves it: the law's density there times half a digit.
func inverts(t *rapid.T, what string, got, tail, rounding float64) {
	if math.Abs(got-tail) > 1e-11+rounding {
		t.Fatalf("%s: tail %v, want %v, of which rounding may be %v", what, got, tail, rounding)
	}
}

// halfDigit is half a unit of the twelfth digit of v.
func halfDigit(v float64) float64 {
	return 0.5 * math.Pow(10, math.Floor(math.Log10(v))-11)
}

// binomialSum is P(B <= k) term by term.
func binomialSum(n int, p float64, k int) float64 {
	var s RunningSum
	for i := 0; i <= k; i++ {
		s.Add(binomialTerm(n, p, i))
	}
	return s.Value()
}

func binomialTerm(n int, p float64, k int) float64 {
	return math.Exp(logChoose(n, k) + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
}

func logChoose(n, k int) float64 {
	return -math.Log(float64(n+1)) - mathext.Lbeta(float64(n-k+1), float64(k+1))
}

// poissonSum is P(N <= k) term by term.
func poissonSum(mean float64, k int) float64 {
	var s RunningSum
	for i := 0; i <= k; i++ {
		s.Add(poissonTerm(mean, i))
	}
	return s.Value()
}

func poissonTerm(mean float64, k int) float64 {
	g, _ := math.Lgamma(float64(k + 1))
	return math.Exp(float64(k)*math.Log(mean) - mean - g)
}

// TestOrderRanksByTheirDefinition tries every rank, with probabilities summed.
func TestOrderRanksByTheirDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 150).Draw(t, "n")
		p := rapid.Float64Range(0.01, 0.99).Draw(t, "p")
		level := rapid.Float64Range(0.51, 0.99).Draw(t, "level")
		low, high, coverage, ok := OrderRanks(n, p, level)
		tail := (1 - level) / 2
		const rounding = 1e-11
		for l := 1; l <= n; l++ {
			below := binomialSum(n, p, l-1)
			if l <= low && below > tail+rounding || l > low && below < tail-rounding {
				t.Fatalf("low is %d, but P(B <= %d) is %v", low, l-1, below)
			}
			if l >= high && below < 1-tail-rounding || l > low && l < high && below > 1-tail+rounding {
				t.Fatalf("high is %d, but P(B <= %d) is %v", high, l-1, below)
			}
		}
		if ok != (low >= 1 && high <= n) || ok && coverage < level-rounding {
			t.Fatalf("ranks %d to %d of %d cover %v, available %v", low, high, n, coverage, ok)
		}
		if least := OrderLeast(p, level); ok != (n >= least) {
			t.Fatalf("least sample %d, but %d available: %v", least, n, ok)
		}
	})
}

// TestReplicationsForIsLeast: n suffices, and n-1 does not.
func TestReplicationsForIsLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sd := rapid.Float64Range(0, 50).Draw(t, "sd")
		half := rapid.Float64Range(0.1, 20).Draw(t, "half")
		level := levels.Draw(t, "level")
		n, ok := ReplicationsFor(sd, half, level)
		reach := func(n int) float64 { return tUpper(float64(n-1), (1-level)/2) * sd / math.Sqrt(float64(n)) }
		if !ok || reach(n) > half || n > 2 && reach(n-1) <= half {
			t.Fatalf("%d replications give +-%v, wanted %v", n, reach(n), half)
		}
	})
	if _, ok := ReplicationsFor(1, 1e-9, 0.95); ok {
		t.Error("4e18 replications were called possible")
	}
}

// TestQuantilesByDefinition holds type 1 against counting, type 7 against its
// neighbours, and the weighted quantile against the plain one of copies.
func TestQuantilesByDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		samples := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Weighted {
			return Weighted{float64(rapid.IntRange(-9, 9).Draw(t, "value")), float64(rapid.IntRange(0, 4).Draw(t, "weight"))}
		}), 1, 40).Draw(t, "samples")
		p := float64(rapid.IntRange(0, 1000).Draw(t, "permille")) / 1000
		var copies []float64
		for _, w := range samples {
			copies = append(copies, slices.Repeat([]float64{w.Value}, int(w.Weight))...)
		}
		if len(copies) == 0 {
			t.Skip("no weight")
		}
		q := QuantileType1(copies, p)
		atMost, below := shares(copies, q)
		if atMost < p-1e-12 || below >= p+1e-12 && q > slices.Min(copies) {
			t.Fatalf("type 1 of %v at %v is %v", copies, p, q)
		}
		if w := WeightedQuantile(samples, p); w != q {
			t.Fatalf("weighted %v, copies %v", w, q)
		}
		if s := QuantileType7(copies, p); !(s >= slices.Min(copies) && s <= slices.Max(copies)) {
			t.Fatalf("type 7 %v outside %v", s, copies)
		}
	})
}

// shares returns the shares of values at most and below q.
func shares(values []float64, q float64) (atMost, below float64) {
	for _, v := range values {
		if v <= q {
			atMost++
		}
		if v < q {
			below++
		}
	}
	n := float64(len(values))
	return atMost / n, below / n
}

// TestPairedIsSymmetric: swapping the sides turns the sign and nothing else.
func TestPairedIsSymmetric(t *testing.T) {
	figures := rapid.SliceOfN(rapid.Float64Range(-100, 100), 8, 8)
	rapid.Check(t, func(t *rapid.T) {
		a, b := figures.Draw(t, "a"), figures.Draw(t, "b")
		there, back := Paired(a, b, 0.95), Paired(b, a, 0.95)
		if there.Paired != back.Paired || math.Abs(there.Correlation-back.Correlation) > 1e-12 {
			t.Fatalf("%+v but %+v", there, back)
		}
		if math.Abs(there.Difference.Low+back.Difference.High) > 1e-9 || math.Abs(there.P-back.P) > 1e-12 {
			t.Fatalf("%+v but %+v", there, back)
		}
		// Above 1 by as much as the covariance is positive, to a rounding.
		if there.Paired && there.Correlated && !(there.Reduction > 1-1e-12) {
			t.Fatalf("reduction %v", there.Reduction)
		}
	})
}
