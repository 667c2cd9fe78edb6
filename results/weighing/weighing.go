package weighing

import (
	"fmt"
	"math"
	"slices"

	"halflight/results/money"
	"halflight/results/stat"
	"halflight/sim/record"
)

// Figure is a mean with an interval, and whether that leaves 0 out.
type Figure struct {
	Value   float64  `json:"value"`
	Low     *float64 `json:"low"` // null without an interval
	High    *float64 `json:"high"`
	Decided bool     `json:"decided"` // the interval does not hold 0, and there are enough replications
	// Needed is how many replications would settle it if the mean stayed, at least as
	// many as a first look takes; 0: it is decided, or no number would.
	Needed int `json:"needed,omitempty"`
}

// Threshold is a value from which on something pays. Kind: "always" and "never"
// within what was looked at; "from": from Value on.
type Threshold struct {
	Kind  string  `json:"kind"`
	Value float64 `json:"value,omitempty"`
	// The interval; null where it goes on beyond what was looked at. Sure: all of it
	// says what Kind says.
	Low  *float64 `json:"low,omitempty"`
	High *float64 `json:"high,omitempty"`
	Sure bool     `json:"sure"`
}

// Line is one set of instruments against another that it is weighed against.
type Line struct {
	Name        string   `json:"name"`
	Instruments []string `json:"instruments"`

	// What this set sees and does, itself. Times are s over all gray faults of the
	// window; null: so many are never reached that the quantile is not either.
	Faults       int      `json:"gray_faults"`
	Seen         *float64 `json:"seen"` // share sighted before they ended; null: there were none
	SightMedian  *float64 `json:"sight_median"`
	SightP95     *float64 `json:"sight_p95"`
	OutMedian    *float64 `json:"out_of_use_median"`
	OutP95       *float64 `json:"out_of_use_p95"`
	Averted      float64  `json:"averted"`      // a month
	FalseDrains  float64  `json:"false_drains"` // a month
	FalseAlarms  float64  `json:"false_alarms"` // a month
	Technicians  float64  `json:"technicians_offered"`
	CostTotal    float64  `json:"cost_total"`       // a year
	CostSelf     float64  `json:"cost_instruments"` // a year, of what it has and the other set has not
	CostDegraded float64  `json:"cost_degraded"`    // a year

	// What it is better than the set it is weighed against.
	SlowAvoided float64   `json:"slow_avoided"` // share of the other's slow units, first class
	BurnAvoided float64   `json:"burn_avoided"` // error budgets a month, first class with one
	HoursSaved  Figure    `json:"leaf_hours_saved"`
	Saving      Figure    `json:"saving"`              // a year
	Price       Threshold `json:"pays_from_price"`     // of a degraded leaf-hour of the first class
	Patience    Threshold `json:"pays_from_complaint"` // mean complaint time, s; of single instruments
	Correlation float64   `json:"correlation"`         // of the two sets' costs
	Gain        float64   `json:"gain"`                // variance ratio of pairing; 0: infinite or not paired
	Step        int       `json:"step,omitempty"`      // in the order of purchase
}

// Weighing is the answer.
type Weighing struct {
	Question     *Question `json:"-"`
	Replications int       `json:"replications"`
	Played       int       `json:"sets_played"`
	Currency     string    `json:"currency"`
	Class        string    `json:"class"`      // the first, of which slow units and hours are told
	LeafHour     float64   `json:"leaf_hour"`  // its price
	Family       int       `json:"family"`     // intervals that hold together
	None         Line      `json:"none"`       // nothing but complaints
	Everything   Line      `json:"everything"` // all instruments, against none
	Alone        []Line    `json:"alone"`      // against none
	Beside       []Line    `json:"beside"`     // what each adds to all others
	Bundles      []Line    `json:"bundles"`    // against none
	Order        []Line    `json:"order"`      // what each adds to those bought before
}

