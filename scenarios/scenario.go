package scenarios

import (
	"regexp"
	"strconv"
)

var scenarioName = regexp.MustCompile(`^[A-Za-z0-9_][A-Za-z0-9_.-]{0,59}$`)

// Bounds of what a scenario may ask for, against slips of the pen.
const (
	replicationsMax = 1_000_000
	routersMax      = 10_000
	linksMax        = 300_000
)

// scenario walks the whole tree. The fabric comes first: names of parts are held against its numbers.
func (w *walker) scenario() {
	s, o := w.s, w.object(w.tree.root, "")
	w.head(o)
	o.fabric(&s.Fabric)
	if r := o.open("routers"); r != nil {
		r.spread(&s.Routers)
		r.done()
	}
	if t := o.open("timers"); t != nil {
		t.timers(&s.Timers)
	}
	if d := o.open("detection"); d != nil {
		d.detection(&s.Detection)
	}
	if f := o.open("flooding"); f != nil {
		f.flooding(&s.Flooding)
	}
	o.tables()
	o.groups(&s.Groups)
	if t := o.open("traffic"); t != nil {
		t.traffic(&s.Traffic)
	}
	o.applications()
	o.telemetry()
	if p := o.open("operations"); p != nil {
		p.operations(&s.Operations)
	}
	o.failures()
	o.script()
	o.done()
}

// head reads the keys that stand alone.
func (w *walker) head(o *object) {
	s := w.s
	s.Name, s.About = o.text("name"), o.text("about")
	if s.Name == "" {
		s.Name = stem(s.File)
	} else if !scenarioName.MatchString(s.Name) {
		o.wrong("name", quote(s.Name)+" is not a name", "letters, digits, - _ and ., at most 60: it names the folder of results")
	}
	if n, path := o.scalar("seed"); n != nil {
		v, err := strconv.ParseUint(n.Value, 10, 64)
		if err != nil || !wholeNumber.MatchString(n.Value) {
			w.reject(n, path, &fault{"is not a seed", "a whole number from 0 to 18446744073709551615"})
		} else {
			s.Seed = &v
		}
	}
	o.whole("replications", &s.Replications, 1, replicationsMax)
	o.duration("warm_up", &s.WarmUp, 0)
	o.duration("horizon", &s.Horizon, 1)
	o.flag("random", &s.Random)
	if i := o.word("hashing", hashNames[:]...); i >= 0 {
		h := Hashing(i)
		s.Hashing = &h
	}
	if b := o.open("start"); b != nil {
		s.Start = &Start{BackoffLast: b.word("backoff", "rest", "last") == 1}
		b.done()
	}
}

// spread reads how far routers differ.
func (o *object) spread(r *Routers) {
	if n, _ := o.scalar("spread"); n != nil && n.Value == "false" {
		r.Spread = new(float64)
		return
	}
	o.number("spread", &r.Spread, parsePlain, 0, 3)
}

// tables reads what belongs to tables and start-up.
func (o *object) tables() {
	s := o.w.s
	if f := o.open("fib"); f != nil {
		f.duration("base", &s.FIB.Base, 0)
		f.duration("per_prefix", &s.FIB.PerPrefix, 0)
		f.flag("local_prune", &s.FIB.LocalPrune)
		f.duration("prune_delay", &s.FIB.PruneDelay, 0)
		f.done()
	}
	if v := o.open("overload"); v != nil {
		v.flag("leaves", &s.Overload.Leaves)
		v.flag("until_ready", &s.Overload.UntilReady)
		v.done()
	}
	if r := o.open("restart"); r != nil {
		r.duration("grace", &s.Restart.Grace, 0)
		r.done()
	}
}
