package stat

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

func TestBlocks(t *testing.T) {
	for _, n := range []int{1, 20, BlocksMost, BlocksMost + 1, 2500, 100_000} {
		sizes := make([]int, BlocksOf(n))
		last := 0
		for i := range n {
			b := Block(i, n)
			if b < last {
				t.Fatalf("%d replications: block %d after block %d", n, b, last)
			}
			last = b
			sizes[b]++
		}
		for b, size := range sizes {
			if size < n/BlocksMost || size > n/BlocksMost+1 || n <= BlocksMost && size != 1 {
				t.Errorf("%d replications: block %d has %d", n, b, size)
			}
		}
	}
}

// Many replications are resampled by block: the value is that of the sample, and
// the interval has the width that order statistics give independent values,
// 2 z sqrt(q(1-q)/n) / density (here of Exp(1): 1-q), to within a tenth.
func TestManyReplications(t *testing.T) {
	const n = 20_000
	dice := rand.New(rand.NewPCG(1, 8))
	each := make([][]float64, n)
	var all []float64
	for i := range each {
		each[i] = []float64{dice.ExpFloat64()}
		all = append(all, each[i]...)
	}
	p := Pool(each)
	for _, q := range []float64{0.5, 0.95} {
		e := p.Quantile(q, 0.95, 3)
		if e.N != n || len(e.Warnings) > 0 || e.Value != QuantileType7(all, q) {
			t.Errorf("quantile %v: %+v, want the value %v", q, e, QuantileType7(all, q))
		}
		want := 2 * distuv.UnitNormal.Quantile(0.975) * math.Sqrt(q*(1-q)/n) / (1 - q)
		if got := e.High - e.Low; math.Abs(got/want-1) > 0.1 {
			t.Errorf("quantile %v: an interval of %v, want about %v", q, got, want)
		}
	}
}
