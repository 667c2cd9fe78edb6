package tuning

import (
	"cmp"
	"math"
	"slices"

	"halflight/results/stat"
)

// Step is how the cost changes when one knob is moved and the rest stay.
type Step struct {
	Knob   int
	Point  []float64
	Change stat.Comparison // cost there less cost of the best, over blocks
	Load   float64
}

// Flatness moves every knob of a point down and up by a factor, within its range,
// and compares costs over the first blocks: how flat the optimum is. costs are
// those of the point.
func Flatness(p *Problem, point, costs []float64, factor float64, blocks int) ([]Step, error) {
	var steps []Step
	var list []*Candidate
	for i, k := range p.Knobs {
		for _, f := range []float64{1 / factor, factor} {
			moved := slices.Clone(point)
			moved[i] = min(max(point[i]*f, k.Low), k.High)
			if moved[i] == point[i] {
				continue
			}
			c := &Candidate{Point: moved}
			list = append(list, c)
			steps = append(steps, Step{Knob: i, Point: moved})
		}
	}
	s := &search{Problem: p}
	if err := s.play(list, blocks); err != nil {
		return nil, err
	}
	for i, c := range list {
		steps[i].Change, steps[i].Load = stat.Paired(c.Costs, costs[:blocks], 0.95), c.Load
	}
	return steps, nil
}

// Front picks at most most candidates that no other beats in both cost and load,
// spread over the loads, lightest first. Costs are means over at least least
// blocks.
func Front(list []*Candidate, least, most int) []*Candidate {
	var all []*Candidate
	for _, c := range list {
		if len(c.Costs) >= least {
			all = append(all, c)
		}
	}
	slices.SortStableFunc(all, func(a, b *Candidate) int {
		return cmp.Or(cmp.Compare(a.Load, b.Load), cmp.Compare(a.Mean(), b.Mean()))
	})
	var front []*Candidate
	best := math.Inf(1)
	for _, c := range all {
		if m := c.Mean(); m < best {
			front, best = append(front, c), m
		}
	}
	if len(front) <= most {
		return front
	}
	var picked []*Candidate
	for k := range most {
		picked = append(picked, front[k*(len(front)-1)/(most-1)])
	}
	return slices.Compact(picked)
}
