package contrast

import (
	"fmt"
	"math"

	"halflight/results"
	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/sim/record"
)

// BreakEven is how soon replicas must move for servers with one attachment to
// lose no more than servers with two: all that either side lost, second for second,
// replication by replication.
type BreakEven struct {
	One, Two string  // the sides
	Share    float64 // of what a group does, that moves
	// Within is that time and its interval, s: +Inf if nothing need ever move, 0 if
	// moving at once would not do.
	Within, Low, High float64
	Known             bool // there is an interval
}

// BreakEven compares the first side with side i, if one of them follows servers
// with one attachment, the other with two. Moving feeds nothing back, so that what
// one attachment would have lost with any other time is known from how long each
// group of servers was cut off: exactly, but for pairs of which both ends were,
// which count twice.
func (c *Contrast) BreakEven(i int) (BreakEven, bool) {
	one, two := &c.Sides[0], &c.Sides[i]
	a, b := one.Set.Header.Servers, two.Set.Header.Servers
	if a == nil || b == nil || a.Attachments == b.Attachments {
		return BreakEven{}, false
	}
	if a.Attachments == 2 {
		one, two, a = two, one, b
	}
	out := BreakEven{One: one.Name, Two: two.Name, Share: a.MovesShare}
	if out.Share == 0 {
		out.Share = 1
	}
	longest := 0.0
	for k := range one.Set.Replications {
		for _, cut := range one.Set.Replications[k].Servers.Cutoffs {
			longest = max(longest, float64(cut.To-cut.From)/1e9)
		}
	}
	fixed := make([]float64, len(two.Set.Replications))
	for k := range fixed {
		fixed[k] = lostOf(&two.Set.Replications[k])
	}
	at := func(within float64) stat.Estimate {
		moved := make([]float64, len(one.Set.Replications))
		for k := range moved {
			moved[k] = movedLoss(&one.Set.Replications[k], a, out.Share, within)
		}
		if c.Common {
			return stat.Paired(moved, fixed, c.Level).Difference
		}
		return stat.Welch(moved, fixed, c.Level).Difference
	}
	out.Within = crossing(longest, func(x float64) float64 { return at(x).Value })
	if out.Known = at(longest).Available(); out.Known {
		out.Low = crossing(longest, func(x float64) float64 { return at(x).High })
		out.High = crossing(longest, func(x float64) float64 { return at(x).Low })
	}
	return out, true
}

// crossing is where a rising function of a time passes 0, by halving: 0 if it is
// above 0 everywhere, +Inf if nowhere up to the longest time that matters.
func crossing(longest float64, f func(float64) float64) float64 {
	switch {
	case f(longest) <= 0:
		return math.Inf(1)
	case f(0) > 0:
		return 0
	}
	low, high := 0.0, longest
	for range 60 {
		if mid := (low + high) / 2; f(mid) > 0 {
			high = mid
		} else {
			low = mid
		}
	}
	return low
}

// lostOf is all that a replication lost, in seconds of all demand.
func lostOf(r *record.Replication) (sum float64) {
	for _, row := range r.LostSeconds {
		for _, v := range row {
			sum += v
		}
	}
	return sum
}

// movedLoss is the same if a share of what servers did that were cut off had moved
// within a time in s. A group is at one end of 2 in so many groups of all pairs.
func movedLoss(r *record.Replication, h *record.ServersOf, share, within float64) float64 {
	sum := lostOf(r)
	for i := range r.Servers.Cutoffs {
		cut := &r.Servers.Cutoffs[i]
		length, since := float64(results.InWindow(r, cut))/1e9, float64(cut.To-cut.From)/1e9
		was := left(length, since, h.MovesShare, float64(h.MovesWithin)/1e9)
		sum += (left(length, since, share, within) - was) * 2 * float64(cut.Groups) / float64(h.Groups)
	}
	return sum
}

// left is what is lost of the last length of a time cut off, since so long in all,
// when a share moves within another.
func left(length, since, share, within float64) float64 {
	return length - share*min(length, max(0, since-within))
}

// Sentence says it in words.
func (b *BreakEven) Sentence(level float64) string {
	text := fmt.Sprintf("Servers with one attachment (%s) lose no more than with two (%s)", b.One, b.Two)
	share := ""
	if b.Share < 1 {
		share = fmt.Sprintf(" to %s of their work", unit.Words(b.Share, unit.Share))
	}
	switch {
	case math.IsInf(b.Within, 1):
		text += " even if nothing that they do ever moves"
	case b.Within == 0:
		return fmt.Sprintf("No speed of moving replicas%s makes servers with one attachment (%s) lose as little as with two (%s) does.", share, b.One, b.Two) + b.interval(level)
	default:
		text += fmt.Sprintf(" if replicas move within %s", unit.Words(b.Within, unit.Seconds))
		if share != "" {
			text += " (" + share[4:] + ")"
		}
	}
	return text + "." + b.interval(level)
}

func (b *BreakEven) interval(level float64) string {
	if !b.Known {
		return " Too few replications for an interval."
	}
	end := func(v float64) string {
		if math.IsInf(v, 1) {
			return "never at all"
		}
		return unit.Words(v, unit.Seconds)
	}
	return fmt.Sprintf(" The interval at %.4g %% is from %s to %s.", 100*level, end(b.Low), end(b.High))
}
