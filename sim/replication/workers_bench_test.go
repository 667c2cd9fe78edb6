package replication

import (
	"testing"
	"time"

	"halflight/model"
	"halflight/scenarios"
)

// BenchmarkWorkers tells how many times as fast two workers are as one, by the clock:
// 64 replications of six hours of storm, or 20 of ten days of tidewater, as many as it
// has: with few, one worker waits for the other at the end. At least 1.9, on two
// processors with nothing else to do.
func BenchmarkWorkers(b *testing.B) {
	for _, c := range []struct {
		name  string
		count int
		set   []string
	}{{"storm", 64, []string{"horizon=6h", "warm_up=1h"}}, {"tidewater", 20, []string{"horizon=10d", "warm_up=1d"}}} {
		b.Run("scenario="+c.name, func(b *testing.B) {
			text, _ := scenarios.Source(c.name)
			s, problems := scenarios.Parse(c.name, text, c.set...)
			if problems.Any() {
				b.Fatal(problems.String())
			}
			w, more := model.Build(s)
			if len(more) > 0 {
				b.Fatal(more)
			}
			var took [3]time.Duration
			for b.Loop() {
				for _, workers := range []int{1, 2} {
					begun := time.Now()
					if _, err := Run(b.Context(), w, Options{Workers: workers, Seed: 1, Count: c.count}); err != nil {
						b.Fatal(err)
					}
					took[workers] += time.Since(begun)
				}
			}
			b.ReportMetric(took[1].Seconds()/took[2].Seconds(), "times-as-fast")
		})
	}
}
