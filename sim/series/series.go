// Package series keeps how the measured window of a replication went: the lost
// share, gray faults, back-off states, in slots of equal width.
//
// What stands still costs nothing: amounts are spread over slots when they
// change, and routers are asked at the end of a wide slot only. It does not know
// what it counts. It is tested by hand.
package series

import (
	"math"

	"halflight/sim/record"
)

// slotsMost is how many slots the measured window has at most, wideSlots how many
// of them make a wide one: with 90 d an hour and a day.
const (
	slotsMost = 2200
	wideSlots = 24
)

// slotWidths are the widths that a slot may have, in s, so that a slot means
// something to a reader.
var slotWidths = []int64{1, 5, 10, 30, 60, 300, 600, 1800, 3600, 7200, 14400, 28800, 43200, 86400, 172800, 432000, 864000}

// slotWidth is the least width that cuts a window into at most slotsMost.
func slotWidth(window int64) int64 {
	for _, s := range slotWidths {
		if ns := s * 1e9; (window+ns-1)/ns <= slotsMost {
			return ns
		}
	}
	return (window + slotsMost - 1) / slotsMost
}

// Book keeps one replication.
type Book struct {
	from, until, slot int64
	at                int64     // amounts are kept up to here
	gray, unseen      int64     // gray faults since
	lost              []float64 // by slot: share x ns
	grays, unseens    []float64 // by wide slot: faults x ns
	states            [][]float64
	asked             int64 // when routers were asked last
	Next              int64 // when the routers are to be asked next
	totals            []float64
}

// Totals is the time that all routers together spent in each back-off state up to
// a time, ns.
type Totals func(now int64) []float64

// New returns the book of a window.
func New(from, until int64) Book {
	var s Book
	s.from, s.until, s.at = from, until, from
	s.slot = slotWidth(until - from)
	n := int((until - from + s.slot - 1) / s.slot)
	wide := (n + wideSlots - 1) / wideSlots
	s.lost, s.grays, s.unseens = make([]float64, n), make([]float64, wide), make([]float64, wide)
	s.Next = math.MaxInt64
	return s
}

// Lost says that a share of all traffic was lost over [from, to). An end before
// the begin takes that back again, so that times may be told in any order.
func (s *Book) Lost(share float64, from, to int64) {
	if from > to {
		from, to, share = to, from, -share
	}
	from, to = max(from, s.from), min(to, s.until)
	if from < to {
		spread(s.lost, s.slot, from-s.from, to-s.from, share)
	}
}

// Count says that so many more gray faults are present, and unseen, from now on.
func (s *Book) Count(now, present, unseen int64) {
	s.keep(now)
	s.gray, s.unseen = s.gray+present, s.unseen+unseen
}

// keep brings the amounts up to now.
func (s *Book) keep(now int64) {
	now = min(now, s.until)
	if now <= s.at {
		return
	}
	if s.gray != 0 {
		spread(s.grays, s.slot*wideSlots, s.at-s.from, now-s.from, float64(s.gray))
		spread(s.unseens, s.slot*wideSlots, s.at-s.from, now-s.from, float64(s.unseen))
	}
	s.at = now
}

// spread adds an amount that stood from one time to another to the slots between.
func spread(to []float64, width, from, until int64, amount float64) {
	if amount == 0 {
		return
	}
	for from < until {
		k := from / width
		end := min(until, (k+1)*width)
		to[k] += float64(amount * float64(end-from))
		from = end
	}
}

// Open begins the window.
func (s *Book) Open(totals Totals) {
	s.asked, s.Next = s.from, s.from+s.slot*wideSlots
	s.totals = totals(s.from)
}

// Pass asks the routers at the end of each wide slot up to a time; nothing is due
// before it.
func (s *Book) Pass(totals Totals, to int64) {
	for s.Next <= to {
		s.ask(totals, s.Next)
		s.Next += s.slot * wideSlots
	}
}

// ask books the share of router time in each state since the routers were asked
// last.
func (s *Book) ask(from Totals, now int64) {
	totals := from(now)
	sum := 0.0
	for i := range totals {
		sum += totals[i] - s.totals[i]
	}
	row := make([]float64, len(totals))
	for i := range totals {
		if sum > 0 {
			row[i] = (totals[i] - s.totals[i]) / sum
		}
	}
	s.states, s.totals, s.asked = append(s.states, row), totals, now
}

// Record writes the series down, at the horizon.
func (s *Book) Record(totals Totals, states int) record.Series {
	s.keep(s.until)
	if s.asked < s.until {
		s.ask(totals, s.until)
	}
	out := record.Series{Slot: s.slot, Wide: wideSlots, Lost: means(s.lost, s.slot, s.until-s.from),
		Gray: means(s.grays, s.slot*wideSlots, s.until-s.from), Unseen: means(s.unseens, s.slot*wideSlots, s.until-s.from)}
	for i := range states {
		row := make([]float32, len(s.states))
		for k := range row {
			row[k] = float32(s.states[k][i])
		}
		out.States = append(out.States, row)
	}
	return out
}

// means divides by the widths of the slots, of which the last may be cut short.
func means(sums []float64, width, window int64) []float32 {
	out := make([]float32, len(sums))
	for k, v := range sums {
		if v < 1 { // what was told and taken back leaves rounding behind: less than a ns
			continue
		}
		out[k] = float32(v / float64(min(width, window-int64(k)*width)))
	}
	return out
}
