package sim

import (
	"fmt"

	"halflight/model"
	"halflight/sim/detection"
	"halflight/sim/kernel"
	"halflight/sim/record"
	"halflight/sim/repair"
	"halflight/sim/series"
)

// Check returns an error if a world asks for what cannot be played: a decision
// rule of an instrument that cannot keep its false alarms within its budget.
func Check(w *model.World) error {
	_, err := watches(w, siteOf(w))
	return err
}

// watches puts the instruments to work.
func watches(w *model.World, s *detection.Site) ([]detection.Lookout, error) {
	out := make([]detection.Lookout, len(w.Operation.Instruments))
	for i := range w.Operation.Instruments {
		ins := &w.Operation.Instruments[i]
		watch, err := detection.NewLookout(ins, s)
		if err != nil {
			return nil, fmt.Errorf("telemetry.%s: %w", ins.Name, err)
		}
		out[i] = watch
	}
	return out, nil
}

// newRandom sets the stage of a random replication.
func newRandom(w *model.World, seed uint64, number uint32, how manner) *engine {
	stream := kernel.NewStream(seed, number)
	site := siteOf(w)
	watching, err := watches(w, site)
	if err != nil {
		panic("sim: a world that Check would have refused: " + err.Error())
	}
	e := newEngine(w, &stream, how)
	c := &chanceState{stream: stream, operator: repair.New(w.Fabric, &w.Operation), watches: watching, site: site,
		drains: make([]int32, len(w.Fabric.Links)), drainsOf: make([]int32, len(w.Fabric.Routers)),
		lastOn: make([]int64, len(w.Fabric.Links)+len(w.Fabric.Routers))}
	for i := range c.lastOn {
		c.lastOn[i] = -samePart
	}
	_, _, modes := modesOf(w)
	c.counts.init(int(modes), len(w.Operation.Instruments), w.WarmUp)
	c.series = series.New(w.WarmUp, e.until)
	if e.sketch == nil {
		e.links.Jitter(packetDraws(w, stream))
		e.ledger.Passed = c.series.Lost
		e.keepBurn()
	}
	c.stalls = series.NewStalls(w.Fabric.Leaves, w.WarmUp)
	e.chance = c
	e.scriptPurposes = purposesOf("script")
	e.nameDraws()
	e.sleep()
	e.addScript(w.Script)
	if w.Random {
		e.populate()
		e.enrolHosts()
	}
	e.push(w.WarmUp, rankEnd, 0, 0, kernel.Event{Kind: measure})
	for i := range c.watches {
		e.nextFalseAlarm(int32(i), 0)
	}
	e.plan()
	e.act() // the first shift is due
	return e
}

// PlayUntil is [Play] that gives up, and returns false, once stop is closed.
func PlayUntil(stop <-chan struct{}, w *model.World, seed uint64, number uint32) (record.Replication, bool) {
	e := newRandom(w, seed, number, asFits)
	e.stop = stop
	if e.run(); e.stopped {
		return record.Replication{}, false
	}
	return e.record(number), true
}

// Play plays one replication: a pure function of world, seed and number.
func Play(w *model.World, seed uint64, number uint32) record.Replication {
	r, _ := PlayUntil(nil, w, seed, number)
	return r
}
