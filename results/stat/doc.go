// Package stat turns numbers into estimates: a value, an interval that says how
// far chance may have moved it, and warnings that say what would cure a doubt.
//
// It knows only numbers. It may not know scenarios, faults, records, files or
// units of time, imports nothing of ours, and takes quantiles of the t,
// chi-square, beta and normal laws from gonum's distuv. Every function is pure:
// the same input gives the same bits, the bootstrap included, whose draws are a
// function of the seed it is given.
//
// Which interval for what:
//
//	mean of one figure per replication      Mean, MeanBounded  (Student t)
//	share of independent trials             Proportion         (Clopper-Pearson)
//	number or rate of events                Count, Rate, RateOver  (exact Poisson)
//	mean time between failures              MTBF               (chi-square)
//	quantile of independent values          Quantile           (order statistics)
//	quantile of faults, pooled              Pooled.Quantile    (bootstrap by replication)
//	quantile of a state over time, pooled   Pooled.Quantile after PoolWeighted
//	largest value                           Largest            (none, on purpose)
//	two scenarios, same draws               Paired             (falls back to Welch)
//	two scenarios, unrelated                Welch
//
// A level is the probability with which the interval covers the truth, strictly
// between 0 and 1; two-sided intervals leave half of the rest on each side, and
// an upper or lower bound leaves all of it on its one side.
//
// Numbers that no replication can give (NaN, infinities, negative counts) are a
// mistake of ours and panic; too little data is none, and gives an Estimate
// without interval whose Reason says what is missing.
//
// Tested against tables of R 4.2.2 and scipy (testdata, source beside each
// number), by exact enumeration of the coverage of the discrete intervals, by
// simulation of the coverage of the others, and against plain twins.
package stat
