package picture

import (
	"fmt"
	"slices"
	"strings"

	"halflight/results/phrase"
	"halflight/results/unit"
	"halflight/sim/record"
)

func lower(s string) string { return strings.ToLower(s) }

// month is a stretch of one replication.
type month struct {
	r    *record.Replication
	from int     // slot
	n    int     // slots
	lost float64 // s
}

// WorstMonth is the 30 days of all replications in which most was lost, hour by
// hour.
func WorstMonth(r *Result) Picture {
	p := Picture{ID: "worst-month", Title: "The worst month, hour by hour",
		Read: "Time runs down each column and then on to the next; the stronger a cell, the more lost seconds in it. Steps are factors of ten."}
	if !r.series() {
		p.Without, p.Command = noSeries, r.Made.Reproduce
		return p
	}
	m := r.worstMonth()
	s := &m.r.Series
	slot := float64(s.Slot) / 1e9
	wide := float64(s.Wide) * slot
	g := Grid{Unit: unit.Seconds, ColumnsAre: "from the warm-up on, each " + phrase.Words(wide, unit.Seconds)}
	for row := range s.Wide {
		g.Rows = append(g.Rows, phrase.Words(float64(row)*slot, unit.Seconds))
	}
	columns := (m.n + s.Wide - 1) / s.Wide
	for c := range columns {
		g.Columns = append(g.Columns, phrase.Words(float64(m.from)*slot+float64(c)*wide, unit.Seconds))
	}
	type hour struct {
		slot int
		lost float64
	}
	var hours []hour
	for row := range s.Wide {
		cells := make([]float64, columns)
		for c := range columns {
			k := c*s.Wide + row
			if cells[c] = -1; k < m.n {
				cells[c] = float64(s.Lost[m.from+k]) * slot
				hours = append(hours, hour{m.from + k, cells[c]})
			}
		}
		g.Cells = append(g.Cells, cells)
	}
	if s.Slot == 3600e9 && s.Wide == 24 {
		g.ColumnsAre = "day"
		for c := range g.Columns {
			g.Columns[c] = fmt.Sprint(m.from/s.Wide + c)
		}
		p.Read = "Each column is a day since the warm-up, each cell an hour from midnight down; the stronger, the more lost seconds in it. Steps are factors of ten."
	}
	p.Grids = []Grid{g}
	if length := float64(m.n) * slot; length < 0.99*monthNs/1e9 {
		p.Title = "The worst " + phrase.Words(length, unit.Seconds) + ", slot by slot"
	}
	if m.lost == 0 {
		p.Says = "Nothing was lost in any replication."
		return p
	}
	slices.SortStableFunc(hours, func(a, b hour) int {
		if a.lost > b.lost {
			return -1
		}
		return 1
	})
	most, n := 0.0, 0
	for ; n < len(hours) && most < 0.8*m.lost; n++ {
		most += hours[n].lost
	}
	p.Says = fmt.Sprintf("Of all %s measured the worst stretch of %s is in replication %d, from day %s: %s lost. %s of its %d slots of %s hold 80 %% of that, so %s.",
		unit.Count(len(r.Set.Replications), "replication"), phrase.Words(float64(m.n)*slot, unit.Seconds), m.r.Number,
		phrase.Words(float64(m.from)*slot/86400, unit.One), phrase.Words(m.lost, unit.Seconds), capital(figure(n)), m.n, phrase.Words(slot, unit.Seconds), concentrated(n, m.n))
	p.Table = r.behind(m)
	return p
}

func figure(n int) string { return fmt.Sprint(n) }

func concentrated(n, of int) string {
	switch {
	case n*20 <= of:
		return "it comes down to a few bad stretches: look at the faults behind it"
	case n*3 <= of:
		return "loss comes in stretches, not all the time"
	}
	return "loss is spread over all of it, as gray faults spread it"
}

// worstMonth finds the stretch of 30 days, or the whole window if it is shorter.
func (r *Result) worstMonth() month {
	best := month{lost: -1}
	for i := range r.Set.Replications {
		one := &r.Set.Replications[i]
		s := &one.Series
		n := min(len(s.Lost), int(int64(monthNs)/s.Slot))
		step := s.Wide
		if n < step {
			step = 1
		}
		for from := 0; from+n <= len(s.Lost); from += step {
			lost := 0.0
			for _, v := range s.Lost[from : from+n] {
				lost += float64(v)
			}
			if lost *= float64(s.Slot) / 1e9; lost > best.lost {
				best = month{one, from, n, lost}
			}
		}
	}
	return best
}

// behind lists the faults that began in a stretch and cost most.
func (r *Result) behind(m month) *Table {
	from := m.r.From + int64(m.from)*m.r.Series.Slot
	to := from + int64(m.n)*m.r.Series.Slot
	var list []*record.Fault
	for i := range m.r.Faults {
		if f := &m.r.Faults[i]; f.Onset >= from && f.Onset < to && f.LostSeconds > 0 {
			list = append(list, f)
		}
	}
	byLoss(list)
	t := &Table{Head: []string{"fault", "mode", "on", "day", "lost"}, Left: 3}
	for _, f := range list[:min(5, len(list))] {
		t.Rows = append(t.Rows, []string{fmt.Sprint(f.Index), r.Set.Header.Modes[f.Mode].Name, f.On,
			phrase.Words(float64(f.Onset-m.r.From)/dayNs, unit.One), phrase.Words(f.LostSeconds, unit.Seconds)})
	}
	return t
}

// byLoss sorts by lost seconds, most first.
func byLoss(list []*record.Fault) {
	slices.SortStableFunc(list, func(a, b *record.Fault) int {
		switch {
		case a.LostSeconds > b.LostSeconds:
			return -1
		case a.LostSeconds < b.LostSeconds:
			return 1
		}
		return 0
	})
}
