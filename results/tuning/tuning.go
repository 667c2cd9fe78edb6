// Package tuning searches settings: a start that fills their ranges in proportion,
// a race in which bad candidates die early, and a local search from the best.
//
// It knows numbers only. What a candidate costs comes from a function it is
// given, block by block: a block is one replication, the same for all candidates,
// so that costs are compared pair by pair. It is tested on problems whose best is
// known, the closed forms of back-off under Poisson events among them, and on
// ones where all settings are equal.
package tuning

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/optimize"

	"halflight/results/stat"
)

// Knob is one setting that is searched, in proportion: 0 < Low <= High.
type Knob struct {
	Low, High float64
	Now       float64 // the present value, which may lie outside
}

// Job is one point to be played on one block.
type Job struct {
	Point []float64 // values of the knobs
	Block int
}

// Outcome is what a point costs on a block. Lower is better; the scale is that of
// the caller and the same for all points.
type Outcome struct {
	Cost float64
	Load float64 // what has a limit
}

// Problem is what to search.
type Problem struct {
	Knobs  []Knob
	Blocks int     // how many there are, cheap ones first
	Looks  []int   // after how many blocks the local search looks whether to go on; rising, the last at most Blocks: only the best of a walk meets what is dearer
	Limit  float64 // greatest load allowed; +Inf: none
	Start  int     // candidates that start, beside the present setting
	Local  int     // evaluations of the local search; 0: none
	Seed   uint64
	// Evaluate plays jobs; outcomes come in their order. An error ends the search.
	Evaluate func([]Job) ([]Outcome, error)
	// Told is called with what was done so far; may be nil.
	Told func(stage string, candidates int)
}

// Candidate is one point and what came of it.
type Candidate struct {
	Point []float64
	Costs []float64 // by block, as far as it was played
	Load  float64   // the greatest
}

// Mean is the mean cost over the blocks played.
func (c *Candidate) Mean() float64 { return stat.Sum(c.Costs) / float64(len(c.Costs)) }

// Result is the end of a search. Candidates hold the present setting first, then
// those of the start and of the local search in order.
type Result struct {
	Candidates []*Candidate
	Best       int   // of Candidates; 0: nothing is better than the present setting
	Alive      []int // candidates in the race at each block
	Local      int   // evaluations of the local search
}

// aliveLeast is how many candidates the race keeps to the end. With the present
// setting they are an even number, since two processors play them.
const aliveLeast = 3

// dieAt is the one-sided level at which a candidate is worse than the leader in
// the race; no proof is asked for, since winners are played again.
const dieAt = 0.05

// keepShare is the share of candidates that each block leaves alive at most.
const keepShare = 0.7

// search is one under way.
type search struct {
	*Problem
	out Result
}

// Search looks for the point of least mean cost over all blocks with a load of at
// most Limit. Same problem, same result.
func Search(p *Problem) (*Result, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	s := &search{Problem: p}
	s.begin()
	if err := s.race(); err != nil {
		return nil, err
	}
	s.choose()
	if p.Local > 0 {
		if err := s.local(); err != nil {
			return nil, err
		}
		s.choose()
	}
	return &s.out, nil
}

func (p *Problem) check() error {
	for i, k := range p.Knobs {
		if !(k.Low > 0 && k.High >= k.Low && k.Now >= 0) {
			return fmt.Errorf("knob %d: %v to %v, now %v: not from above 0 up", i, k.Low, k.High, k.Now)
		}
	}
	if len(p.Knobs) == 0 || p.Blocks < 1 || p.Start < 1 || len(p.Looks) == 0 {
		return errors.New("a search needs a knob, a block, a candidate and a look")
	}
	for i, n := range p.Looks {
		if n < 1 || n > p.Blocks || i > 0 && n <= p.Looks[i-1] {
			return fmt.Errorf("looks at %v of %d blocks", p.Looks, p.Blocks)
		}
	}
	return nil
}

