package twin

import "container/heap"

// sim is one play of a script.
type sim struct {
	scn *scenario
	fabric
	faults  []*fault
	changes []change

	now    int64
	round  int
	serial int
	queue  queue

	routers []router
	lines   []line
	bucket  tokenBucket
	reduced reduced
	births  int           // LSPs composed and adjacencies that came up so far
	detours map[int][]int // by direction: the directions of the way around it

	// What is so physically, as of the last physical change.
	fwd, ctl   []bool // router forwards; router has a control plane
	lit, alive []bool // link has light; link is alive (S5)
	pass       []bool // direction passes BFD packets
	helloPass  []bool // direction passes hellos

	truth truth
	meter meter
}

// router is all that one router knows and does.
type router struct {
	epoch   int // counts losses of the control plane: what was planned before is void
	db      map[int]*lsp
	seq     int
	gen     generation
	machine machine
	table   []entry        // in force, by destination leaf
	armed   int64          // when the event came that started the SPF timer
	asked   int64          // the same for the last run asked for
	ranFrom *source        // database of the last run that wrote, or had nothing to
	held    int64          // local delay: its writes begin then; 0: none
	heldFor int64          // and this much later than they could have
	kept    map[int]*entry // what it believes of entries that are never written
	pending []*write
	writing int64 // when the last writing ends
	runs    []*run
	runEnd  int64 // when the last run ends
	waiting int   // runs that wait for the one before to end

	hardOut    bool // the outage going on lost more than a kept restart does
	keptBack   bool // the last return was from a kept restart
	frozen     bool // S29
	bit        bool // overload until ready (S19)
	ready      bool // first complete table in force
	firstAdj   bool // first adjacency since the return was up
	exchanged  bool // its exchange has arrived
	completing *run
	back       int   // fault of the last return
	resumed    int64 // when the control plane came back

	spfRuns, originations []int64
}

// line is a link as its two ends see it.
type line struct {
	carrier     [2]bool // light and settle time (S5, S6)
	held        [2]bool // the end holds the adjacency
	upSince     int     // when it came up at both ends, as LSPs are born; 0: since before 0
	pending     []*lsp  // could not cross while the link was not alive (S12)
	signalToken int
	darkSince   int64
	settleToken int
	bfd         session
	hello       [2]helloEnd
	clock       [2]clock // BFD, by sending end
	damped      [2]damped
	helloClock  [2]clock // hellos, by sending end
}

// newSim sets up S3. Changes after the instant last are left out, unless it is
// negative (S24).
func newSim(scn *scenario, last int64) (*sim, error) {
	f, err := buildFabric(scn)
	if err != nil {
		return nil, err
	}
	s := &sim{scn: scn, fabric: *f, now: -1, detours: map[int][]int{}}
	if s.faults, s.changes, err = readScript(scn, f); err != nil {
		return nil, err
	}
	if last >= 0 {
		s.leaveOut(last)
	}
	s.routers = make([]router, len(s.names))
	s.lines = make([]line, len(s.links))
	s.look()
	s.meter.init(s)
	for l := range s.lines {
		s.lines[l] = line{carrier: [2]bool{true, true}, held: [2]bool{true, true}, damped: [2]damped{{fit: true}, {fit: true}}}
		s.startSenses(l)
	}
	db := map[int]*lsp{}
	for r := range s.routers {
		db[r] = s.compose(r, 1)
	}
	for r := range s.routers {
		s.startRouter(r, db)
	}
	s.now = 0
	s.bucket.tokens = scn.Flooding.Pacing.Burst
	s.reduced.in = s.topology()
	s.reduced.temporary = make([]bool, len(s.names))
	s.startMachines()
	s.planScript()
	s.truthNow()
	return s, nil
}

func (s *sim) startRouter(r int, db map[int]*lsp) {
	x := &s.routers[r]
	x.db = copyDB(db)
	x.seq, x.ready, x.firstAdj, x.exchanged = 1, true, true, true
	source := &source{db: copyDB(db), own: s.heldLinks(r)}
	x.ranFrom = source
	hops := s.tableFrom(r, source)
	for d := range s.leaves {
		x.table = append(x.table, entry{hops[d], source})
	}
}

// leaveOut drops the changes after an instant.
func (s *sim) leaveOut(last int64) {
	kept := s.changes[:0:0]
	for _, c := range s.changes {
		if c.t <= last {
			kept = append(kept, c)
		}
	}
	s.changes = kept
	for _, x := range s.faults {
		if x.end > last {
			x.end = -1
		}
	}
}

// planScript plans the instants of the script: one physical change, one operator
// action each.
func (s *sim) planScript() {
	seen := map[[2]int64]bool{}
	s.round = 0
	for _, c := range s.changes {
		kind := evPhysical
		if s.faults[c.fault].kind == "drain" {
			kind = evOperator
		}
		if k := [2]int64{c.t, int64(kind)}; !seen[k] {
			seen[k] = true
			s.plan(c.t, event{kind: kind})
		}
	}
}

// play works through every instant before the horizon.
func (s *sim) play() {
	horizon := int64(s.scn.Horizon)
	s.meter.measure(s, true)
	for len(s.queue) > 0 && s.queue[0].t < horizon {
		s.now = s.queue[0].t
		for len(s.queue) > 0 && s.queue[0].t == s.now {
			e := heap.Pop(&s.queue).(*event)
			s.round = e.round
			s.handle(e)
		}
		s.instantEnds()
		s.round = 0
	}
	s.now = horizon
	s.meter.close(s)
	for r := range s.routers {
		s.machineAccount(r)
	}
}
