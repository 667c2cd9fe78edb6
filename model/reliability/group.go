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
	up, mttf, logUp := g.climb()
	down := g.descend()
	f := GroupFigures{MTTF: mttf, MeanUp: up, MeanDown: down, Frequency: 1 / (up + down)}
	f.LogUnavailability = math.Log(down) - logUp - math.Log1p(math.Exp(math.Log(down)-logUp))
	f.Unavailability = down / (up + down)
	if math.IsInf(up, 1) {
		f.Unavailability = math.Max(math.Exp(f.LogUnavailability), math.SmallestNonzeroFloat64)
		f.Frequency = math.Max(math.Exp(-logUp), math.SmallestNonzeroFloat64)
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

// climb gives the mean time from the last up state to the first down state, its sum over all up states (MTTF from all
// up) and the logarithm of the former. h(j), the mean from j to j+1 failed, is (1 + repairing(j) h(j-1)) / failing(j).
func (g Group) climb() (last, sum, logLast float64) {
	last = 1 / g.failing(0)
	sum, logLast = last, math.Log(last)
	for j := 1; j <= g.Units-g.Need; j++ {
		r, f := g.repairing(j), g.failing(j)
		back := math.Log(r) + logLast
		logLast = back + math.Log1p(math.Exp(-back)) - math.Log(f)
		last = (1 + float64(r*last)) / f
		sum += last
	}
	return last, sum, logLast
}

// descend gives the mean time from the first down state to the last up state: d(j), the mean from j to j-1 failed, is
// (1 + failing(j) d(j+1)) / repairing(j).
func (g Group) descend() float64 {
	d := 1 / g.repairing(g.Units)
	for j := g.Units - 1; j > g.Units-g.Need; j-- {
		d = (1 + float64(g.failing(j)*d)) / g.repairing(j)
	}
	return d
}
