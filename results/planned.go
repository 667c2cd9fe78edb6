package results

import (
	"math"

	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/sim/record"
)

// planned adds what planned work did, if there was any.
func (b *summary) planned() {
	did := func(what string) bool {
		for _, m := range b.header.Modes {
			if m.Kind == what {
				return true
			}
		}
		return false
	}
	of := func(figure func(p *record.Planned) float64) []float64 {
		return b.each(func(r *record.Replication) float64 {
			if r.Planned == nil {
				return 0
			}
			return figure(r.Planned)
		})
	}
	counts := func(figure func(p *record.Planned) int64) []int {
		list := make([]int, len(b.set.Replications))
		for i, v := range of(func(p *record.Planned) float64 { return float64(figure(p)) }) {
			list[i] = int(v)
		}
		return list
	}
	if did("upgrade") {
		boxes := counts(func(p *record.Planned) int64 { return p.Boxes })
		b.addRate("upgrades.boxes", boxes)
		left := of(func(p *record.Planned) float64 { return float64(p.Left) })
		b.addMean("upgrades.left", unit.One, stat.Mean(left, b.o.Level).Within(0, math.Inf(1)), NoEvents, left)
		nights := of(func(p *record.Planned) float64 { return shareOf(float64(p.Nights), float64(p.Campaigns)) })
		b.addMean("upgrades.nights", unit.One, stat.Mean(nights, b.o.Level).Within(0, math.Inf(1)), total(boxes), nights)
		hours := of(func(p *record.Planned) float64 { return float64(p.Exposed) / 3600e9 / b.months })
		b.addMean("upgrades.exposure", unit.HPerMonth, b.amount(append([]float64(nil), hours...), month/3600e9, boxes), total(boxes), hours)
		b.add("upgrades.capacity.worst", unit.Share, extreme(of(func(p *record.Planned) float64 { return p.CapacityWorst }), -1), NoEvents)
	}
	if did("change") {
		b.addRate("changes", counts(func(p *record.Planned) int64 { return p.Changes }))
	}
}
