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
		{Family: DoublingA, Maximum: 10, Wait: 10},
		{Family: DoublingB, Maximum: 11, Wait: 10},
	} {
		if s.Check() == nil {
			t.Errorf("%+v was accepted", s)
		}
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
