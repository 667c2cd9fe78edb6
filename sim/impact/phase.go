package impact

import (
	"math"

	"halflight/sim/linkstate"
	"halflight/sim/paths"
)

// Phase is what lost traffic is charged to beside its fault.
type Phase uint8

// The phases, in the order in which a failure lives through them; the last
// ones stand apart.
const (
	Unnoticed   Phase = iota // a gray fault that nobody has sighted
	Noticed                  // a gray fault after its first sighting
	Detection                // until an end of the link notices
	LSPWait                  // wait of LSP generation, as timers at rest give it
	Flooding                 // until the LSP arrives
	SPFWait                  // wait for the SPF run, as timers at rest give it
	Penalty                  // waits beyond that
	SPFRun                   // the run itself
	FIBUpdate                // table writes, and the wait for a prune
	Loop                     // packets that came back to a router
	Congestion               // too little capacity left
	Overlay                  // overlay sessions
	Maintenance              // drains and returns
	Stranded                 // no path was left
	Phases                   // how many there are
)

var phaseNames = [Phases]string{"unnoticed", "noticed", "detection", "lsp_wait", "flooding", "spf_wait", "penalty",
	"spf_run", "fib_update", "loop", "congestion", "overlay", "maintenance", "stranded"}

// PhaseNames returns the names of all phases in order.
func PhaseNames() []string { return phaseNames[:] }

// behind says where to look for the run that an entry waits for.
type behind struct {
	d      int32
	by     *linkstate.Progress // behind the write that is just in force; nil if there is none
	pruned bool                // no run is behind that, but a prune
	ahead  bool                // among the writes known ahead of the destination at hand
}

// isPrune says whether the next that is known of x's entry is a prune.
func (l *Ledger) isPrune(w behind, x int32) bool {
	if !w.ahead {
		return w.pruned
	}
	u := l.line.upcoming[x]
	return u > 0 && l.ctl.Writing(u-1).Run < 0 && paths.HopsIn(l.ctl.SetOf(u-1)) > 0
}

// progress is where a router stands on the way to an entry for which a run that began at an
// instant or later can do.
func (l *Ledger) progress(w behind, x int32, since int64) linkstate.Progress {
	switch {
	case w.ahead:
		for u := l.line.upcoming[x]; u > 0; {
			v := l.ctl.Writing(u - 1)
			if u = v.After; v.Run < 0 {
				continue
			}
			if n := l.ctl.Note(v.Run); n.From >= since {
				return linkstate.Progress{Armed: n.Armed, Expires: linkstate.Never, RunFrom: n.From, RunTo: n.To, Known: true}
			}
		}
		return l.ctl.ProgressOf(x)
	case w.by != nil && w.by.RunFrom >= since:
		return *w.by
	}
	return l.ctl.RunBehind(x, w.d, since)
}

// split charges an amount over [from, now) to the phases that router x went
// through meanwhile on the way to its table, change by change of the fault.
func (l *Ledger) split(fault, x int32, w behind, amount, from, now int64) {
	f := &l.Faults[fault]
	i := len(f.turns) - 1
	for i >= 0 && f.turns[i].at > from {
		i--
	}
	for ; from < now; i++ {
		t, until := turn{f.Onset, math.MaxInt64, math.MaxInt64}, now
		if i >= 0 {
			t = f.turns[i]
		}
		if i+1 < len(f.turns) {
			until = min(until, f.turns[i+1].at)
		}
		helps := until
		if i == len(f.turns)-1 && l.isPrune(w, x) { // x helps itself from when it noticed
			helps = min(until, max(from, f.noticed(x)))
		}
		if from < helps {
			l.splitTurn(fault, x, t, l.progress(w, x, t.detected), amount, from, helps)
		}
		l.mark(f, FIBUpdate, amount, helps, until)
		from = until
	}
}

// splitTurn is split within the time of one change of the fault.
func (l *Ledger) splitTurn(fault, x int32, t turn, p linkstate.Progress, amount, from, now int64) {
	f, seen := &l.Faults[fault], l.ctl.Heard(fault, x)
	switch {
	case p.Known && (seen < t.at || seen > p.RunFrom):
		// Of the run it is known that it could know.
		seen = min(max(p.Armed, t.originated), p.RunFrom)
	case !p.Known && seen < t.at:
		seen = math.MaxInt64 // its LSP has not arrived
	}
	mark := func(until int64, phase Phase) {
		until = min(until, now)
		l.mark(f, phase, amount, from, until)
		from = max(from, until)
	}
	mark(t.detected, Detection)
	if t.detected != math.MaxInt64 {
		mark(min(t.originated, t.detected+l.ctl.LSPRest()), LSPWait)
		mark(t.originated, Penalty)
	}
	mark(seen, Flooding)
	if seen > now { // it has not arrived
		return
	}
	rest, starts := l.ctl.SPFRest(x), p.RunFrom
	if starts < seen {
		if starts = p.Expires; starts == math.MaxInt64 {
			starts = seen
		}
	}
	mark(min(starts, seen+rest), SPFWait)
	mark(starts, Penalty)
	mark(p.RunTo, SPFRun)
	if !p.Known && p.RunFrom >= seen { // a run that knew of it did not do: more must arrive
		if p.Expires == math.MaxInt64 {
			mark(now, Flooding)
		}
		mark(p.Armed, Flooding)
		mark(min(p.Expires, p.Armed+rest), SPFWait)
		mark(now, Penalty)
	}
	mark(now, FIBUpdate)
}

// mark charges an amount over [from, until) to a phase.
func (l *Ledger) mark(f *Fault, phase Phase, amount, from, until int64) {
	if until > from {
		f.phases[phase] += float64(float64(amount) * float64(until-from))
	}
}
