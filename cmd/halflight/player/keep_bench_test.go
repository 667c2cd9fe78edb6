package player

import (
	"bytes"
	"path/filepath"
	"testing"
	"time"

	"halflight/model"
	"halflight/results"
	"halflight/scenarios"
	"halflight/sim/replication"
)

// BenchmarkKeep keeps a replication of tidewater in a journal, and writes it into
// a file of records, and tells what share of the time it took to play that is. At
// most 3 %.
func BenchmarkKeep(b *testing.B) {
	text, ok := scenarios.Source("tidewater")
	if !ok {
		b.Fatal("no tidewater")
	}
	s, problems := scenarios.Parse("tidewater", text)
	if problems.Any() {
		b.Fatal(problems)
	}
	w, more := model.Build(s)
	if len(more) > 0 {
		b.Fatal(more)
	}
	begun := time.Now()
	r, err := replication.Run(b.Context(), w, replication.Options{Workers: 1, Seed: 1, Count: 1})
	if err != nil {
		b.Fatal(err)
	}
	played := time.Since(begun)
	study := results.Study{Scenario: "tidewater", Seed: 1, Asked: 1, Program: "test", WarmUp: w.WarmUp, Horizon: w.Horizon}
	j, _, err := Open(filepath.Join(b.TempDir(), "journal"), study, r.Header)
	if err != nil {
		b.Fatal(err)
	}
	begun = time.Now()
	for b.Loop() {
		if err := j.Keep(&r.Replications[0]); err != nil {
			b.Fatal(err)
		}
		var file bytes.Buffer
		w, err := results.NewWriter(&file, study, study.Whole(), r.Header)
		if err != nil {
			b.Fatal(err)
		}
		if err := w.Append(&r.Replications[0]); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(100*time.Since(begun).Seconds()/float64(b.N)/played.Seconds(), "%-of-play")
}