// begin makes the present setting and the start.
func (s *search) begin() {
	now := make([]float64, len(s.Knobs))
	for i, k := range s.Knobs {
		now[i] = k.Now
	}
	s.out.Candidates = []*Candidate{{Point: now}}
	for _, u := range stat.LatinHypercube(s.Start, len(s.Knobs), s.Seed) {
		s.out.Candidates = append(s.out.Candidates, &Candidate{Point: s.at(u)})
	}
}

// at turns a place in the unit cube into values.
func (p *Problem) at(u []float64) []float64 {
	point := make([]float64, len(u))
	for i, k := range p.Knobs {
		point[i] = k.Low * math.Pow(k.High/k.Low, min(max(u[i], 0), 1))
	}
	return point
}

// place is the inverse; a value outside its range is put to the end.
func (p *Problem) place(point []float64) []float64 {
	u := make([]float64, len(point))
	for i, k := range p.Knobs {
		if k.High > k.Low && point[i] > 0 {
			u[i] = min(max(math.Log(point[i]/k.Low)/math.Log(k.High/k.Low), 0), 1)
		}
	}
	return u
}

// play plays candidates on blocks from what they have had up to but without one.
func (s *search) play(list []*Candidate, upTo int) error {
	var jobs []Job
	for _, c := range list {
		for b := len(c.Costs); b < upTo; b++ {
			jobs = append(jobs, Job{c.Point, b})
		}
	}
	if len(jobs) == 0 {
		return nil
	}
	outcomes, err := s.Evaluate(jobs)
	if err != nil {
		return err
	}
	i := 0
	for _, c := range list {
		for len(c.Costs) < upTo {
			c.Costs, c.Load = append(c.Costs, outcomes[i].Cost), max(c.Load, outcomes[i].Load)
			i++
		}
	}
	return nil
}

// race plays block after block and drops whoever is over the limit, worse than
// the leader, or behind more than may go on.
func (s *search) race() error {
	alive := slices.Clone(s.out.Candidates)
	for b := range s.Blocks {
		s.told("race", len(alive))
		s.out.Alive = append(s.out.Alive, len(alive))
		if err := s.play(alive, b+1); err != nil {
			return err
		}
		alive = s.survivors(alive, b+1)
	}
	return nil
}

func (s *search) told(stage string, n int) {
	if s.Told != nil {
		s.Told(stage, n)
	}
}

// survivors go on to the next block; the present setting always does.
func (s *search) survivors(alive []*Candidate, blocks int) []*Candidate {
	present := s.out.Candidates[0]
	var fit []*Candidate
	for _, c := range alive {
		if c != present && c.Load <= s.Limit {
			fit = append(fit, c)
		}
	}
	slices.SortStableFunc(fit, func(a, b *Candidate) int { return cmp.Compare(a.Mean(), b.Mean()) })
	keep := max(aliveLeast, int(float64(s.Start)*math.Pow(keepShare, float64(blocks))))
	if len(fit) > keep {
		fit = fit[:keep]
	}
	out := []*Candidate{present}
	for i, c := range fit {
		if i == 0 || !worse(c, fit[0]) {
			out = append(out, c)
		}
	}
	return out
}

// worse says that a candidate is worse than another over the blocks that both
// have had, by a paired one-sided test.
func worse(c, than *Candidate) bool {
	n := min(len(c.Costs), len(than.Costs))
	if n < 3 {
		return false
	}
	d := stat.Paired(c.Costs[:n], than.Costs[:n], 1-2*dieAt)
	return d.Difference.Sides == stat.TwoSided && d.Difference.Low > 0
}

// choose finds the best of those that had all blocks: the present setting unless
// another is within the limit and better. A tie goes to the present setting.
func (s *search) choose() {
	s.out.Best = 0
	least := s.out.Candidates[0].Mean()
	if s.out.Candidates[0].Load > s.Limit {
		least = math.Inf(1)
	}
	for i, c := range s.out.Candidates {
		if len(c.Costs) == s.Blocks && c.Load <= s.Limit && c.Mean() < least {
			s.out.Best, least = i, c.Mean()
		}
	}
}

