package stat

import (
	"cmp"
	"slices"
)

// Pooled is the values of all replications thrown together, each still knowing
// its replication, so that quantiles of the whole can be resampled replication by
// replication: faults of one replication share their draws and their history and
// are not independent. Immutable after it is made; use it for any number of
// quantiles.
type Pooled struct {
	seen         int   // replications
	replications int   // or blocks of them, where there are many
	counts       []int // values per replication, or of weight above 0
	values       []float64
	owners       []int32
	weights      []float64 // nil: every value weighs 1, quantiles are of type 7; else of type 1
	marks        []float64 // one row per stride: weight of each replication among the values before it
	stride       int       // pooled values between two rows of marks: a resample searches the rows and walks at most one stride
}

// strideLeast is the least stride, rowsMost about how many rows of marks there are.
const (
	strideLeast = 64
	rowsMost    = 1024
)

// BlocksMost is how many replications are resampled one by one. More are put into
// so many blocks of as many each as makes no difference, which are as independent
// of one another and are resampled in their place.
const BlocksMost = 1000

// Block is the block, from 0, of replication i of n, and BlocksOf how many blocks
// n replications make. Up to BlocksMost every replication is one.
func Block(i, n int) int {
	if n <= BlocksMost {
		return i
	}
	return int(int64(i) * BlocksMost / int64(n))
}

// BlocksOf returns how many blocks n replications make.
func BlocksOf(n int) int { return min(n, BlocksMost) }

// Pool throws together the values (finite, any order, any number, none too) of
// each replication.
func Pool(perReplication [][]float64) *Pooled {
	p := newPooled(len(perReplication))
	order := make([]ownedValue, 0, total(perReplication))
	for i, values := range perReplication {
		r := Block(i, p.seen)
		mustFinite(values)
		p.counts[r] += len(values)
		for _, v := range values {
			order = append(order, ownedValue{Weighted{v, 1}, int32(r)})
		}
	}
	p.arrange(order)
	p.mark()
	return p
}

// PoolWeighted does the same with distributions over time: quantiles are of type
// 1, and values of weight 0 are left out.
func PoolWeighted(perReplication [][]Weighted) *Pooled {
	return PoolBlocks(perReplication, len(perReplication))
}

// PoolBlocks is PoolWeighted of distributions that were put together by block
// already (see Block), of so many replications.
func PoolBlocks(perBlock [][]Weighted, replications int) *Pooled {
	p := newPooled(replications)
	order := make([]ownedValue, 0, total(perBlock))
	for i, samples := range perBlock {
		r := Block(i, len(perBlock))
		for _, w := range samples {
			mustWeighted(w)
			if w.Weight > 0 {
				p.counts[r]++
				order = append(order, ownedValue{w, int32(r)})
			}
		}
	}
	p.arrange(order)
	p.weights = make([]float64, len(order))
	for i, o := range order {
		p.weights[i] = o.Weight
	}
	p.mark()
	return p
}

func newPooled(replications int) *Pooled {
	n := BlocksOf(replications)
	return &Pooled{seen: replications, replications: n, counts: make([]int, n)}
}

// Len returns how many values were pooled.
func (p *Pooled) Len() int { return len(p.values) }

// Largest is the largest pooled value, without interval.
func (p *Pooled) Largest() Estimate { return Largest(p.values) }

type ownedValue struct {
	Weighted
	owner int32
}

// arrange sorts by value; equal values keep the order of their replications.
func (p *Pooled) arrange(order []ownedValue) {
	slices.SortStableFunc(order, func(a, b ownedValue) int { return cmp.Compare(a.Value, b.Value) })
	p.values = make([]float64, len(order))
	p.owners = make([]int32, len(order))
	for i, o := range order {
		p.values[i], p.owners[i] = o.Value, o.owner
	}
}

// mark writes the rows: row k holds the weight of each replication among the
// first k*stride pooled values, and the last row the weight of all.
func (p *Pooled) mark() {
	p.stride = max(strideLeast, len(p.values)/rowsMost)
	sums := make([]RunningSum, p.replications)
	p.marks = make([]float64, 0, (len(p.values)/p.stride+2)*p.replications)
	for i := range p.values {
		if i%p.stride == 0 {
			p.marks = appendSums(p.marks, sums)
		}
		sums[p.owners[i]].Add(p.weight(i))
	}
	p.marks = appendSums(p.marks, sums)
}

func appendSums(row []float64, sums []RunningSum) []float64 {
	for _, s := range sums {
		row = append(row, s.Value())
	}
	return row
}

func (p *Pooled) weight(i int) float64 {
	if p.weights == nil {
		return 1
	}
	return p.weights[i]
}

// rows is the number of rows of marks; row returns one of them.
func (p *Pooled) rows() int { return (len(p.values)+p.stride-1)/p.stride + 1 }

func (p *Pooled) row(k int) []float64 {
	return p.marks[k*p.replications : (k+1)*p.replications]
}

func total[T any](perReplication [][]T) int {
	n := 0
	for _, values := range perReplication {
		n += len(values)
	}
	return n
}
