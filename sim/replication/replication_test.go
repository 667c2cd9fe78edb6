package replication

import (
	"context"
	"encoding/json"
	"testing"
	"time"

	"halflight/model"
	"halflight/scenarios"
)

func world(t *testing.T, name string, set ...string) *model.World {
	t.Helper()
	text, ok := scenarios.Source(name)
	if !ok {
		t.Fatal("no scenario", name)
	}
	s, problems := scenarios.Parse(name, text, set...)
	if problems.Any() {
		t.Fatal(problems.String())
	}
	w, more := model.Build(s)
	if len(more) > 0 {
		t.Fatal(more)
	}
	return w
}

func TestPrint(t *testing.T) {
	w := world(t, "tidewater")
	begin := time.Now()
	r, err := Run(context.Background(), w, Options{Workers: 1, Seed: 1, Count: 1})
	if err != nil {
		t.Fatal(err)
	}
	t.Log(time.Since(begin))
	for _, f := range r.Replications[0].Faults {
		_ = f
	}
	rep := r.Replications[0]
	t.Log(len(rep.Faults))
	rep.Faults = rep.Faults[:min(10, len(rep.Faults))]
	b, _ := json.MarshalIndent(rep, "", " ")
	t.Log(string(b[:min(len(b), 9000)]))
}
