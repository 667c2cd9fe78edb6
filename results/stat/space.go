package stat

import (
	"cmp"
	"math"
	"slices"
)

// latinTries is how many Latin hypercubes are drawn, of which the one whose two
// nearest points are farthest apart is taken.
const latinTries = 32

// LatinHypercube returns n points that fill [0, 1)^d: along every axis one point
// in each of n equal cells (McKay, Beckman and Conover, Technometrics 21, 1979),
// and apart from one another as far as a few tries allow (maximin: Johnson, Moore
// and Ylvisaker, J. Statistical Planning and Inference 26, 1990). Same seed, same
// points. n and d are at least 1.
func LatinHypercube(n, d int, seed uint64) [][]float64 {
	var best [][]float64
	most := -1.0
	for try := range latinTries {
		points := latin(n, d, draw{draw{seed}.at(uint64(try))})
		if apart := nearest(points); apart > most {
			best, most = points, apart
		}
	}
	return best
}

func latin(n, d int, from draw) [][]float64 {
	points := make([][]float64, n)
	for i := range points {
		points[i] = make([]float64, d)
	}
	k := uint64(0)
	for axis := range d {
		cells := make([]int, n)
		for i := range cells { // shuffled as it grows
			j := from.below(k, i+1)
			cells[i] = cells[j]
			cells[j] = i
			k++
		}
		for i := range points {
			inside := float64(from.at(k)>>11) * 0x1p-53
			points[i][axis] = (float64(cells[i]) + float64(inside)) / float64(n)
			k++
		}
	}
	return points
}

// nearest is the least squared distance between two points; +Inf of one.
func nearest(points [][]float64) float64 {
	least := math.Inf(1)
	for i := range points {
		for j := range i {
			sum := 0.0
			for axis := range points[i] {
				step := points[i][axis] - points[j][axis]
				sum += float64(step * step)
			}
			least = min(least, sum)
		}
	}
	return least
}

// RankCorrelation is Spearman's coefficient of pairs, ties at their mean rank; not
// ok with fewer than two pairs or without spread on one side.
func RankCorrelation(a, b []float64) (r float64, ok bool) {
	if len(a) != len(b) {
		panic("stat: ranks of lists of two lengths")
	}
	if len(a) < 2 {
		return 0, false
	}
	mustFinite(a)
	mustFinite(b)
	return correlation(ranks(a), ranks(b))
}

func ranks(values []float64) []float64 {
	order := make([]int, len(values))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(values[i], values[j]) })
	out := make([]float64, len(values))
	for from := 0; from < len(order); {
		to := from
		for to < len(order) && values[order[to]] == values[order[from]] {
			to++
		}
		for _, i := range order[from:to] {
			out[i] = float64(from+to+1) / 2
		}
		from = to
	}
	return out
}

// RankDoubt is the size above which one of members rank correlations of n pairs,
// two-sided, is beyond doubt at a level for all of them at once (normal
// approximation, variance 1/(n-1)). n is at least 2.
func RankDoubt(n, members int, level float64) float64 {
	mustLevel(level)
	return zUpper((1-level)/2/float64(members)) / math.Sqrt(float64(n-1))
}

// Type7 is quantile q, from 0 to 1, of at least one value: linear between order
// statistics (type 7 of Hyndman and Fan, The American Statistician 50, 1996).
func Type7(values []float64, q float64) float64 {
	mustProbability(q)
	return type7(slices.Sorted(slices.Values(values)), q)
}
