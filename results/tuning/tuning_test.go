package tuning

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"halflight/model/reliability"
	"halflight/sim/record"
)

// each makes an Evaluate of a function of a point and a block.
func each(of func(point []float64, block int) Outcome) func([]Job) ([]Outcome, error) {
	return func(jobs []Job) ([]Outcome, error) {
		out := make([]Outcome, len(jobs))
		for i, j := range jobs {
			out[i] = of(j.Point, j.Block)
		}
		return out, nil
	}
}

// noise is a fixed normal figure of a block and a point; without a point it is
// what all candidates share.
func noise(block int, point []float64) float64 {
	h := uint64(block) + 1
	for _, v := range point {
		h = h*0x9e3779b97f4a7c15 + math.Float64bits(v)
	}
	return rand.New(rand.NewPCG(h, 99)).NormFloat64()
}

// A bowl in the logarithms of four knobs, in noise that all candidates share and a
// little of their own: the search finds its bottom.
func TestKnownBest(t *testing.T) {
	best := []float64{0.03, 0.4, 7, 20}
	knobs := []Knob{{0.005, 1, 0.5}, {0.02, 2, 0.05}, {0.2, 20, 0.5}, {1, 60, 3}}
	evaluations := 0
	p := &Problem{Knobs: knobs, Blocks: 12, Looks: []int{3, 6}, Limit: math.Inf(1), Start: 200, Local: 400, Seed: 1,
		Evaluate: each(func(point []float64, block int) Outcome {
			evaluations++
			cost := noise(block, nil)
			for i, v := range point {
				cost += 0.3 * math.Pow(math.Log(v/best[i]), 2)
			}
			return Outcome{Cost: cost + 0.003*noise(block, point)}
		})}
	r, err := Search(p)
	if err != nil {
		t.Fatal(err)
	}
	found := r.Candidates[r.Best]
	for i, v := range found.Point {
		if math.Abs(math.Log(v/best[i])) > 0.15 {
			t.Errorf("knob %d: %v, the best is %v", i, v, best[i])
		}
	}
	if r.Alive[0] != 201 || r.Alive[11] > aliveLeast+1 || !slices.IsSortedFunc(r.Alive, func(a, b int) int { return b - a }) {
		t.Errorf("alive in the race: %v", r.Alive)
	}
	if most := 201*12/2 + r.Local*12; evaluations > most {
		t.Errorf("%d evaluations: the race spared less than half of 201 x 12", evaluations)
	}
	// The bottom is flatter than the sides, and steps know their knob.
	steps, err := Flatness(p, found.Point, found.Costs, 2, 12)
	if err != nil || len(steps) != 8 {
		t.Fatalf("%v: %d steps", err, len(steps))
	}
	want := 0.3 * math.Ln2 * math.Ln2
	for _, s := range steps {
		if d := s.Change.Difference; math.Abs(d.Value-want) > 0.1 || d.Low > d.Value {
			t.Errorf("knob %d moved by 2: %v, about %v", s.Knob, d.Value, want)
		}
	}
	again, err := Search(p)
	if err != nil || !slices.Equal(again.Candidates[again.Best].Point, found.Point) {
		t.Errorf("again: %v, %v", err, again.Candidates[again.Best].Point)
	}
}

// Dear blocks come last, and are played by few: those that the race keeps to the end
// and the best of each walk, of which there are four at most here. They have their say: of settings that only cheap blocks
// like none is chosen, and where a walk leads there it is left as soon as it shows.
func TestDearBlocks(t *testing.T) {
	const cheap, dear, local = 20, 8, 30
	for _, c := range []struct {
		name  string
		trap  float64 // what a dear block adds below 0.3
		found bool
	}{{"no trap", 0, true}, {"trap", 10, false}} {
		played := map[int]int{}
		r, err := Search(&Problem{Knobs: []Knob{{0.01, 100, 1}, {0.01, 100, 1}}, Blocks: cheap + dear, Looks: []int{9, cheap}, Limit: math.Inf(1), Start: 200, Local: local, Seed: 3,
			Evaluate: each(func(x []float64, b int) Outcome {
				played[b]++
				cost := noise(b, nil) + 0.05*noise(b, x) + 0.1*(math.Pow(math.Log(x[0]/0.1), 2)+math.Pow(math.Log(x[1]), 2))
				if b >= cheap && x[0] < 0.3 {
					cost += c.trap
				}
				return Outcome{Cost: cost}
			})})
		if err != nil {
			t.Fatal(err)
		}
		sum := 0
		for b := cheap; b < cheap+dear; b++ {
			sum += played[b]
		}
		if most := (aliveLeast + 1 + 4) * dear; played[0] < 201 || played[cheap-1] < local/2 || sum > most {
			t.Errorf("%s: %d begin, %d meet the last cheap block, %d plays of dear ones, at most %d were due", c.name, played[0], played[cheap-1], sum, most)
		}
		if x := r.Candidates[r.Best].Point; (r.Best != 0 && x[0] < 0.3) != c.found {
			t.Errorf("%s: %v is chosen", c.name, x)
		}
		t.Logf("%s: %d plays of dear blocks, %v", c.name, sum, r.Candidates[r.Best].Point)
		if c.trap > 0 {
			for _, one := range r.Candidates[201:] {
				if n := len(one.Costs); one.Point[0] < 0.3 && n > cheap+atATime {
					t.Errorf("%v went on for %d blocks", one.Point, n)
				}
			}
		}
	}
}