// Weigh answers a question from all that was played for it.
func Weigh(q *Question, e Evidence) *Weighing {
	none := e[Subset{}]
	h := &none.Header
	w := &Weighing{Question: q, Replications: len(none.Replications), Played: len(e), Currency: h.Prices.Currency}
	if len(h.Classes) > 0 {
		w.Class, w.LeafHour = h.Classes[0].Name, h.Classes[0].LeafHour
	}
	order, _ := q.order(e)
	n := len(q.Instruments)
	w.Family = max(2*n+len(q.Bundles)+1+len(order), 1)
	a := &scale{q: q, e: e, level: 1 - (1-q.Level)/float64(w.Family)}
	w.None = a.line("none", 0, 0)
	w.Everything = a.line("all", q.all(), 0)
	for i, name := range q.Instruments {
		alone := a.line(name, 1<<i, 0)
		alone.Patience = a.patience(i)
		w.Alone = append(w.Alone, alone)
		w.Beside = append(w.Beside, a.line(name, q.all(), q.all()&^(1<<i)))
	}
	for _, b := range q.Bundles {
		w.Bundles = append(w.Bundles, a.line(b.Name, b.Bits, 0))
	}
	have := uint32(0)
	for k, i := range order {
		step := a.line(q.Instruments[i], have|1<<i, have)
		step.Step = k + 1
		w.Order = append(w.Order, step)
		have |= 1 << i
	}
	return w
}

// scale weighs one set against another.
type scale struct {
	q     *Question
	e     Evidence
	level float64 // of one interval, so that all hold together
}

// line weighs a set against a lesser one.
func (a *scale) line(name string, set, against uint32) Line {
	p, o := a.e[Subset{Bits: set}], a.e[Subset{Bits: against}]
	l := Line{Name: name, Instruments: []string{}}
	for i, n := range a.q.Instruments {
		if set&(1<<i) != 0 {
			l.Instruments = append(l.Instruments, n)
		}
	}
	a.see(&l, p)
	l.CostTotal, l.CostSelf, l.CostDegraded = meanOf(costs(p, total)), meanOf(costs(p, instruments)), meanOf(costs(p, degraded))
	if set == against {
		return l
	}
	l.CostSelf -= meanOf(costs(o, instruments))
	c := stat.Paired(costs(o, total), costs(p, total), a.level)
	l.Saving = a.figure(c.Difference, savings(o, p))
	l.Correlation = c.Correlation
	if c.Paired && !math.IsInf(c.Reduction, 0) {
		l.Gain = c.Reduction
	}
	hours := differences(o, p, func(_ *record.Header, r *record.Replication) float64 { return leafHours(r) / months(r) })
	l.HoursSaved = a.figure(stat.Mean(hours, a.level), hours)
	slow := func(p *Played) float64 {
		return meanOf(each(p, func(_ *record.Header, r *record.Replication) float64 { return slowShare(r) }))
	}
	if s := slow(o); s > 0 {
		l.SlowAvoided = 1 - slow(p)/s
	}
	if len(p.Header.Classes) > 0 && p.Header.Classes[0].Budget > 0 {
		l.BurnAvoided = (slow(o) - slow(p)) / p.Header.Classes[0].Budget
	}
	l.Price = a.price(o, p)
	return l
}

// see tells what a set sees.
func (a *scale) see(l *Line, p *Played) {
	var sight, out []float64
	seen := 0.0
	for _, r := range p.Replications {
		for i := range r.Faults {
			f := &r.Faults[i]
			if !p.Header.Modes[f.Mode].Gray {
				continue
			}
			l.Faults++
			sight, out = append(sight, reached(f.Sighted)), append(out, reached(f.Mitigated))
			if f.Sighted != record.None {
				seen++
			}
		}
		k := months(r) * float64(len(p.Replications))
		l.Averted += float64(r.Averted) / k
		l.FalseDrains += float64(r.FalseDrains) / k
		l.Technicians += r.HandsOn / float64(len(p.Replications))
		for _, w := range r.Watched {
			l.FalseAlarms += float64(w.FalseAlarms) / k
		}
	}
	if l.Faults > 0 {
		seen /= float64(l.Faults)
		l.Seen = &seen
	}
	slices.Sort(sight)
	slices.Sort(out)
	l.SightMedian, l.SightP95 = quantile(sight, 0.5), quantile(sight, 0.95)
	l.OutMedian, l.OutP95 = quantile(out, 0.5), quantile(out, 0.95)
}

