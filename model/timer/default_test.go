package timer

import (
	"math"
	"testing"
)

// RFC 8405, section 6: INITIAL_SPF_DELAY 50 ms, SHORT_SPF_DELAY 200 ms,
// LONG_SPF_DELAY 5,000 ms, TIME_TO_LEARN_INTERVAL 500 ms, HOLDDOWN_INTERVAL
// 10,000 ms.
func TestRFC8405Defaults(t *testing.T) {
	s := DefaultSPF(RFC8405)
	if s != (SPF{Family: RFC8405, Initial: 50e6, Short: 200e6, Long: 5000e6, TimeToLearn: 500e6, Holddown: 10000e6}) {
		t.Errorf("%+v", s)
	}
}

// 688 routers and 7,680 links give 4.9 ms, 2,880 and 55,296 give 29 ms, a
// thousand nodes and 64,000 directions about 15 ms (arithmetic on an assumed
// formula; RFC 5714, section 4, says "a few ms").
func TestSPFRun(t *testing.T) {
	for _, c := range []struct {
		routers, links int
		want           int64
	}{{688, 7680, 4_900_000}, {2880, 55296, 29_200_000}, {1000, 32000, 15_300_000}, {2, 1, 500_000}} {
		if got := SPFRun(c.routers, c.links); got != c.want {
			t.Errorf("%d routers, %d links: %d ns, want %d", c.routers, c.links, got, c.want)
		}
	}
	for n := 1; n < 10000; n += 7 {
		if got, want := log2(n), math.Log2(float64(n)); math.Abs(got-want) > 3e-9 {
			t.Errorf("log2(%d) = %v, want %v", n, got, want)
		}
	}
}

func TestDefaultsKeepTheRules(t *testing.T) {
	for _, f := range []Family{RFC8405, DoublingA, DoublingB, TwoStep} {
		if err := DefaultSPF(f).Check(); err != nil {
			t.Errorf("%s: %v", f, err)
		}
	}
	d := Default(1, true)
	if err := d.LSPGeneration.Check(); err != nil || d.Settle < d.Signal {
		t.Errorf("%v %+v", err, d)
	}
	if d.BFDJitter != 0.25 || Default(1, false).BFDJitter != 0 {
		t.Error("jitter is chance: a quarter (RFC 5880, section 6.8.7), and none without chance")
	}
}

func TestCheckRefuses(t *testing.T) {
	for _, s := range []SPF{
		{Family: RFC8405, TimeToLearn: 5, Holddown: 5}, // RFC 8405, section 3: must be greater
		{Family: TwoStep},
	} {
		if s.Check() == nil {
			t.Errorf("%+v was accepted", s)
		}
	}
	if (Doubling{Maximum: 10, Wait: 10}).Check() == nil { // of LSP generation
		t.Error("a wait that would count as quiet was accepted")
	}
	// RFC 8541, section 4.2, leaves the quiet time of SPF delays free.
	if err := (SPF{Family: DoublingA, Maximum: 11, Wait: 10}).Check(); err != nil {
		t.Error(err)
	}
}

func TestNotes(t *testing.T) {
	grades := map[string]bool{"A": true, "B": true, "C": true, "D": true, "CP": true, "A/D": true, "A/CP": true}
	seen := map[string]bool{}
	for _, n := range Notes {
		if n.Source == "" || !grades[n.Grade] || seen[n.Path] || n.Range == "" && n.Wide > 0 {
			t.Errorf("%+v", n)
		}
		seen[n.Path] = true
	}
}

// Defaults that are said to be those of a standard, by the standard's numbers.
func TestDefaultsOfStandards(t *testing.T) {
	d := Default(1, true)
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"RFC 7196 table 1: penalty of a withdrawal", d.Damping.Increment, 1000},
		{"RFC 7196 table 1: reuse threshold", d.Damping.Reuse, 750},
		{"RFC 7196 table 1: half-life of 15 min, ns", float64(d.Damping.HalfLife), 15 * 60e9},
		{"RFC 7196 table 1: at most 60 min, ns", float64(d.Damping.Hold), 60 * 60e9},
		{"RFC 7196 section 6: cut-off of at least 6,000", d.Damping.CutOff, 6000},
		{"RFC 9681 section 6.2.4.1: burst of 10", float64(d.Window.Burst), 10},
		{"RFC 9681 section 6.2.4.1: receive window of 60", float64(d.Window.Receive), 60},
		{"RFC 9681 section 6.2.4.1: 15 LSPs an acknowledgement", float64(d.Window.PerAck), 15},
		{"RFC 9681 sections 5.1, 6.2.4.1: acknowledged within 200 ms, ns", float64(d.Window.AckDelay), 200e6},
		{"ISO/IEC 10589 as RFC 9681 section 3 quotes it: 33 ms between LSPs, ns", float64(d.Window.Interval), 33e6},
		{"RFC 1142 (a draft of ISO/IEC 10589), its defaults: helloTimer of 10 s, ns", float64(d.HelloInterval), 10e9},
		{"RFC 1142 section 7.5.1: holdingMultiplier of 3, so 30 s", float64(d.HelloMultiplier), 3},
	} {
		if c.got != c.want {
			t.Errorf("%s: %v", c.what, c.got)
		}
	}
	if d.Damping.On || d.Lossy || d.FloodingDegree != 0 || d.Ordered || d.LocalDelay != 0 || d.Window.On {
		t.Errorf("an option of RFC 2439, 9667, 6976, 8333 or 9681 is on: %+v", d)
	}
	// RFC 7419, section 3: the common intervals are 3.3, 10, 20, 50, 100 ms and 1 s.
	common := map[int64]bool{3_300_000: true, 10e6: true, 20e6: true, 50e6: true, 100e6: true, 1e9: true}
	if !common[d.BFDInterval] || common[300e6] {
		t.Errorf("a BFD interval of %d ns is not among the common ones", d.BFDInterval)
	}
}