// Where all settings are equal the present one stays.
func TestAllEqual(t *testing.T) {
	for name, of := range map[string]func(point []float64, block int) Outcome{
		"flat":         func([]float64, int) Outcome { return Outcome{} },
		"shared noise": func(_ []float64, b int) Outcome { return Outcome{Cost: noise(b, nil)} },
	} {
		r, err := Search(&Problem{Knobs: []Knob{{0.01, 1, 0.1}, {1, 50, 3}}, Blocks: 9, Looks: []int{3}, Limit: math.Inf(1), Start: 100, Local: 50, Seed: 4, Evaluate: each(of)})
		if err != nil || r.Best != 0 {
			t.Errorf("%s: %v, best is %d", name, err, r.Best)
		}
	}
}

// The best of those within a limit, which is the present setting when no other is.
func TestLimit(t *testing.T) {
	p := &Problem{Knobs: []Knob{{0.01, 100, 50}}, Blocks: 4, Looks: []int{2}, Limit: 2, Start: 50, Local: 60, Seed: 2,
		Evaluate: each(func(x []float64, _ int) Outcome { return Outcome{Cost: math.Log(x[0]), Load: 1 / x[0]} })}
	r, err := Search(p)
	if err != nil {
		t.Fatal(err)
	}
	if x := r.Candidates[r.Best].Point[0]; x < 0.5 || x > 0.52 {
		t.Errorf("%v, the limit is met from 0.5 on", x)
	}
	p.Limit = 1e-6
	if r, err = Search(p); err != nil || r.Best != 0 {
		t.Errorf("%v, %+v", err, r.Best)
	}
	front := Front(r.Candidates, 1, 4)
	if len(front) != 4 || front[0].Load > front[3].Load || front[0].Mean() < front[3].Mean() {
		t.Errorf("%+v", front)
	}
}

// poisson is the RFC 8405 back-off under Poisson events, by its closed form: wait
// and rate as functions of the five parameters. See model/reliability.
func poisson(t *testing.T, rate float64) func(x []float64) (wait, runs float64) {
	return func(x []float64) (wait, runs float64) {
		b := reliability.Backoff{Initial: min(x[0], x[3]), Short: x[1], Long: min(x[2], 0.99*x[4]), Learn: min(x[3], 0.9*x[4]), Holddown: x[4]}
		b.Initial = min(b.Initial, b.Learn)
		l, err := b.UnderPoisson(rate)
		if err != nil {
			t.Fatal(err)
		}
		return l.WaitMean, l.RunRate
	}
}

var backoffKnobs = []Knob{{0.005, 5, 0.05}, {0.005, 5, 0.2}, {0.005, 8, 5}, {0.1, 5, 0.5}, {9, 60, 10}}

// TestPoissonPrice: with a price k on runs, wait + k x runs. Events without memory
// give no reason to wait now longer and now shorter, so the best is one delay for
// all states: with u = 1 + rate D, wait = (u - 1/u)/(2 rate) and runs = rate/u,
// which is least at u = sqrt(2 k rate^2 - 1). (Derived here; no publication is
// known.) The search finds that cost, and the delay.
func TestPoissonPrice(t *testing.T) {
	for _, c := range []struct{ rate, price float64 }{{1, 2}, {2, 1.5}, {0.5, 8}} {
		u := math.Sqrt(2*c.price*c.rate*c.rate - 1)
		least := (u-1/u)/(2*c.rate) + c.price*c.rate/u
		delay := (u - 1) / c.rate
		of := poisson(t, c.rate)
		r, err := Search(&Problem{Knobs: backoffKnobs, Blocks: 1, Looks: []int{1}, Limit: math.Inf(1), Start: 200, Local: 3000, Seed: 1,
			Evaluate: each(func(x []float64, _ int) Outcome {
				wait, runs := of(x)
				return Outcome{Cost: wait + c.price*runs}
			})})
		if err != nil {
			t.Fatal(err)
		}
		best := r.Candidates[r.Best]
		t.Logf("rate %v: found %.6f at %.3v, least %.6f at %.4f, after %d", c.rate, best.Mean(), best.Point, least, delay, r.Local)
		if got := best.Mean(); got < least-1e-9 || got > least*1.001 {
			t.Errorf("rate %v, price %v: cost %v, the least is %v", c.rate, c.price, got, least)
		}
		// At these rates all but a sliver of the runs are armed in LONG_WAIT.
		if long := best.Point[2]; math.Abs(long-delay) > 0.1*delay {
			t.Errorf("rate %v: long delay %v, the best is %v", c.rate, long, delay)
		}
	}
}