func reached(ns int64) float64 {
	if ns == record.None {
		return math.Inf(1)
	}
	return float64(ns) / 1e9
}

// quantile is nil when there are no values, or when it is never reached.
func quantile(sorted []float64, p float64) *float64 {
	if len(sorted) == 0 {
		return nil
	}
	v := sorted[min(int(math.Ceil(p*float64(len(sorted))))-1, len(sorted)-1)]
	if math.IsInf(v, 1) {
		return nil
	}
	return &v
}

// figure tells whether an interval leaves 0 out, and what would settle it.
func (a *scale) figure(e stat.Estimate, values []float64) Figure {
	f := Figure{Value: e.Value}
	enough := len(values) >= stat.PairsLeast
	if !e.Available() {
		f.Decided = enough && e.Known && e.Value != 0 && slices.Max(values) == slices.Min(values)
		return f
	}
	low, high := e.Low, e.High
	f.Low, f.High, f.Decided = &low, &high, enough && (low > 0 || high < 0)
	if f.Decided || e.Value == 0 {
		return f
	}
	if n, ok := stat.ReplicationsFor(deviation(values), math.Abs(e.Value), a.level); ok && n <= mostReplications {
		f.Needed = max(n, stat.LookFirst) // a spread of a few replications is no ground for less
	}
	return f
}

// mostReplications is beyond what anybody would play to settle a question.
const mostReplications = 1_000_000

func deviation(values []float64) float64 {
	m, sum := meanOf(values), 0.0
	for _, v := range values {
		sum += float64((v - m) * (v - m))
	}
	return math.Sqrt(sum / float64(max(len(values)-1, 1)))
}

// price is the price of a degraded leaf-hour of the first class, those of others
// in proportion, from which on the set pays: the root of saving = 0, which is
// linear in the price. Its interval is Fieller's (1954, from memory): the prices
// that a t interval of the difference does not exclude.
func (a *scale) price(o, p *Played) Threshold {
	if len(p.Header.Classes) == 0 {
		return Threshold{Kind: "never"}
	}
	scale := p.Header.Classes[0].LeafHour
	hours := differences(o, p, func(h *record.Header, r *record.Replication) float64 {
		if scale == 0 {
			return leafHours(r) / months(r) * 365 / 30
		}
		return cost(h, r, degraded) / scale
	})
	rest := differences(p, o, func(h *record.Header, r *record.Replication) float64 { return cost(h, r, total) - cost(h, r, degraded) })
	gain, loss := meanOf(hours), meanOf(rest)
	switch {
	case loss <= 0 && gain >= 0:
		return Threshold{Kind: "always"}
	case gain <= 0:
		return Threshold{Kind: "never"}
	}
	t := Threshold{Kind: "from", Value: loss / gain}
	t.Low, t.High = a.fieller(hours, rest)
	return t
}

// fieller is the interval of a ratio of means rest/hours of pairs; nil where it
// does not end.
func (a *scale) fieller(hours, rest []float64) (low, high *float64) {
	n := float64(len(hours))
	if n < 2 {
		return nil, nil
	}
	g := tSquared(int(n)-1, a.level) / n
	mh, mr := meanOf(hours), meanOf(rest)
	vh, vr := deviation(hours)*deviation(hours), deviation(rest)*deviation(rest)
	cov := 0.0
	for i := range hours {
		cov += (hours[i] - mh) * (rest[i] - mr) / (n - 1)
	}
	// (mr - p mh)^2 = g (vr - 2 p cov + p^2 vh)
	qa, qb, qc := mh*mh-g*vh, mh*mr-g*cov, mr*mr-g*vr
	d := qb*qb - qa*qc
	if qa <= 0 || d < 0 {
		return nil, nil
	}
	l, h := max((qb-math.Sqrt(d))/qa, 0), (qb+math.Sqrt(d))/qa
	return &l, &h
}

// tSquared is the square of Student's t of so many degrees of freedom at a
// two-sided level, read off the interval of a mean of known spread.
func tSquared(df int, level float64) float64 {
	values := make([]float64, df+1)
	for i := range values {
		values[i] = float64(i)
	}
	e := stat.Mean(values, level)
	half := (e.High - e.Low) / 2
	d := deviation(values)
	return half * half * float64(df+1) / (d * d)
}

