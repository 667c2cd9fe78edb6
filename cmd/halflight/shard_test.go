package main

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"halflight/cmd/halflight/shards"
	"halflight/cmd/halflight/status"
	"halflight/results"
)

// Shards that are whole, and yet not what this program would have made of their
// scenario, are refused.
func TestMergeRefusesOthers(t *testing.T) {
	inFolder(t)
	var out, errOut bytes.Buffer
	if code := run([]string{"run", "lull", "--replications", "2", "--horizon", "1h", "--set", "warm_up=10min", "--shard", "0/1", "--out", "parts"}, nil, &out, &errOut); code != 0 {
		t.Fatalf("status %d: %s", code, errOut.String())
	}
	name := shards.Name(results.Range{From: 0, To: 2})
	for _, c := range []struct {
		folder, say string
		alter       func(s *results.Set)
	}{
		{"same", "", func(*results.Set) {}},
		{"version", "merge with the program that simulated", func(s *results.Set) { s.Study.Program = "another" }},
		{"scenario", "is not the one they were simulated with", func(s *results.Set) { s.Scenario = strings.Replace(s.Scenario, "warm_up: 10min", "warm_up: 9min", 1) }},
		{"setting", "is not the one they were simulated with", func(s *results.Set) { s.Study.Digest = strings.Repeat("0", 64) }},
	} {
		set, err := results.Read(os.DirFS("parts"), name)
		if err != nil {
			t.Fatal(err)
		}
		c.alter(set)
		to, err := shards.Open(c.folder)
		if err != nil {
			t.Fatal(err)
		}
		if err := set.Write(to, name); err != nil {
			t.Fatal(err)
		}
		want := status.Conflict
		if c.say == "" {
			want = status.Done
		}
		errOut.Reset()
		if code := run([]string{"merge", c.folder, "--out", c.folder + "-whole"}, nil, &out, &errOut); code != want || !strings.Contains(errOut.String(), c.say) {
			t.Errorf("%s: status %d, want %d: %s", c.folder, code, want, errOut.String())
		}
	}
}
