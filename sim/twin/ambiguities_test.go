package twin

// Where the rules leave a choice, and what the twin does. "Open" marks choices
// that a second program may well make otherwise without being wrong.
//
// Left out altogether: S27 (server groups), jitter and everything
// random.
//
// Time and order
//
//	A1  S4   Within the timers of one round: by router, then SPF, LEARN, HOLDDOWN,
//	         quiet, LSP generation. Of detections ends that go down come before ends
//	         that come up, at whatever router, and these before delayed prunes.
//	A2  S4   What is due at the horizon itself is not played.
//	A3  S4   Drains of one instant are taken together like physical changes: a
//	         drain that ends as another begins asks for nothing.
//	A4  S16  A run that waited starts in the round in which the run before ends,
//	         directly after it. Each timer that expires while a run is under way
//	         makes a run of its own; they queue. spf_runs_ns are starts of runs.
//	A5  S16  An SPF timer that expires at the very end of the run before starts its
//	         run at once (timers come before the end of a run): with the database
//	         before the arrivals of that instant.
//	A6  S15  The families count a run (mode, doubling, "run before" of form b) when
//	         the SPF timer expires, not when a delayed run starts.
//	A7  S15  two_step: quiet sets the count of rapid runs to 0 in either mode. The
//	         run that makes the count full switches to slow. Form b: the quiet
//	         time is counted from the last event, as in form a, and nothing is
//	         known of runs before it.
//	A7b S15  A quiet time that ends while the SPF timer runs counts from that run on.
//	A8  S9   The wait of LSP generation moves to its next step also when the LSP
//	         turns out to equal the one before.
//
// Detection
//
//	A9  S7   A fault at 0: the last packet left one interval before 0.
//	A10 S7   The other end is told by the first packet strictly after the end went
//	         down that passes; if it does not pass, by the next one that does.
//	A11 S7   While a session settles, a direction that only drops (loss or share 1)
//	         does not stop the count unless interval x multiplier passes, counted
//	         from the last packet or the start of settling, whichever is later. A
//	         link that is cut, or whose router dies, starts the count anew.
//	A12 S5-8 Light, BFD and hellos are independent judges: an end holds its
//	         adjacency while all that are on agree.
//	A13 S6   When a router is back, the neighbours' ends that are still up go down at
//	         that instant in the second round, even if the link itself is cut. BFD
//	         sessions and hello ends of its links start as down, at both ends, and
//	         settle once they pass. (Not after a restart with tables kept.)
//	A14 S28  A router hung in its data plane is dead in all respects but its light:
//	         tables, database and timers are lost. "At the end it returns by S6" is
//	         read for both planes. A dead router's end of a link is down at once and
//	         silently; nothing counts time in its back-off states.
//	A15 S29  A restart under another outage of the same router: the outage counts as
//	         kept only if nothing but kept restarts took part.
//
// Flooding
//
//	A16 S11  A router that was dead in between, but lives at the instant of arrival,
//	         gets the LSP. A waiting flood (S13) of a router that dies is dropped and
//	         takes no token.
//	A17 S12  "Came up since the LSP was originated": after it, in the order of events. One
//	         that came up before, at the same instant, is of those it was flooded over.
//	A18 S12  Every flood notes the links that were dead with the adjacency up at both
//	         ends; when such a link is alive again, or an end first gets the LSP
//	         later, the end that holds that very LSP (not a newer one) sends it, even
//	         if the other end has it by then. The note is kept until an end goes down.
//	A19 S12  LSPs of an exchange or a crossing, once sent, arrive whatever happens to
//	         the link; the receiver must have a control plane.
//	A20 S12  LSPs passed over a link (exchange, late adjacency, crossing) that are new
//	         at the other end are flooded from there; LSPs that came by S11 are not
//	         flooded again. A flood that reaches nobody still takes a token.
//	A20b S4   Of arrivals at one instant LSPs that were flooded come first, by origin,
//	         the newer of two versions first; then what comes over one adjacency, as
//	         a whole, by link (with pacing one by one, by origin, the newer first).
//	A21 S13  The clock of the next token starts when the bucket stops being full.
//	         Floods wait in the order in which they were asked for. The waiting order
//	         comes before a flood asked for at the same instant.
//	A22 S14  The first LSP of an origin that a router gets is an event, whatever it
//	         says. With second_lsp_counts false: compared are links listed by both
//	         ends, their metrics, and the overload bits of all LSPs held.
//
// SPF and tables
//
//	A23 S17  Changed is judged at the end of the run; a run without changes writes
//	         nothing and takes no base time.
//	A24 S18  With a prune delay of 0 the prune is part of the detection. "Up again by
//	         then" looks at that instant only. Ends that go down at one instant are
//	         detected in link order: of two last next hops the later link stays.
//	A25 S19  "The exchange on its first adjacency": the first to be up at both ends;
//	         at one instant, the first in the order of events. "Started after" is in
//	         the order of events. Ready asks for an LSP even if the bit does not
//	         change (a leaf with overload.leaves, a drained router). Open.
//	A26 S29  No write until the first complete table: earlier runs write nothing; the
//	         entries of that run come into force together, when the last is due. Open.
//	A27      Two slow faults multiply. Slowed times round to the nearest ns. The
//	         exchange time of S12 is not slowed, its per_hop is (by the sender).
//
// Forwarding
//
//	A28 S22  A packet has one size: of several oversize faults on a path only the
//	         narrowest counts (they are not independent). Sizes are uniform and
//	         continuous on 500 to 1500 bytes. Open.
//	A29 S21  Polarised: the label runs over the least common multiple of the sizes of
//	         all sets in force anywhere.
//	A30 S22  Gray losses are taken in the order of the path; what is left when the flow
//	         loops or meets a dead link is lost there.
//
// Charging
//
//	A31 S23  Oldest: by onset, then by place in the script. A fault with a pause
//	         (flapping) is as old as its `at`.
//	A32 S23  All that one direction drops goes to the oldest of its lossy, holed and
//	         oversize faults together.
//	A33 S23  A dead leaf at either end: the oldest fault at either.
//	A34 S23  Links are compared two-way. Metrics only if the link is in both. Bits of
//	         dead routers, and of routers the database has not, are not compared.
//	A35 S23  A link whose truth changes at an instant: the oldest of the faults with a
//	         change at that instant that can cut it or stop a router at its end; of
//	         those that go that way (end as it comes, begin as it goes), if any. The
//	         bit of a router that is back (until_ready) was changed by that return,
//	         unless a drain begins or ends at that instant. A
//	         flapping fault goes that way with its first cut, which may come later.
//	A36 S23  The first router that has not converged, but whose database equals the
//	         truth: its own adjacencies at the time of the run are compared too; if
//	         they agree as well, the next router that has not converged is asked; at
//	         last the rule of "all converged", and after that the last fault to change
//	         (no fault in force). Open.
//	A37 S23  "Without which a route would exist": the converged table of the source
//	         without that fault has a next hop. Damping of a link that it touches
//	         would not be there either.
//	A38 S23  Light-on faults that no clock sees: the ends stay as they are now (up if
//	         up, down if down). The same for ends towards a router without a control
//	         plane.
//	A39 S24  "Open" and a repair value: a fault whose end is at or after the horizon is
//	         open. The end of `changes` of even number is its last one. Full
//	         Convergence Time looks at instants strictly between onset and end, the
//	         repair value at those after the end.
//	A40 S24  Played alone: changes at the onset's own instant stay, also those of other
//	         faults; ends of earlier faults that fall later are left out.
//	A41 S25  The overload bits of "the truth" are those configured or drained. A link is
//	         alive although a hole of share 1 is in it, but it makes no path unless both
//	         ends will list it. A flow is lost entirely also to
//	         a black hole of any share, to a loss of 1, and to an oversize fault that
//	         stops every packet left.