// patience is the mean time to a complaint above which an instrument alone pays:
// where its saving, straight between the times that were played, on a logarithmic
// scale, goes through 0. Its interval is where the bounds of the saving do.
func (a *scale) patience(i int) Threshold {
	type point struct{ at, value, low, high float64 }
	var points []point
	least := math.MaxInt // replications
	for k, s := range a.q.Complaints {
		o, p := a.e[Subset{0, k}], a.e[Subset{1 << i, k}]
		if o == nil || p == nil {
			continue
		}
		without := costs(o, total)
		least = min(least, len(without))
		d := stat.Paired(without, costs(p, total), a.level).Difference
		pt := point{math.Log(s), d.Value, math.NaN(), math.NaN()}
		if d.Available() {
			pt.low, pt.high = d.Low, d.High
		}
		points = append(points, pt)
	}
	if len(points) == 0 {
		return Threshold{Kind: "not asked"}
	}
	slices.SortFunc(points, func(a, b point) int {
		if a.at < b.at {
			return -1
		}
		return 1
	})
	cross := func(of func(p point) float64) (at float64, kind string) {
		if of(points[0]) > 0 {
			return 0, "always"
		}
		for k := 1; k < len(points); k++ {
			if x, y := of(points[k-1]), of(points[k]); x <= 0 && y > 0 {
				share := -x / (y - x)
				return math.Exp(points[k-1].at + share*(points[k].at-points[k-1].at)), "from"
			}
		}
		return 0, "never"
	}
	at, kind := cross(func(p point) float64 { return p.value })
	t := Threshold{Kind: kind, Value: at}
	high, latest := cross(func(p point) float64 { return p.low })
	low, first := cross(func(p point) float64 { return p.high })
	if latest == "from" {
		t.High = &high
	}
	if first == "from" {
		t.Low = &low
	}
	t.Sure = latest == kind && first == kind && least >= stat.PairsLeast
	return t
}

// String says a threshold in a word or its value, written by a function.
func (t Threshold) String(write func(float64) string) string {
	if t.Kind != "from" {
		return t.Kind
	}
	return write(t.Value)
}

// what of a bill is asked for.
type part func(item string) bool

func total(item string) bool       { return item == money.Total }
func instruments(item string) bool { return item == "instruments" }
func degraded(item string) bool    { _, ok := money.Degraded(item); return ok }

// cost is a part of the bill of a replication, a year.
func cost(h *record.Header, r *record.Replication, of part) float64 {
	sum := 0.0
	for _, i := range money.Of(h, r) {
		if of(i.Name) {
			sum += i.PerYear
		}
	}
	return sum
}

func costs(p *Played, of part) []float64 {
	return each(p, func(h *record.Header, r *record.Replication) float64 { return cost(h, r, of) })
}

// savings are what each replication costs less with a set than with another.
func savings(other, set *Played) []float64 {
	return differences(other, set, func(h *record.Header, r *record.Replication) float64 { return cost(h, r, total) })
}

func differences(a, b *Played, of func(h *record.Header, r *record.Replication) float64) []float64 {
	x, y := each(a, of), each(b, of)
	if len(x) != len(y) {
		panic(fmt.Sprintf("weighing: %d replications against %d", len(x), len(y)))
	}
	for i := range x {
		x[i] -= y[i]
	}
	return x
}

func each(p *Played, of func(h *record.Header, r *record.Replication) float64) []float64 {
	out := make([]float64, len(p.Replications))
	for i, r := range p.Replications {
		out[i] = of(&p.Header, r)
	}
	return out
}

// months of 30 d that a replication measured.
func months(r *record.Replication) float64 { return float64(r.To-r.From) / (30 * 86400e9) }

func slowShare(r *record.Replication) float64 {
	if len(r.Applications) == 0 {
		return 0
	}
	return r.Applications[0].SlowShare
}

func leafHours(r *record.Replication) float64 {
	if len(r.Applications) == 0 {
		return 0
	}
	return r.Applications[0].DegradedLeafHours
}
