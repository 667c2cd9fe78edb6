// Package lines reads a replication from its line in a file of records.
//
// It is quick with what the program writes: the keys of records in their order,
// without blanks. A line that is written in any other way is left to
// encoding/json, which says what is wrong with it, if anything. It knows records,
// not the files that they are in. It is tested by holding the quick way against
// encoding/json, with lines that were altered too.
package lines

import (
	"math"

	"halflight/sim/record"
)

// Reader reads lines of one file. The zero value is usable. Lists of the
// replications that it reads share memory: their items may not be changed.
type Reader struct {
	Lean bool // the lost share by slot is passed over

	c      cursor
	words  map[string]string // each is kept once
	floats room[float64]
	slots  room[float32]
	counts room[int64]
	rows   room[[]float64]
	states room[[]float32]
	faults room[record.Fault]
	older  room[record.Older]
	waits  room[record.Wait]
	apps   room[record.Application]
	burns  room[record.Burn]
	watch  room[record.Watched]
	days   room[record.Day]
	cuts   room[record.Cutoff]
}

// Read reads a line, its newline included, into an empty replication.
func (d *Reader) Read(line []byte, r *record.Replication) error {
	if d.quick(line, r) {
		return nil
	}
	*r = record.Replication{}
	return plain(line, d.Lean, r)
}

// quick reads a line. false: it is not written as the program does, and the
// replication is worth nothing.
func (d *Reader) quick(line []byte, r *record.Replication) bool {
	d.c = cursor{line: line}
	d.replication(r)
	d.c.want("}\n")
	return !d.c.lost && d.c.at == len(line)
}

func (d *Reader) replication(r *record.Replication) {
	c := &d.c
	c.want(`{"number":`)
	r.Number = uint32(c.int(0, math.MaxUint32))
	r.From = d.int(`,"from":`)
	r.To = d.int(`,"to":`)
	c.want(`,"faults":`)
	r.Faults = listOf(c, &d.faults, d.fault)
	c.want(`,"older":`)
	r.Older = listOf(c, &d.older, d.olderFault)
	c.want(`,"lost_seconds":`)
	r.LostSeconds = listOf(c, &d.rows, d.list)
	r.LostExternal = d.maybe(`,"lost_external":`)
	c.want(`,"onsets":`)
	r.Onsets = listOf(c, &d.counts, d.count)
	r.Present = d.floatList(`,"present":`)
	r.Unseen = d.floatList(`,"unseen":`)
	r.RouterTime = d.float(`,"router_time":`)
	r.StateTime = d.floatList(`,"state_time":`)
	c.want(`,"waits":`)
	r.Waits = listOf(c, &d.waits, d.wait)
	c.want(`,"leaf_waits":`)
	r.LeafWaits = listOf(c, &d.waits, d.wait)
	r.WaitMean = d.float(`,"wait_mean":`)
	r.LeafWaitMean = d.float(`,"leaf_wait_mean":`)
	r.RestWait = d.int(`,"rest_wait":`)
	r.SPFRuns = d.int(`,"spf_runs":`)
	r.Originations = d.int(`,"originations":`)
	r.BusyWorst10s = d.float(`,"busy_worst_10s":`)
	d.operations(r)
	c.want(`,"applications":`)
	r.Applications = listOf(c, &d.apps, d.application)
	if c.has(`,"planned":`) {
		r.Planned = d.planned()
	}
	c.want(`,"series":`)
	d.series(&r.Series)
}

func (d *Reader) operations(r *record.Replication) {
	c := &d.c
	r.Sightings = d.int(`,"sightings":`)
	r.FalseDrains = d.int(`,"false_drains":`)
	r.Drains = d.int(`,"drains":`)
	r.Refused = d.int(`,"refused":`)
	r.HandsOn = d.float(`,"hands_on":`)
	r.CapacityWorst = d.float(`,"capacity_worst":`)
	r.LoadWorst = d.maybe(`,"load_worst":`)
	r.LoadOver = d.maybe(`,"load_over":`)
	r.Stalls = d.int(`,"stalls":`)
	r.StallsLost = d.int(`,"stalls_lost":`)
	c.want(`,"watched":`)
	r.Watched = listOf(c, &d.watch, d.watched)
	r.Visits = d.int(`,"visits":`)
	r.Repairs = d.int(`,"repairs":`)
	r.Tickets = d.int(`,"tickets":`)
	r.Repeats = d.int(`,"repeats":`)
	r.Replaced = d.int(`,"replaced":`)
	r.Averted = d.int(`,"averted":`)
	if c.has(`,"days":`) {
		r.Days = listOf(c, &d.days, d.day)
	}
	if c.has(`,"servers":`) {
		r.Servers = d.servers()
	}
}

func (d *Reader) fault() (f record.Fault) {
	c := &d.c
	f.Index = d.int32(`{"index":`)
	f.Mode = d.int32(`,"mode":`)
	f.On = d.word(`,"on":`)
	f.Onset = d.int(`,"onset":`)
	f.End = d.int(`,"end":`)
	c.want(`,"background":`)
	f.Background = record.Background(c.int(0, math.MaxUint8))
	f.FullConvergence = d.int(`,"full_convergence":`)
	f.RepairConvergence = d.int(`,"repair_convergence":`)
	f.SPFWait = d.int(`,"spf_wait":`)
	f.RouteLoss = d.int(`,"route_loss":`)
	f.Pairs = d.int32(`,"pairs":`)
	f.External = c.has(`,"external":`) && c.truth()
	f.Touched = d.int32(`,"touched":`)
	f.Sighted = d.int(`,"sighted":`)
	if c.has(`,"sighted_by":`) {
		f.SightedBy = d.word("")
	}
	f.Mitigated = d.int(`,"mitigated":`)
	f.LostSeconds = d.float(`,"lost_seconds":`)
	if c.has(`,"phases":`) {
		f.Phases = d.list()
	}
	c.want("}")
	return f
}

