package twin

import (
	"flag"
	"testing"

	"halflight/model"
	"halflight/scenarios"
	play "halflight/sim"
)

var (
	// only picks one random script, for a closer look.
	only = flag.Int("only", -1, "compare one random script and print it")
	// first and many pick those that TestEngineAgreesWithTwinOnMany plays.
	first = flag.Uint64("first", 60_000, "`seed` of the first random script of each kind")
	many  = flag.Int("many", 20, "`number` of random scripts of each kind")
)

// engine plays a script with the engine.
func engine(t *testing.T, text string) *Result {
	t.Helper()
	s, problems := scenarios.Parse("script", []byte(text))
	if problems.Any() {
		t.Fatal(problems.String())
	}
	w, more := model.Build(s)
	if len(more) > 0 {
		t.Fatal(more)
	}
	return asResult(play.Script(w))
}

func optional(v int64) *int64 {
	if v < 0 {
		return nil
	}
	return &v
}

// asResult puts the engine's outcome into the twin's form.
func asResult(p *play.Played) *Result {
	r := &Result{LostSeconds: p.LostSeconds, Routers: map[string]Router{}, RouteLossNS: []PairLoss{}}
	for _, s := range p.LostShare {
		r.LostShare = append(r.LostShare, Step{T: s.At, Share: s.Share})
	}
	for _, f := range p.Faults {
		r.Faults = append(r.Faults, FaultResult{Index: f.Index, On: f.On, Kind: f.Kind, Full: optional(f.FullConvergence),
			Repair: optional(f.RepairConvergence), Isolated: optional(f.Isolated), Open: f.Open, LostSeconds: f.LostSeconds})
	}
	for _, x := range p.Routers {
		b := map[string]int64{}
		for i, s := range p.States {
			b[s] = x.Backoff[i]
		}
		r.Routers[x.Name] = Router{SPFRuns: append([]int64{}, x.Runs...), Originations: append([]int64{}, x.Originations...), Backoff: b}
	}
	for _, l := range p.RouteLoss {
		r.RouteLossNS = append(r.RouteLossNS, PairLoss{From: l.From, To: l.To, NS: l.Time})
	}
	return r
}

// endless are scripts of every kind that the plain program walks for minutes:
// several hundred labels along every path.
var endless = map[uint64]bool{245: true}

// scripts is how many random scripts are compared.
const scripts = 400

// The fast engine and the plain program agree on random scripts: every instant,
// every share to 1e-12, every charge.
func TestEngineAgreesWithTwin(t *testing.T) { agree(t, Generate, scripts) }

// The same with control planes that hang, restart with their tables, or are
// slow, and tables that are not written.
func TestEngineAgreesWithTwinOnControlPlanes(t *testing.T) {
	agree(t, func(seed uint64) string {
		if endless[seed] {
			seed += scripts
		}
		return GenerateAll(seed)
	}, scripts)
}

// Scripts on which the engine once charged another fault: it did not ask the next router on
// the way, went by what a router holds now instead of what it held as its run began, or
// missed that a run which changed nothing had ended.
func TestEngineAgreesWithTwinOnCharges(t *testing.T) {
	found := []uint64{501, 551, 612, 627, 738, 744, 800, 940, 1201, 1481, 1492}
	agree(t, func(i uint64) string { return Generate(found[i]) }, len(found))
	found = []uint64{736, 865, 1136, 1305, 2737, 4238, 6226, 6495, 7444}
	agree(t, func(i uint64) string { return GenerateAll(found[i]) }, len(found))
}

// Scripts on which either program once charged another fault, or did something else: of
// damping and a fault that has nothing to do with it, of a link that went and came at one
// instant, of a write that left an entry as it was, of the bit of a dead router, of a
// restart of a router that hung, of ready tables with writes under way, and of LSPs
// that come over an adjacency to a router that has a newer one, has had them until it
// died, or is cut off as the link stops to lose all.
func TestEngineAgreesWithTwinOnWhatDiffered(t *testing.T) {
	found := []uint64{1524, 20082, 23671, 24973, 26983, 29258}
	agree(t, func(i uint64) string { return Generate(found[i]) }, len(found))
	found = []uint64{440, 796, 837, 914, 967, 1505, 1589, 21365, 40783}
	agree(t, func(i uint64) string { return GenerateAll(found[i]) }, len(found))
	found = []uint64{44, 21035, 27630, 40783, 62827}
	agree(t, func(i uint64) string { return GenerateReduced(found[i]) }, len(found))
}

// Scripts of all kinds, as many and from where one likes.
func TestEngineAgreesWithTwinOnMany(t *testing.T) {
	kinds := []func(uint64) string{Generate, GenerateAll, GenerateMixed, GenerateReduced, GenerateQuick, GenerateSizes}
	for k, name := range []string{"plain", "all", "mixed", "reduced", "quick", "sizes"} {
		t.Run(name, func(t *testing.T) {
			agree(t, func(i uint64) string { return kinds[k](*first + i) }, *many)
		})
	}
}

func agree(t *testing.T, generate func(uint64) string, scripts int) {
	t.Helper()
	for seed := range uint64(scripts) {
		if *only >= 0 && int(seed) != *only {
			continue
		}
		text := generate(seed)
		if *only >= 0 {
			t.Log(text)
		}
		want, err := Play([]byte(text))
		if err != nil {
			t.Fatal(seed, err)
		}
		if d := Differ(want, engine(t, text)); d != "" {
			t.Errorf("seed %d: %s", seed, d)
		}
	}
}
