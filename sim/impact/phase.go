package impact

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
	FIBUpdate                // table writes
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
