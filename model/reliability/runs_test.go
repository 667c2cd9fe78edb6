package reliability

import (
	"fmt"
	"math"
	"math/big"
	"math/bits"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// Mean: holooly.com worked solution and Feller vol. 1 XIII.7 (from memory); figures at 60 digits. The standard deviation
// is printed to 8 digits, to 7 where an exponent is.
func TestRuns(t *testing.T) {
	for _, row := range table(t, "runs.txt", 27) {
		v := numbers(t, row)
		what := fmt.Sprintf("p %g, k %g", v[0], v[1])
		printed(t, what, RunMean(v[0], int(v[1])), v[2], 12, 1e-9)
		printed(t, what+" sd", RunSD(v[0], int(v[1])), v[3], 7, 1e-9)
		if p, k := v[0], v[1]; p < 1 {
			within(t, what+" closed form", RunMean(p, int(k)), (1-math.Pow(p, k))/((1-p)*math.Pow(p, k)), 1e-11)
		}
	}
	if !math.IsInf(RunMean(0, 3), 1) {
		t.Error("a run of losses without loss")
	}
}

// Feller's variance in rational numbers: 1/(q p^k)^2 - (2k+1)/(q p^k) - p/q^2, q = 1-p.
func TestRunSDAgainstFeller(t *testing.T) {
	one := big.NewRat(1, 1)
	for _, p := range []*big.Rat{big.NewRat(1, 1000), big.NewRat(1, 10), big.NewRat(1, 2), big.NewRat(99, 100), big.NewRat(999999, 1000000)} {
		for k := int64(1); k <= 6; k++ {
			q := new(big.Rat).Sub(one, p)
			run := new(big.Rat).Set(q)
			for range k {
				run.Mul(run, p)
			}
			inverse := new(big.Rat).Inv(run)
			variance := new(big.Rat).Mul(inverse, inverse)
			variance.Sub(variance, new(big.Rat).Mul(big.NewRat(2*k+1, 1), inverse))
			variance.Sub(variance, new(big.Rat).Quo(p, new(big.Rat).Mul(q, q)))
			want, _ := variance.Float64()
			chance, _ := p.Float64()
			got := RunSD(chance, int(k))
			within(t, fmt.Sprintf("variance p %v k %d", p, k), got*got, want, 1e-9)
		}
	}
}

// Computed with mpmath at 60 digits by the recursion over the place of the first run; no publication is known. 0.5, 3, 10 is 520 of
// 1,024 sequences, which TestRunWithinListed counts.
func TestRunWithin(t *testing.T) {
	for _, c := range []struct {
		p    float64
		k, n int
		want float64
	}{
		{0.01, 3, 1000, 0.00098754547336383}, {0.01, 3, 72000, 0.068797276206977}, {0.1, 3, 100, 0.084765180061179},
		{0.1, 3, 1200, 0.66098397350404}, {0.3, 3, 20, 0.31027498602487}, {0.3, 3, 100, 0.86394792066358}, {0.5, 3, 3, 0.125},
		{0.5, 3, 10, 0.5078125}, {0.05, 3, 10000, 0.69509725785224}, {0.1, 5, 1000, 0.0089253728469164},
	} {
		printed(t, fmt.Sprintf("p %g k %d n %d", c.p, c.k, c.n), RunWithin(c.p, c.k, c.n), c.want, 14, 1e-9)
	}
}

// Second method: every sequence of n probes.
func TestRunWithinListed(t *testing.T) {
	for _, p := range []float64{0, 0.2, 0.5, 0.9, 1} {
		for k := 1; k <= 5; k++ {
			for n := 0; n <= 13; n++ {
				want := 0.0
				for s := range 1 << n {
					run := s
					for i := 1; i < k; i++ {
						run &= run >> 1
					}
					if run != 0 {
						lost := bits.OnesCount(uint(s))
						want += math.Pow(p, float64(lost)) * math.Pow(1-p, float64(n-lost))
					}
				}
				within(t, fmt.Sprintf("p %g k %d n %d", p, k, n), RunWithin(p, k, n), want, 1e-12)
			}
		}
	}
}

// Two-state loss (Gilbert 1960, from memory), started in the long-run shares: computed at 60 digits, no publication is known;
// the last row is the independent loss of 10 % of TestRuns.
func TestLossChainRuns(t *testing.T) {
	for _, c := range []struct {
		chain LossChain
		k     int
		want  float64
	}{
		{LossChain{0.001, 0.1, 0, 1}, 3, 1228.01259015}, {LossChain{0.001, 0.1, 0, 0.5}, 3, 2538.51876299},
		{LossChain{0.01, 0.3, 0, 1}, 3, 205.325213957}, {LossChain{0.01, 0.3, 0.001, 0.8}, 3, 297.962659737},
		{LossChain{0.1, 0.9, 0.1, 0.1}, 3, 1110},
	} {
		printed(t, fmt.Sprintf("%+v", c.chain), c.chain.RunMean(c.k), c.want, 12, 1e-9)
	}
	for _, k := range []int{1, 2, 5, 9} { // one loss in both states: the chain does not matter, at any rarity
		within(t, "independent", LossChain{0.3, 0.01, 1e-3, 1e-3}.RunMean(k), RunMean(1e-3, k), 1e-12)
	}
	if !math.IsInf(LossChain{0.1, 0.1, 0, 0}.RunMean(1), 1) || !math.IsInf(LossChain{0.5, 1, 0, 1}.RunMean(2), 1) {
		t.Error("runs that cannot happen")
	}
	// Mean loss 1 %, mean burst of 3, started in the good state: 672 packets to 3 in a row, 1515.75 to 5 (exact rational
	// recursion of a first-step analysis, printed). Started in the long-run shares it is less by the share of 1 % that
	// starts bad: held against the linear system below, and here to 2 %.
	chain := LossChain{0.01 / 3 / 0.99, 1.0 / 3, 0, 1}
	within(t, "burst of 3, k 3", chain.RunMean(3), 672, 0.02)
	within(t, "burst of 3, k 5", chain.RunMean(5), 1515.75, 0.02)
}

// Second method: the linear system over (state of the next probe, losses so far), solved by gonum/mat.
func TestLossChainAgainstSystem(t *testing.T) {
	for _, c := range []LossChain{{0.01, 0.3, 0.001, 0.8}, {0.5, 0.2, 0.3, 0.6}, {0.03, 0.4, 0, 1}, {1, 1, 0.2, 0.9}, {0.01 / 3 / 0.99, 1.0 / 3, 0, 1}} {
		for k := 1; k <= 5; k++ {
			step := [2][2]float64{{1 - c.GoodToBad, c.GoodToBad}, {c.BadToGood, 1 - c.BadToGood}}
			loss := [2]float64{c.LossGood, c.LossBad}
			a := mat.NewDense(2*k, 2*k, nil)
			ones := mat.NewVecDense(2*k, nil)
			for s := range 2 {
				for r := range k {
					i := s*k + r
					ones.SetVec(i, 1)
					a.Set(i, i, a.At(i, i)+1)
					for to := range 2 {
						a.Set(i, to*k, a.At(i, to*k)-(1-loss[s])*step[s][to])
						if r+1 < k {
							a.Set(i, to*k+r+1, a.At(i, to*k+r+1)-loss[s]*step[s][to])
						}
					}
				}
			}
			var x mat.VecDense
			if err := x.SolveVec(a, ones); err != nil {
				t.Fatal(err)
			}
			bad := c.GoodToBad / (c.GoodToBad + c.BadToGood)
			within(t, fmt.Sprintf("%+v k %d", c, k), c.RunMean(k), (1-bad)*x.AtVec(0)+bad*x.AtVec(k), 1e-9)
		}
	}
}

// Two-state loss, a step per packet: shares, runs and correlation at 60 digits, printed to 10 or more.
func TestLossChainFigures(t *testing.T) {
	for _, c := range []struct {
		chain                        LossChain
		bad, loss, run, after, corr  float64
		afterDigits, correlateDigits int
	}{
		{LossChain{0.001, 0.1, 0, 1}, 0.00990099009901, 0.00990099009901, 10, 0.9, 0.899, 12, 10},
		{LossChain{0.01, 0.3, 0, 1}, 0.0322580645161, 0.0322580645161, 3.33333333333, 0.7, 0.69, 12, 10},
		{LossChain{0.001, 0.1, 0, 0.5}, 0.00990099009901, 0.0049504950495, 1.81818181818, 0.45, 0.4472636816, 12, 10},
		{LossChain{0.001, 0.1, 1e-5, 0.5}, 0.00990099009901, 0.0049603960396, 1.81522403391, 0.449103812355, 0.4463575264, 12, 10},
		{LossChain{0.0005, 0.05, 1e-6, 0.2}, 0.00990099009901, 0.00198118811881, 1.23442334862, 0.189905147926, 0.1882970116, 12, 10},
		{LossChain{0.002, 0.5, 0, 1}, 0.00398406374502, 0.00398406374502, 2, 0.5, 0.498, 12, 10},
	} {
		what := fmt.Sprintf("%+v ", c.chain)
		printed(t, what+"bad", c.chain.BadShare(), c.bad, 12, 1e-11)
		printed(t, what+"loss", c.chain.MeanLoss(), c.loss, 12, 1e-11)
		printed(t, what+"run", c.chain.MeanLossRun(), c.run, 12, 1e-11)
		printed(t, what+"after", c.chain.LossAfterLoss(), c.after, c.afterDigits, 1e-11)
		printed(t, what+"correlation", c.chain.LossCorrelation(), c.corr, c.correlateDigits, 1e-11)
	}
}