// TestPoissonLimit: least wait with at most so many runs; by the same argument one
// delay D with rate/(1 + rate D) at the limit.
func TestPoissonLimit(t *testing.T) {
	const rate, most = 1.0, 0.4
	delay := 1/most - 1/rate
	u := 1 + rate*delay
	least := (u - 1/u) / (2 * rate)
	of := poisson(t, rate)
	r, err := Search(&Problem{Knobs: backoffKnobs, Blocks: 1, Looks: []int{1}, Limit: most, Start: 200, Local: 3000, Seed: 1,
		Evaluate: each(func(x []float64, _ int) Outcome {
			wait, runs := of(x)
			return Outcome{Cost: math.Log(wait), Load: runs}
		})})
	if err != nil {
		t.Fatal(err)
	}
	best := r.Candidates[r.Best]
	wait := math.Exp(best.Mean())
	t.Logf("found %.6f at %.3v, least %.6f at %.4f, runs %.4f", wait, best.Point, least, delay, best.Load)
	if wait < least-1e-9 || wait > least*1.01 || best.Load > most {
		t.Errorf("wait %v at %v runs, the least is %v", wait, best.Load, least)
	}
}

// An error of the cost ends the search, whatever it was doing.
func TestStops(t *testing.T) {
	stop := errors.New("stop")
	for _, after := range []int{0, 30, 420} {
		n := 0
		_, err := Search(&Problem{Knobs: []Knob{{0.01, 1, 0.1}}, Blocks: 3, Looks: []int{1, 3}, Limit: 1, Start: 100, Local: 200, Seed: 1,
			Evaluate: func(jobs []Job) ([]Outcome, error) {
				if n += len(jobs); n > after {
					return nil, stop
				}
				return make([]Outcome, len(jobs)), nil
			}})
		if !errors.Is(err, stop) {
			t.Errorf("after %d: %v", after, err)
		}
	}
	for _, p := range []*Problem{{}, {Knobs: []Knob{{0, 1, 1}}, Blocks: 1, Looks: []int{1}, Start: 1},
		{Knobs: []Knob{{1, 2, 1}}, Blocks: 1, Looks: []int{2}, Start: 1}, {Knobs: []Knob{{1, 2, 1}}, Blocks: 2, Looks: []int{2, 1}, Start: 1}, {Knobs: []Knob{{1, 2, 1}}, Blocks: 2, Start: 1}} {
		if _, err := Search(p); err == nil {
			t.Errorf("%+v is not refused", p)
		}
	}
}

// Figures by hand: 15 days, two cuts, one flap, three kinds of loss.
func TestFigures(t *testing.T) {
	h := &record.Header{Modes: []record.Mode{{Name: "cut", Kind: "hard"}, {Name: "flap", Kind: "flapping"}}, Phases: []string{"unnoticed", "spf_wait", "stranded"}}
	r := &record.Replication{From: 0, To: 15 * 86400e9, BusyWorst10s: 0.25, LostSeconds: [][]float64{{1, 2, 4}, {8, 16, 32}},
		Faults: []record.Fault{{Mode: 0, FullConvergence: 1e9}, {Mode: 1, FullConvergence: 9e9}, {Mode: 0, FullConvergence: 2e9}, {Mode: 0, FullConvergence: record.None}}}
	f := FiguresOf(h, r)
	if f.Loss != 2*27 || f.Routing != 2*18 || f.Cuts != 2 || math.Abs(f.P99-1.99) > 1e-12 || f.Busy != 0.25 {
		t.Errorf("%+v", f)
	}
	if c := Cost(f, f, 36); c != 0 {
		t.Errorf("against itself: %v", c)
	}
	worse := f
	worse.P99, worse.Loss = 2*(f.P99+0.001)-0.001, f.Loss+36
	if c := Cost(worse, f, 36); math.Abs(c-(math.Asinh(1)+math.Ln2)/2) > 1e-12 {
		t.Errorf("%v", c)
	}
	none := f
	none.Cuts = 0
	if c := Cost(none, f, 36); c != 0 {
		t.Errorf("without cuts: %v", c)
	}
}
