package scenarios

import (
	"regexp"
	"strconv"

	"halflight/scenarios/control"
	"halflight/scenarios/homing"
	"halflight/scenarios/objective"
	"halflight/scenarios/operator"
	"halflight/scenarios/outline"
	"halflight/scenarios/transport"
	"halflight/scenarios/unit"
	"halflight/scenarios/wording"
)

var seedForm = regexp.MustCompile(`^(0|[1-9][0-9]*)$`)

var scenarioName = regexp.MustCompile(`^[A-Za-z0-9_][A-Za-z0-9_.-]{0,59}$`)

// Bounds of what a scenario may ask for, against slips of the pen.
const (
	replicationsMax = 1_000_000
	routersMax      = 10_000
	linksMax        = 300_000
	fabricsMax      = 64
)

// scenario walks the whole tree. The fabric comes first: names of parts are held against its numbers.
func (w *walker) scenario(o *object) {
	s := w.s
	w.head(o)
	o.fabric(&s.Fabric)
	if r := o.open("routers"); r != nil {
		r.spread(&s.Routers)
		r.Done()
	}
	if t := o.open("timers"); t != nil {
		t.mixed(s)
		control.ReadTimers(t.Object, &s.Timers)
	}
	if d := o.open("detection"); d != nil {
		control.ReadDetection(d.Object, &s.Detection)
	}
	if f := o.open("flooding"); f != nil {
		control.ReadFlooding(f.Object, &s.Flooding)
	}
	s.Underlay = control.ReadUnderlay(o.Object)
	control.ReadTables(o.Object, &s.FIB, &s.Overload, &s.Restart)
	o.groups(&s.Groups)
	if t := o.open("traffic"); t != nil {
		t.traffic(&s.Traffic)
	}
	s.Transport = transport.Read(o.Object)
	s.Homing, s.Overlay = homing.Read(o.Object)
	o.applications()
	s.Telemetry, s.TelemetryGiven = operator.Telemetry(o.Object)
	if p := o.open("operations"); p != nil {
		operator.ReadOperations(p.Object, &s.Operations)
	}
	if c := o.open("costs"); c != nil {
		operator.ReadCosts(c.Object, &s.Costs)
	}
	o.failures()
	o.script()
	o.objectives()
	o.Done()
}

// head reads the keys that stand alone.
func (w *walker) head(o *object) {
	s := w.s
	s.Name, s.About = o.Text("name"), o.Text("about")
	if s.Name == "" {
		s.Name = stem(s.File)
	} else if !scenarioName.MatchString(s.Name) {
		o.Wrong("name", wording.Quote(s.Name)+" is not a name", "letters, digits, - _ and ., at most 60: it names the folder of results")
	}
	if n, path := o.Scalar("seed"); n != nil {
		v, err := strconv.ParseUint(n.Value, 10, 64)
		if err != nil || !seedForm.MatchString(n.Value) {
			w.Reject(n, path, wording.Wrong("is not a seed", "a whole number from 0 to 18446744073709551615"))
		} else {
			s.Seed = &v
		}
	}
	o.Whole("replications", &s.Replications, 1, replicationsMax)
	o.Duration("warm_up", &s.WarmUp, 0)
	o.Duration("horizon", &s.Horizon, 1)
	o.Flag("random", &s.Random)
	if i := o.Word("hashing", hashNames[:]...); i >= 0 {
		h := Hashing(i)
		s.Hashing = &h
	}
	if b := o.open("start"); b != nil {
		s.Start = &Start{BackoffLast: b.Word("backoff", "rest", "last") == 1}
		b.Done()
	}
}

// spread reads how far routers differ.
func (o *object) spread(r *Routers) {
	if n, _ := o.Scalar("spread"); n != nil && n.Value == "false" {
		r.Spread = new(float64)
		return
	}
	o.Number("spread", &r.Spread, unit.ParseNumber, 0, 3)
}

// objectives reads what figures are held against.
func (o *object) objectives() {
	items, path, _ := o.Items("objectives")
	for i, c := range items {
		if e := o.w.object(c, outline.Index(path, i)); e != nil {
			o.w.s.Objectives = append(o.w.s.Objectives, objective.Read(e.Object))
		}
	}
}
