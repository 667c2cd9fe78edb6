package objective

import (
	"halflight/scenarios/outline"
	"halflight/scenarios/unit"
)

// Burn is a window in which the burn of an error budget is looked at, and the rate that is too much.
type Burn struct {
	Window unit.Duration
	Rate   float64
}

// Burns reads the windows of an error budget, each a multiple of the shortest; nil if none are given.
func Burns(o *outline.Object) []Burn {
	items, path, given := o.Items("burn")
	if !given {
		return nil
	}
	list := []Burn{}
	for i, c := range items {
		e := o.Outline().Open(c, outline.Index(path, i))
		if e == nil {
			continue
		}
		e.Require("window", "rate")
		var window *unit.Duration
		var rate *float64
		e.Duration("window", &window, 60_000_000_000)
		e.Number("rate", &rate, unit.ParseNumber, 1e-6, 1e6)
		e.Done()
		if window != nil && rate != nil {
			list = append(list, Burn{*window, *rate})
		}
	}
	if !multiples(list) {
		o.Wrong("burn", "windows are different multiples of the shortest, up to 1000", "such as 1h, 6h and 3d")
	}
	return list
}

// multiples says whether windows are different multiples of the shortest.
func multiples(list []Burn) bool {
	if len(list) == 0 {
		return true
	}
	short, seen := list[0].Window, map[unit.Duration]bool{}
	for _, b := range list {
		short = min(short, b.Window)
	}
	for _, b := range list {
		if seen[b.Window] || b.Window%short != 0 || b.Window/short > 1000 {
			return false
		}
		seen[b.Window] = true
	}
	return true
}
