package web

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"halflight/results/phrase"
	"halflight/results/picture"
	"halflight/results/unit"
	"halflight/sim/record"
)

// faultsMost is how many faults a page lists: those that cost most.
const faultsMost = 10000

// faultData is the list of faults as the page's script reads it: a column each,
// numbers with three digits, words by their place in a list.
type faultData struct {
	Of          []string `json:"of"` // results
	Modes       []string `json:"modes"`
	Kinds       []string `json:"kinds"` // by mode
	Gray        []bool   `json:"gray"`  // by mode
	Instruments []string `json:"by"`
	Phases      []string `json:"phases"`
	Rows        [][]any  `json:"rows"` // see faultColumns
	All         int      `json:"all"`  // how many there are
}

// faultColumn is one column of the list: its head, and whether it is a figure.
type faultColumn struct {
	Head string `json:"head"`
	Form string `json:"form"` // form: how the script writes it
}

// faultColumns are the columns of the list in the order of a row's values.
var faultColumns = []faultColumn{
	{"result", "of"}, {"replication", "whole"}, {"fault", "whole"}, {"mode", "mode"}, {"on", "text"}, {"day", "day"}, {"lasted", "time"},
	{"in", "background"}, {"converged", "time"}, {"sighted", "time"}, {"by", "by"}, {"out of use", "time"}, {"lost", "time"}, {"most of it", "phase"},
}

var backgrounds = [...]string{"quiet", "noise", "own noise"}

// faultsOf lists the faults of all results, most lost first.
func faultsOf(list []*picture.Result) *faultData {
	d := &faultData{}
	type row struct {
		of, mode int
		number   uint32
		f        *record.Fault
	}
	var rows []row
	for i, r := range list {
		d.Of = append(d.Of, r.Name)
		base := len(d.Modes)
		for _, m := range r.Set.Header.Modes {
			d.Modes, d.Kinds, d.Gray = append(d.Modes, m.Name), append(d.Kinds, m.Kind), append(d.Gray, m.Gray)
		}
		d.Phases = r.Set.Header.Phases
		for k := range r.Set.Replications {
			one := &r.Set.Replications[k]
			for j := range one.Faults {
				rows = append(rows, row{i, base + int(one.Faults[j].Mode), one.Number, &one.Faults[j]})
			}
		}
	}
	d.All = len(rows)
	slices.SortStableFunc(rows, func(a, b row) int {
		switch {
		case a.f.LostSeconds > b.f.LostSeconds:
			return -1
		case a.f.LostSeconds < b.f.LostSeconds:
			return 1
		}
		return 0
	})
	for _, r := range rows[:min(faultsMost, len(rows))] {
		f := r.f
		lasted := any(nil)
		if f.End != record.None {
			lasted = short(float64(f.End-f.Onset) / 1e9)
		}
		d.Rows = append(d.Rows, []any{r.of, r.number, f.Index, r.mode, f.On, short(float64(f.Onset-list[r.of].Set.Study.WarmUp) / 86400e9), lasted,
			int(f.Background), ns(f.FullConvergence), ns(f.Sighted), d.instrument(f.SightedBy), ns(f.Mitigated), short(f.LostSeconds), most(f.Phases)})
	}
	return d
}

// instrument is the number of an instrument, nil for none.
func (d *faultData) instrument(name string) any {
	if name == "" {
		return nil
	}
	k := slices.Index(d.Instruments, name)
	if k < 0 {
		k, d.Instruments = len(d.Instruments), append(d.Instruments, name)
	}
	return k
}

// most is the number of the phase that cost most, nil for none.
func most(phases []float64) any {
	best := -1
	for p, v := range phases {
		if v > 0 && (best < 0 || v > phases[best]) {
			best = p
		}
	}
	if best < 0 {
		return nil
	}
	return best
}

// ns is a duration in s, nil for none.
func ns(t int64) any {
	if t == record.None {
		return nil
	}
	return short(float64(t) / 1e9)
}

// short is a number of three significant digits, as many as are shown.
func short(v float64) float64 { return rounded(v, 3) }

func rounded(v float64, digits int) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	s, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', digits, 64), 64)
	return s
}

// firstRows are the rows that stand on the page without its script.
func (d *faultData) firstRows(n int) (out [][]string) {
	for _, row := range d.Rows[:min(n, len(d.Rows))] {
		cells := make([]string, len(row))
		for c, v := range row {
			cells[c] = d.cell(c, v)
		}
		out = append(out, cells)
	}
	return out
}

func (d *faultData) cell(c int, v any) string {
	if v == nil {
		return "-"
	}
	switch faultColumns[c].Form {
	case "of":
		return d.Of[v.(int)]
	case "mode":
		return d.Modes[v.(int)]
	case "by":
		return d.Instruments[v.(int)]
	case "phase":
		return d.Phases[v.(int)]
	case "background":
		return backgrounds[v.(int)]
	case "day":
		return phrase.Words(v.(float64), unit.One)
	case "time":
		return phrase.Words(v.(float64), unit.Seconds)
	}
	return fmt.Sprint(v)
}