// overLimit is what a load above the limit costs in the local search, by the
// logarithm of how far it is above: so much that no cost makes up for it.
const overLimit = 100

// local walks down from the best candidate by Nelder and Mead's method, in the
// logarithms of the knobs. Places outside the ranges are put to their ends. What it
// tries is compared over the blocks up to the last look; the best of a walk is then
// played on all.
func (s *search) local() error {
	var failed error
	value := func(u []float64) float64 {
		if failed != nil {
			return math.Inf(1)
		}
		s.told("local", s.out.Local)
		c := &Candidate{Point: s.at(u)}
		var cost float64
		if cost, failed = s.try(c); failed != nil {
			return math.Inf(1)
		}
		s.out.Candidates = append(s.out.Candidates, c)
		s.out.Local++
		if c.Load > s.Limit {
			cost += overLimit * (1 + math.Log(c.Load/s.Limit))
		}
		for i := range u { // a way back for what left the cube
			outside := max(0, -u[i], u[i]-1)
			cost += outside * outside
		}
		return cost
	}
	problem := optimize.Problem{Func: value, Status: func() (optimize.Status, error) {
		if failed != nil {
			return optimize.Failure, failed
		}
		return optimize.NotTerminated, nil
	}}
	// A simplex shrinks in every direction it cannot go; begun anew from the best it
	// has another chance.
	for size := simplexSize; s.out.Local < s.Local; size /= 2 {
		before := s.out.Local
		settings := &optimize.Settings{FuncEvaluations: s.Local - s.out.Local, Concurrent: 1,
			Converger: &optimize.FunctionConverge{Relative: 1e-10, Absolute: 1e-12, Iterations: 20 * len(s.Knobs)}}
		_, err := optimize.Minimize(problem, s.place(s.out.Candidates[s.out.Best].Point), settings, &optimize.NelderMead{SimplexSize: size})
		if failed != nil {
			return failed
		}
		if err != nil && s.out.Local == before {
			return fmt.Errorf("local search: %w", err)
		}
		best := s.out.Best
		if err := s.finish(s.out.Candidates[len(s.out.Candidates)-(s.out.Local-before):]); err != nil {
			return err
		}
		s.choose()
		if best == s.out.Best && size < simplexSize/8 {
			break
		}
	}
	return nil
}

// try plays a candidate of the local search from look to look, until it is worse
// than the best there, beyond doubt at the first look; then its cost is that of the
// best and the difference over the blocks that were played.
func (s *search) try(c *Candidate) (cost float64, err error) {
	best := s.out.Candidates[s.out.Best]
	for i, upTo := range s.Looks {
		if err := s.play([]*Candidate{c}, upTo); err != nil {
			return 0, err
		}
		if c.Load > s.Limit || i > 0 && c.Mean() >= over(best, upTo) || worse(c, best) {
			break
		}
	}
	return best.Mean() + c.Mean() - over(best, len(c.Costs)), nil
}

// over is the mean cost of a candidate over its first blocks.
func over(c *Candidate, blocks int) float64 { return stat.Sum(c.Costs[:blocks]) / float64(blocks) }

// finish plays the best of what a walk tried on all blocks, as long as it is better
// than the best so far.
func (s *search) finish(tried []*Candidate) error {
	last := s.Looks[len(s.Looks)-1]
	best := s.out.Candidates[s.out.Best]
	var first *Candidate
	least := over(best, last)
	for _, c := range tried {
		if len(c.Costs) >= last && c.Load <= s.Limit && over(c, last) < least {
			first, least = c, over(c, last)
		}
	}
	if first == nil {
		return nil
	}
	for n := last; n < s.Blocks && first.Load <= s.Limit && first.Mean() < over(best, n); {
		n = min(n+atATime, s.Blocks)
		if err := s.play([]*Candidate{first}, n); err != nil {
			return err
		}
	}
	return nil
}

// atATime is how many blocks one candidate plays at a time, since two processors play
// them.
const atATime = 2

// simplexSize is that of the first simplex, of the width of the ranges.
const simplexSize = 0.1
