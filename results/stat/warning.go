package stat

import (
	"fmt"
	"math"
	"slices"
)

// Code names a kind of doubt. Codes are stable: scripts may look for them.
type Code string

const (
	FewEvents       Code = "few-events"       // rests on fewer than EventsLeast events
	OneReplication  Code = "one-replication"  // one replication holds more than a quarter
	ZeroSeen        Code = "zero-seen"        // nothing was seen; the figure is a bound, if any
	FewReplications Code = "few-replications" // rests on fewer than the first look
	NoSpread        Code = "no-spread"        // all replications agree to the last bit
	Overdispersed   Code = "overdispersed"    // counts vary more than a Poisson law allows
	FewBeyond       Code = "few-beyond"       // a quantile has fewer than BeyondLeast independent values beyond it
	Lopsided        Code = "lopsided"         // figures lean so far to one side that the t interval falls short
	Unpaired        Code = "unpaired"         // common draws did not help; compared as unrelated
)

// EventsLeast is the number of events below which a number says so. Our own
// choice: with 30 Poisson events a rate is known to about +-36 % at level 0.95.
const EventsLeast = 30

// Warning is a doubt about one number, with what would cure it.
type Warning struct {
	Code Code
	Text string
}

// WithEvents returns e with the warnings its events call for. The slice holds
// the number of events (at least 0) in each replication, empty ones included.
func (e Estimate) WithEvents(perReplication []int) Estimate {
	total, most := 0, 0
	for i, n := range perReplication {
		if n < 0 {
			panic(fmt.Sprintf("stat: replication %d has %d events", i, n))
		}
		total += n
		most = max(most, n)
	}
	if total == 0 {
		return e.With(zeroSeen(e))
	}
	if total < EventsLeast {
		e = e.With(fewEvents(total, len(perReplication)))
	}
	if 4*most > total {
		e = e.With(oneReplication(float64(most)/float64(total), len(perReplication), "events"))
	}
	return e
}

// WithShares returns e with a warning when one replication holds more than a
// quarter of an amount (lost seconds, say). Amounts are finite and at least 0.
func (e Estimate) WithShares(perReplication []float64) Estimate {
	mustFinite(perReplication)
	if len(perReplication) == 0 {
		return e
	}
	if least := slices.Min(perReplication); least < 0 {
		panic(fmt.Sprintf("stat: amount %v is below 0", least))
	}
	total, most := Sum(perReplication), slices.Max(perReplication)
	if most > total/4 {
		return e.With(oneReplication(most/total, len(perReplication), "amount"))
	}
	return e
}

// lopsidedFactor is Cochran's: for a mean to be near enough to normal, replications
// should be more than 25 times the squared skewness of the figures (Sampling
// Techniques, 3rd ed. 1977, 2.15).
const lopsidedFactor = 25

// WithSkew returns e, the mean of figures of which large ones are rare, with a
// warning when they lean so far to that side that its t interval falls short: then
// the truth lies above it more often than the level says.
func (e Estimate) WithSkew(perReplication []float64) Estimate {
	n := float64(len(perReplication))
	if len(perReplication) < 3 || allEqual(perReplication) {
		return e
	}
	middle := mean(perReplication)
	var squares, cubes RunningSum
	for _, v := range perReplication {
		d := v - middle
		squares.Add(float64(d * d))
		cubes.Add(float64(d * d * d))
	}
	skew := cubes.Value() / n / math.Pow(squares.Value()/n, 1.5)
	need := float64(lopsidedFactor * skew * skew)
	if skew <= 0 || n > need {
		return e
	}
	return e.With(Warning{Lopsided, fmt.Sprintf(
		"a few replications lie far above the others, so the truth lies above the interval more often than it should; about %.0f replications would cure it", max(math.Ceil(need), LookFirst))})
}

// fewEvents warns of n events seen in so many replications; 0: they are not known.
func fewEvents(n, replications int) Warning {
	times := float64(EventsLeast) / float64(n)
	cure := "the replications or the horizon"
	if r := float64(replications); r > 0 && r < LookFirst && times*r < LookFirst { // other doubts ask for so many
		cure = fmt.Sprintf("the horizon, or %d replications,", LookFirst)
	}
	return Warning{FewEvents, fmt.Sprintf(
		"rests on %s, fewer than %d; about %.2g times %s would give that many", plural(n, "event"), EventsLeast, times, cure)}
}

func oneReplication(share float64, n int, what string) Warning {
	cure := "more replications would spread them; if it stays so, rare large ones rule this number and only a much longer study will settle it"
	if n < LookFirst {
		cure = fmt.Sprintf("run at least %d", LookFirst)
	}
	return Warning{OneReplication, fmt.Sprintf(
		"one of %s holds %.0f %% of the %s, more than a quarter; %s", plural(n, "replication"), 100*share, what, cure)}
}

// zeroSeen words the warning by whether e could give a bound.
func zeroSeen(e Estimate) Warning {
	if e.Sides == UpperBound {
		return Warning{ZeroSeen, fmt.Sprintf(
			"none seen; the figure is a one-sided upper bound at %.4g %%, and ten times as much seen without one would lower it tenfold", 100*e.Level)}
	}
	return Warning{ZeroSeen, "none seen, which does not show that there are none; simulate longer, or script the event to learn its size"}
}

func fewReplications(n int) Warning {
	return Warning{FewReplications, fmt.Sprintf(
		"rests on %s, fewer than %d, and a lopsided spread would not show; run at least %d", plural(n, "replication"), LookFirst, LookFirst)}
}

func noSpread(n int) Warning {
	return Warning{NoSpread, fmt.Sprintf(
		"all %s agree exactly, so the interval has no width; if chance should move this number, simulate longer", plural(n, "replication"))}
}

// plural writes a number of things, with an s unless it is one.
func plural(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
