package twin

import (
	"flag"
	"testing"

	"halflight/model"
	"halflight/scenarios"
	play "halflight/sim"
)

// only picks one random script, for a closer look.
var only = flag.Int("only", -1, "compare one random script and print it")

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

// The fast engine and the plain program agree on random scripts.
func TestEngineAgreesWithTwin(t *testing.T) {
	for seed := range uint64(scripts()) {
		text := Generate(seed)
		want, err := Play([]byte(text))
		if err != nil {
			t.Fatal(seed, err)
		}
		if *only >= 0 && int(seed) != *only {
			continue
		}
		if *only >= 0 { // for a closer look at one script
			t.Log(text)
		}
		if d := Differ(want, engine(t, text)); d != "" {
			t.Errorf("seed %d: %s", seed, d)
		}
	}
}

func scripts() int { return 400 }
