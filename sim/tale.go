package sim

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"halflight/model"
	"halflight/model/fabric"
	"halflight/sim/linkstate"
	"halflight/sim/record"
	"halflight/sim/repair"
)

// Want says which fault of a replication to tell of: the one with that index,
// or the one that cost most if Worst.
type Want struct {
	Fault int32
	Worst bool
}

// Line is one thing that happened, or several of a kind at one instant.
type Line struct {
	At    int64 // ns since the onset of the fault
	Text  string
	Share float64 // lost share of all demand from then on
}

// Tale is the story of one fault, from its onset until what it did is over.
type Tale struct {
	Fault  record.Fault
	Kind   string
	Mode   string
	Phases []string
	Lines  []Line
	Cut    bool // more happened than is told
}

// tellMost is how many lines a tale may have.
const tellMost = 400

// Story tells of one fault of a random replication. It returns an error if
// there is no such fault.
func Story(w *model.World, seed uint64, number uint32, want Want) (*Tale, error) {
	r := Play(w, seed, number)
	var found *record.Fault
	for i := range r.Faults {
		f := &r.Faults[i]
		switch {
		case !want.Worst && f.Index == want.Fault:
			found = f
		case want.Worst && (found == nil || f.LostSeconds > found.LostSeconds):
			found = f
		}
	}
	if found == nil && want.Worst {
		return nil, fmt.Errorf("replication %d has no fault in its measured time", number)
	}
	if found == nil {
		return nil, fmt.Errorf("replication %d has no fault %d in its measured time; its faults are numbered with gaps, see replications.jsonl", number, want.Fault)
	}
	e := newRandom(w, seed, number, asFits)
	const after = 120_000_000_000
	e.ledger.Listen = true
	e.tellServers()
	e.tale = &teller{from: found.Onset, until: found.Onset + after, id: found.Index}
	if found.End != record.None {
		e.tale.again = found.End
	}
	e.run()
	h := HeaderOf(w)
	return &Tale{Fault: *found, Kind: h.Modes[found.Mode].Kind, Mode: h.Modes[found.Mode].Name, Phases: h.Phases,
		Lines: e.tale.lines, Cut: e.tale.cut}, nil
}

// teller listens to a replication around one fault.
type teller struct {
	from, until int64
	again       int64 // the end of the fault, which is told of too
	id          int32
	lines       []Line
	now         []string
	runs, wrote [4]int // by class of router
	share       float64
	cut         bool
	servers     []ServersDid
}

// listens says whether what happens now is told.
func (t *teller) listens(now int64) bool {
	return t != nil && (now >= t.from && now <= t.until || t.again > 0 && now >= t.again && now <= t.again+(t.until-t.from))
}

func (e *engine) tell(format string, args ...any) {
	if e.tale.listens(e.now) {
		e.tale.now = append(e.tale.now, fmt.Sprintf(format, args...))
	}
}

// tellTask notes what a task of the control plane did.
func (e *engine) tellTask(k linkstate.Kind, a int32) {
	if !e.tale.listens(e.now) {
		return
	}
	switch k {
	case linkstate.Originate:
		e.tell("%s ends its LSP-generation wait", e.f.Routers[a].Name)
	case linkstate.Expire, linkstate.Start:
		for i, r := range e.control.Runs {
			if i > 0 && e.control.Runs[i-1].Router == r.Router {
				continue // it ran because of several faults
			}
			e.tale.runs[e.f.Routers[r.Router].Class]++
		}
	}
}

// tellWrites tells of the next write if it comes before an event, or the end.
func (e *engine) tellWrites(event int64, more bool, to int64) bool {
	at := e.ledger.Next()
	if at >= to || more && at >= event || !e.tale.listens(at) {
		return false
	}
	e.now, e.outside = at, false
	e.ledger.CatchUp(at)
	e.tellSettled()
	return true
}

// tellSettled closes an instant of the tale.
func (e *engine) tellSettled() {
	t := e.tale
	if !t.listens(e.now) {
		e.ledger.Wrote = e.ledger.Wrote[:0]
		return
	}
	slices.Sort(e.ledger.Wrote) // one of each router, however many of its entries were written
	for _, x := range slices.Compact(e.ledger.Wrote) {
		t.wrote[e.f.Routers[x].Class]++
	}
	e.ledger.Wrote = e.ledger.Wrote[:0]
	t.flushServers()
	for class, n := range t.runs {
		if n > 0 {
			t.now = append(t.now, "SPF runs at "+several(n, fabric.Class(class)))
		}
	}
	share := e.ledger.Share()
	moved := math.Abs(share-t.share) > 1e-12
	for class, n := range t.wrote {
		if n > 0 && (moved || len(t.now) > 0) {
			t.now = append(t.now, "tables change at "+several(n, fabric.Class(class)))
		}
	}
	t.runs, t.wrote = [4]int{}, [4]int{}
	if len(t.now) == 0 && !moved {
		return
	}
	if len(t.lines) >= tellMost {
		t.cut, t.now = true, t.now[:0]
		return
	}
	t.lines = append(t.lines, Line{e.now - t.from, strings.Join(t.now, "; "), share})
	t.now, t.share = t.now[:0], share
}

func several(n int, c fabric.Class) string {
	if n == 1 {
		return "1 " + c.String()
	}
	if c == fabric.Leaf {
		return fmt.Sprintf("%d leaves", n)
	}
	return fmt.Sprintf("%d %ss", n, c)
}

// tellStep notes a step of a fault's course.
func (e *engine) tellStep(f *fault, step int32) {
	switch {
	case step == stepBegin:
		e.tell("%s begins on %s", f.Kind, f.on)
	case step == stepEnd:
		e.tell("%s ends on %s", f.Kind, f.on)
	case step%2 == 0:
		e.tell("carrier off on %s", f.on)
	default:
		e.tell("carrier on on %s", f.on)
	}
}

// tellAction notes what the operator does.
func (e *engine) tellAction(a repair.Action) {
	switch a.Deed {
	case repair.DrainLink, repair.UndrainLink, repair.RefuseLink:
		e.tell("operator: %s, %s", a.Deed, e.f.Links[a.Part].Name)
	case repair.DrainRouter, repair.UndrainRouter, repair.RefuseRouter, repair.DrainPorts, repair.UndrainPorts, repair.Restart:
		e.tell("operator: %s, %s", a.Deed, e.f.Routers[a.Part].Name)
	default:
		e.tell("operator: %s", a.Deed)
	}
}
