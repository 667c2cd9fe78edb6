package results

import (
	"fmt"
	"slices"

	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/sim/record"
)

// burnt adds how fast the error budget of a class went, window by window.
func (b *summary) burnt(class int, name string) {
	hurt := total(b.hurt)
	for i, w := range b.header.Classes[class].Windows {
		if !b.kept(class) {
			return
		}
		of := func(figure func(o *record.Burn) float64) []float64 {
			return b.each(func(r *record.Replication) float64 { return figure(&r.Applications[class].Burn[i]) })
		}
		long := slices.Contains(of(func(o *record.Burn) float64 { return o.Most }), record.None)
		tooLong := stat.Estimate{Reason: "not available: the window is longer than what was measured"}
		rate := func(name string, figure func(o *record.Burn) float64) {
			if long {
				b.add(name, unit.One, tooLong, hurt)
				return
			}
			b.add(name, unit.One, extreme(of(figure), 1), hurt)
		}
		time := func(name string, most float64, figure func(o *record.Burn) float64) {
			if long {
				b.add(name, unit.HPerMonth, tooLong, hurt)
				return
			}
			each := of(figure)
			b.addMean(name, unit.HPerMonth, b.amount(each, most, b.hurt), hurt, each)
		}
		hours := func(ns int64) float64 { return float64(ns) / 3600e9 / b.months }
		const most = month / 3600e9
		at := name + w.Name
		time(at+".above", most, func(o *record.Burn) float64 { return hours(o.Above) })
		rate(at+".max", func(o *record.Burn) float64 { return o.Most })
		time(at+".leaf.above", most*float64(b.header.Leaves), func(o *record.Burn) float64 { return hours(o.LeafAbove) })
		rate(at+".leaf.max", func(o *record.Burn) float64 { return o.MostLeaf })
	}
}

// kept reports whether all replications kept the windows of a class: sketches do
// not, nor did programs before there were any.
func (b *summary) kept(class int) bool {
	for i := range b.set.Replications {
		if len(b.set.Replications[i].Applications[class].Burn) == 0 {
			return false
		}
	}
	return true
}

// late adds how late units are that are: what share by so much or more, and the
// delay of one of them, followed as far as the class says.
func (b *summary) late(class int, name string) {
	delays := b.header.Classes[class].Delays
	if len(delays) == 0 {
		return
	}
	hurt := total(b.hurt)
	shares := make([]float64, len(delays))
	for k, at := range delays {
		each := b.each(func(r *record.Replication) float64 { return r.Applications[class].Late[k] })
		shares[k] = stat.Mean(each, b.o.Level).Value
		b.addMean(name+".late."+DelayName(at), unit.One, b.amount(each, 1, b.hurt), hurt, each)
	}
	mean := b.each(func(r *record.Replication) float64 { return meanDelay(r.Applications[class].Late, delays) })
	b.addMean(name+".delay.mean", unit.Seconds, b.amount(mean, float64(delays[len(delays)-1])/1e9, b.hurt), hurt, mean)
	for _, q := range quantiles {
		b.add(name+".delay."+q.name, unit.Seconds, delayAt(shares, delays, q.at), hurt)
	}
}

// DelayName is how a delay, ns, is written in the name of a measure. A scenario of
// which two would have one name is refused.
func DelayName(at int64) string { return fmt.Sprintf("%dms", (at+500_000)/1_000_000) }

// meanDelay is the mean delay, s, of a unit that is late, with the shares that are
// late by so much or more; what is later than the last counts as late by that.
func meanDelay(late []float64, delays []int64) float64 {
	if late[0] == 0 {
		return 0
	}
	sum, before := 0.0, int64(0)
	for k, at := range delays {
		sum += late[k] * float64(at-before)
		before = at
	}
	return sum / late[0] / 1e9
}

// delayAt is a quantile of the delay of a unit that is late: delays are whole
// numbers of time-outs.
func delayAt(late []float64, delays []int64, at float64) stat.Estimate {
	if len(late) == 0 || late[0] == 0 {
		return stat.Estimate{Reason: "no event"}
	}
	for k := range delays {
		later := 0.0
		if k+1 < len(late) {
			later = late[k+1]
		} else if late[k] > late[0]*(1-at) {
			return stat.Estimate{Reason: fmt.Sprintf("not available: %.3g of the late are so by %.3g s or more, the last that was followed; more time_outs would tell", late[k]/late[0], float64(delays[k])/1e9)}
		}
		if later <= late[0]*(1-at) {
			return stat.Estimate{Value: float64(delays[k]) / 1e9, Known: true, Reason: "from the mean shares"}
		}
	}
	panic("results: the last delay was not the last")
}
