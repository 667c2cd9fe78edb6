package studies

import (
	"bytes"
	"context"
	"encoding/json"
	"testing"

	"halflight/model"
	"halflight/scenarios"
)

// loading loads shipped scenarios.
func loading(t *testing.T, told func(done, total int)) *Host {
	return &Host{Program: "test", Workers: 2, Told: told, Load: func(name string, set []string) (*Scenario, error) {
		text, ok := scenarios.Source(name)
		if !ok {
			t.Fatalf("no scenario %s", name)
		}
		s, problems := scenarios.Parse(name, text, set...)
		if problems.Any() {
			return nil, problems
		}
		w, _ := model.Build(s)
		return &Scenario{Scenario: s, World: w, Digest: "x"}, nil
	}}
}

func asked() *Weighing {
	return &Weighing{Name: "orchard", Set: []string{"replications=9", "horizon=60d", "warm_up=30d"}, Only: []string{"probes", "drops"}, Level: 0.95}
}

// Stopped after some replications of every set, a weighing keeps the numbers that
// all of them have, says that it is partial, and still answers.
func TestStoppedWeighing(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	a := asked()
	h := loading(t, func(done, total int) {
		if done > total/2 {
			cancel()
		}
	})
	if _, _, _, err := a.Open(h); err != nil {
		t.Fatal(err)
	}
	w, partial, err := a.Run(ctx, h)
	if err != nil || !partial || w.Replications < 3 || w.Replications >= 9 {
		t.Fatalf("%+v, partial %v, %v", w, partial, err)
	}
	var b bytes.Buffer
	if err := w.WriteJSON(&b); err != nil || !json.Valid(b.Bytes()) {
		t.Error(err)
	}
	// Before anything is finished there is nothing to keep.
	a = asked()
	if _, _, _, err := a.Open(h); err != nil {
		t.Fatal(err)
	}
	if _, partial, err := a.Run(ctx, h); err == nil || !partial {
		t.Errorf("stopped before it began: partial %v, %v", partial, err)
	}
}

// Each distinct set is played once a replication: with two instruments none, two
// alone and both, and at each of three other times none and two alone; the order
// of purchase needs no more than that.
func TestEachSetOnce(t *testing.T) {
	most := 0
	h := loading(t, func(done, total int) { most = max(most, total) })
	a := asked()
	if _, _, _, err := a.Open(h); err != nil {
		t.Fatal(err)
	}
	if _, partial, err := a.Run(context.Background(), h); err != nil || partial || most != 9*(4+3*3) {
		t.Errorf("%d plays, want %d; partial %v, %v", most, 9*13, partial, err)
	}
}
