package results

import (
	"testing"

	"halflight/sim/record"
)

func TestMostHurt(t *testing.T) {
	// 30 of 52 lost seconds... kind lossy 36, hard 16; phases unnoticed 36, spf_wait 6,
	// stranded 10; budget burn 0.3.
	got := Summarise(handSet(), Options{}).Sentences[0]
	want := "What hurt applications most: faults of kind lossy, with 69.2 % of all lost seconds (6.00 s per month); " +
		"of the phases, unnoticed leads with 69.2 %; the class calls burns 0.300 of its error budget; chance may have put it before kind hard."
	if got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

func TestNoiseAgainstQuietByWaits(t *testing.T) {
	// Three faults in noise. Half of replication 0 waits as in the summary's test; the
	// timers are at rest in 2/3 of the time.
	got := Summarise(handSet(), Options{}).Sentences[1]
	want := "What noise cost convergence: only 3 faults with a convergence time began in noise, fewer than 30, so the waits speak instead: " +
		"a fresh event would have waited 458 ms on average and 50.0 ms at p99, of which 408 ms and 0 s beyond timers at rest; " +
		"timers were wound up 33.3 % of the time."
	if got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// evenSet has faults of 1, 2 ... 10 s in noise and a tenth of that in quiet, the
// same in every replication.
func evenSet(noise, quiet int) *Set {
	s := testSet(20)
	for i := range s.Replications {
		r := &s.Replications[i]
		for k := range 10 {
			f := testFault(r.From + int64(k))
			f.FullConvergence = int64(k+1) * 1000 * testMs
			f.Background = record.Noise
			if k < noise {
				r.Faults = append(r.Faults, f)
			}
			f.FullConvergence /= 10
			f.Background = record.Quiet
			if k < quiet {
				r.Faults = append(r.Faults, f)
			}
		}
	}
	return s
}

func TestNoiseAgainstQuietByFaults(t *testing.T) {
	got := Summarise(evenSet(10, 10), Options{}).Sentences[1]
	want := "What noise cost convergence: it took 5.50 s in the median and 10.0 s at p95 in noise, against 550 ms and 1.00 s in quiet, " +
		"10.0 times as long in the median."
	if got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	got = Summarise(evenSet(10, 1), Options{}).Sentences[1]
	want = "What noise cost convergence: only 20 faults with a convergence time began in quiet, fewer than 30, so the waits speak instead: " +
		"a fresh event would have waited 50.0 ms on average and 50.0 ms at p99, of which 0 s and 0 s beyond timers at rest; " +
		"timers were wound up 0 % of the time."
	if got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

func TestUnsureInputs(t *testing.T) {
	list := []Input{{"failures.optic-flap.episodes", "2e-4/d", "4e-5/d to 1.2e-2/d", "D"}, {"failures.optic-dirty.life", "20y", "", "D"},
		{"detection.settle", "2s", "0 to 60 s", "D"}, {"telemetry.complaints", "24h", "", "D"}}
	for n, want := range map[int]string{
		0: "Which input decides it: inputs: not varied; every one in force has a source or was given.",
		1: "Which input decides it: inputs: not varied; the largest without a source is failures.optic-flap.episodes = 2e-4/d (range 4e-5/d to 1.2e-2/d); measure or vary these before trusting the figures.",
		4: "Which input decides it: inputs: not varied; the largest without a source are failures.optic-flap.episodes = 2e-4/d (range 4e-5/d to 1.2e-2/d), " +
			"failures.optic-dirty.life = 20y, detection.settle = 2s (range 0 to 60 s), and 1 more; measure or vary these before trusting the figures.",
	} {
		if got := Summarise(handSet(), Options{Unsure: list[:n]}).Sentences[2]; got != want {
			t.Errorf("got  %s\nwant %s", got, want)
		}
	}
}
