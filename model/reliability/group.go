package reliability

import "math"

// Group is a k-of-n system with repair: Need of Units must be up. Units keep failing while the system is down.
type Group struct {
	Units int
	Need  int     // 1 <= Need <= Units
	MTBF  float64 // mean up time of one unit, > 0, any one unit of time
	MTTR  float64 // mean hands-on repair of one unit, > 0, the same unit of time
	Crew  int     // repairs at once; 0 is unlimited
}

// GroupFigures are the long-run figures of a Group, times in the unit of its MTBF.
type GroupFigures struct {
	Unavailability    float64 // share of time the system is down; never 0
	LogUnavailability float64 // its natural logarithm, finite where the share is below the range of float64
	MTTF              float64 // mean time to system failure from all units up
	MeanUp            float64 // mean stretch up, from a repair of the system to its next failure
	MeanDown          float64 // mean stretch down
	Frequency         float64 // system failures per unit of time
}

// Figures solves the birth-death chain of the number of failed units: exponential lives and repairs. Without a limit on
// the crew all but MTTF hold for any law of repair with the same mean, since the units are then independent.
//
// Means of first passage are built up from positive terms only, so that nothing cancels and nothing underflows; means
// beyond 1e308 come out as +Inf.
func (g Group) Figures() GroupFigures {
	requireKofN(g.Units, g.Need)
	require(g.MTBF > 0 && g.MTTR > 0 && g.Crew >= 0, "a group needs an MTBF and an MTTR above 0 and a crew of at least 0")
	up, mttf := g.climb()
	down := g.descend()
	f := GroupFigures{MTTF: mttf, MeanUp: up.mean, MeanDown: down.mean}
	gap := down.log - up.log
	f.LogUnavailability = -math.Log1p(math.Exp(-gap))
	if gap < 0 {
		f.LogUnavailability = gap - math.Log1p(math.Exp(gap))
	}
	f.Unavailability, f.Frequency = down.mean/(up.mean+down.mean), 1/(up.mean+down.mean)
	if math.IsInf(up.mean+down.mean, 1) {
		f.Unavailability = max(math.Exp(f.LogUnavailability), math.SmallestNonzeroFloat64)
		f.Frequency = max(math.Exp(-max(up.log, down.log)), math.SmallestNonzeroFloat64)
	}
	return f
}

// failing is the rate from failed to failed+1 units.
func (g Group) failing(failed int) float64 { return float64(g.Units-failed) / g.MTBF }

// repairing is the rate from failed to failed-1 units.
func (g Group) repairing(failed int) float64 {
	if g.Crew > 0 {
		failed = min(failed, g.Crew)
	}
	return float64(failed) / g.MTTR
}

// passage is a mean time of first passage to the next state, and its logarithm for when it leaves the range of float64.
type passage struct{ mean, log float64 }

// next is the passage out of a state that is left forwards at one rate and backwards at another, p the passage from the
// state behind it: (1 + back p) / forth.
func (p passage) next(forth, back float64) passage {
	return passage{
		mean: (1 + float64(back*p.mean)) / forth,
		log:  logSum(0, math.Log(back)+p.log) - math.Log(forth),
	}
}

// logSum is log(exp(a) + exp(b)).
func logSum(a, b float64) float64 {
	return max(a, b) + math.Log1p(math.Exp(-math.Abs(a-b)))
}

// climb gives the passage from the last up state to the first down state, and the sum of the means over all up states:
// the MTTF from all up.
func (g Group) climb() (passage, float64) {
	p := passage{mean: 1 / g.failing(0), log: -math.Log(g.failing(0))}
	sum := p.mean
	for j := 1; j <= g.Units-g.Need; j++ {
		p = p.next(g.failing(j), g.repairing(j))
		sum += p.mean
	}
	return p, sum
}

// descend gives the passage from the first down state to the last up state.
func (g Group) descend() passage {
	p := passage{mean: 1 / g.repairing(g.Units), log: -math.Log(g.repairing(g.Units))}
	for j := g.Units - 1; j > g.Units-g.Need; j-- {
		p = p.next(g.repairing(j), g.failing(j))
	}
	return p
}