func (d *Reader) olderFault() (o record.Older) {
	o.Mode = d.int32(`{"mode":`)
	o.On = d.word(`,"on":`)
	o.LostSeconds = d.float(`,"lost_seconds":`)
	d.c.want("}")
	return o
}

func (d *Reader) wait() (w record.Wait) {
	w.From = d.int(`{"from":`)
	w.To = d.int(`,"to":`)
	w.Total = d.maybe(`,"total":`)
	if d.c.has(`,"count":`) {
		w.Count = d.count()
	}
	d.c.want("}")
	return w
}

func (d *Reader) watched() (w record.Watched) {
	w.Sightings = d.int(`{"sightings":`)
	w.FalseAlarms = d.int(`,"false_alarms":`)
	d.c.want("}")
	return w
}

func (d *Reader) day() (v record.Day) {
	v.Sightings = d.int(`{"sightings":`)
	v.Drains = d.int(`,"drains":`)
	v.Tickets = d.int(`,"tickets":`)
	v.Unseen = d.int(`,"unseen":`)
	d.c.want("}")
	return v
}

func (d *Reader) servers() *record.Servers {
	s := &record.Servers{}
	s.Lost = d.float(`{"lost":`)
	s.Resets = d.int(`,"resets":`)
	d.c.want(`,"cutoffs":`)
	s.Cutoffs = listOf(&d.c, &d.cuts, d.cutoff)
	d.c.want("}")
	return s
}

func (d *Reader) cutoff() (v record.Cutoff) {
	v.From = d.int(`{"from":`)
	v.To = d.int(`,"to":`)
	v.Groups = d.int32(`,"groups":`)
	d.c.want("}")
	return v
}

func (d *Reader) application() (a record.Application) {
	a.SlowShare = d.float(`{"slow_share":`)
	a.WorstLeaf = d.float(`,"worst_leaf":`)
	a.P99Leaf = d.float(`,"p99_leaf":`)
	a.DegradedLeafHours = d.float(`,"degraded_leaf_hours":`)
	if d.c.has(`,"burn":`) {
		a.Burn = listOf(&d.c, &d.burns, d.burn)
	}
	if d.c.has(`,"late":`) {
		a.Late = d.list()
	}
	d.c.want("}")
	return a
}

func (d *Reader) burn() (b record.Burn) {
	b.Most = d.float(`{"most":`)
	b.MostLeaf = d.float(`,"most_leaf":`)
	b.Above = d.int(`,"above":`)
	b.LeafAbove = d.int(`,"leaf_above":`)
	d.c.want("}")
	return b
}

func (d *Reader) planned() *record.Planned {
	p := &record.Planned{}
	p.Boxes = d.int(`{"boxes":`)
	p.Campaigns = d.int(`,"campaigns":`)
	p.Nights = d.int(`,"nights":`)
	p.Left = d.int(`,"left":`)
	p.Skipped = d.int(`,"skipped":`)
	p.Exposed = d.int(`,"exposed":`)
	p.CapacityWorst = d.float(`,"capacity_worst":`)
	p.Changes = d.int(`,"changes":`)
	d.c.want("}")
	return p
}

func (d *Reader) series(s *record.Series) {
	c := &d.c
	s.Slot = d.int(`{"slot":`)
	c.want(`,"lost":`)
	if d.Lean {
		c.numbers()
	} else {
		s.Lost = d.slotList()
	}
	s.Wide = int(d.int(`,"wide":`))
	c.want(`,"gray":`)
	s.Gray = d.slotList()
	c.want(`,"unseen":`)
	s.Unseen = d.slotList()
	c.want(`,"states":`)
	s.States = listOf(c, &d.states, d.slotList)
	c.want("}")
}

// int reads a whole number after its key; int32 a smaller one.
func (d *Reader) int(key string) int64 {
	d.c.want(key)
	return d.count()
}

func (d *Reader) int32(key string) int32 {
	d.c.want(key)
	return int32(d.c.int(math.MinInt32, math.MaxInt32))
}

func (d *Reader) count() int64 { return d.c.int(math.MinInt64, math.MaxInt64) }

// float reads a number after its key, maybe one that may not be there.
func (d *Reader) float(key string) float64 {
	d.c.want(key)
	return d.c.float()
}

func (d *Reader) maybe(key string) float64 {
	if d.c.has(key) {
		return d.c.float()
	}
	return 0
}

func (d *Reader) word(key string) string {
	d.c.want(key)
	text := d.c.text()
	word, ok := d.words[string(text)]
	if !ok {
		if d.words == nil {
			d.words = map[string]string{}
		}
		word = string(text)
		d.words[word] = word
	}
	return word
}

func (d *Reader) floatList(key string) []float64 {
	d.c.want(key)
	return d.list()
}

func (d *Reader) list() []float64 {
	there, more := d.c.begin()
	switch {
	case !there:
		return nil
	case !more:
		return []float64{}
	}
	for {
		d.floats.add(d.c.float())
		if !d.c.next() {
			return d.floats.list()
		}
	}
}

func (d *Reader) slotList() []float32 {
	there, more := d.c.begin()
	switch {
	case !there:
		return nil
	case !more:
		return []float32{}
	}
	for {
		d.slots.add(d.c.float32())
		if !d.c.next() {
			return d.slots.list()
		}
	}
}
