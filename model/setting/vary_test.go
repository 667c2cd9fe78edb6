package setting_test

import (
	"strings"
	"testing"

	"halflight/model"
	"halflight/model/setting"
	"halflight/scenarios"
)

func shipped(t *testing.T, name string, set ...string) []setting.Setting {
	t.Helper()
	text, ok := scenarios.Source(name)
	if !ok {
		t.Fatal(name)
	}
	s, problems := scenarios.Parse(name, text, set...)
	if problems.Any() {
		t.Fatal(problems)
	}
	return model.Resolve(s)
}

// Every documented range of an input of a shipped scenario can be read, holds the
// value in force, and its ends are as documented.
func TestRangesAreRead(t *testing.T) {
	for _, name := range scenarios.Shipped() {
		list := shipped(t, name)
		for _, s := range list {
			if s.Range == "" || s.Wide < 0 || s.Given && !strings.HasPrefix(s.Path, "failures.") {
				continue
			}
			e, ok := s.Span()
			if !ok {
				t.Errorf("%s: the range of %s = %s is not read: %q", name, s.Key, s.Value, s.Range)
				continue
			}
			if !(e.Low <= e.Now && e.Now <= e.High && e.Low < e.High) {
				t.Errorf("%s: %s = %s lies outside %q: %v to %v, now %v", name, s.Key, s.Value, s.Range, e.Low, e.High, e.Now)
			}
			// Its default goes with the size of the fabric, and so does its range.
			if s.Key == "timers.spf_run" && e.At(0.5) != s.Value {
				t.Errorf("%s: %s = %s is not in the middle of its range, %s", name, s.Key, s.Value, e.At(0.5))
			}
		}
	}
	ends := map[string][2]string{
		"failures.optic-flap.episodes":               {"4e-05/d", "0.012/d"},
		"timers.spf_run":                             {"50us", "5ms"},
		"failures.optic-dirty.life.exponential.mean": {"2y", "200y"},
		"failures.optic-dead.life.exponential.mean":  {"28y", "285y"},
		"telemetry.complaints.complaints.rate":       {"0.142857/d", "6/d"},
		"detection.settle":                           {"0s", "1min"},
		"traffic.busiest":                            {"0.2", "0.9"},
		"groups.power_domain.leaves":                 {"1", "25"},
		"fib.per_prefix":                             {"10us", "1ms"},
		"flooding.exchange":                          {"30us", "33ms"},
		"operations.reaction":                        {"{lognormal: {median: 5min, sigma: 0.9}}", "{lognormal: {median: 5h, sigma: 0.9}}"},
		"operations.floor":                           {"0.5", "0.9"},
		"routers.spread":                             {"0", "1"},
	}
	for _, s := range shipped(t, "orchard") {
		want, ok := ends[s.Key]
		if !ok {
			continue
		}
		delete(ends, s.Key)
		e, _ := s.Span()
		if got := [2]string{e.At(0), e.At(1)}; got != want {
			t.Errorf("%s: %v, want %v", s.Key, got, want)
		}
	}
	for _, s := range shipped(t, "orchard") {
		if e, ok := s.Span(); s.Key == "fib.families" && (!ok || len(shipped(t, "orchard", "fib.families="+e.At(1))) == 0) {
			t.Errorf("%s cannot be set to %s", s.Key, e.At(1))
		}
	}
	if len(ends) > 0 {
		t.Errorf("not met: %v", ends)
	}
}

// Inside a range values go in proportion where it is wide, and a range from 0 has
// the value in force in its middle.
func TestAlongARange(t *testing.T) {
	of := func(value, of string) setting.Ends {
		s := setting.Setting{Value: value, Range: of}
		e, ok := s.Span()
		if !ok {
			t.Fatalf("%s in %q", value, of)
		}
		return e
	}
	for _, c := range []struct {
		e    setting.Ends
		u    float64
		want string
	}{
		{of("5ms", "1 to 100 ms"), 0.5, "10ms"}, {of("2s", "0 to 60 s"), 0.5, "2s"}, {of("2s", "0 to 60 s"), 0.25, "1s"},
		{of("0.6", "0.2 to 0.9"), 0.5, "0.55"}, {of("10", "2 to 100"), 0.5, "14"}, {of("61111h", "50,000 h to 1.4 M h by all causes"), 1, "777777263.64s"},
	} {
		if got := c.e.At(c.u); got != c.want && c.want[len(c.want)-1] != 's' || c.u < 1 && got != c.want {
			t.Errorf("at %v: %s, want %s", c.u, got, c.want)
		}
	}
	for _, bad := range []setting.Setting{{Value: "5ms"}, {Value: "5ms", Range: "a few"}, {Value: "on", Range: "1 to 2 s"}} {
		if _, ok := bad.Span(); ok {
			t.Errorf("%v has a range", bad)
		}
	}
}

// What is unsure: not what a primary source or practice alone stands behind, nor
// what the user gave.
func TestUnsure(t *testing.T) {
	keys := map[string]bool{}
	for _, s := range setting.Unsure(shipped(t, "orchard", "detection.settle=3s")) {
		keys[s.Key] = true
	}
	for key, want := range map[string]bool{"failures.optic-flap.episodes": true, "failures.optic-dead.life.exponential.mean": true, "timers.spf_run": true,
		"detection.settle": false, "timers.spf.rfc8405.long_delay": false, "detection.bfd.interval": false, "detection.signal": true,
		"fabric.speed.access": false, "failures.optic-dead.repair.lead.lognormal.median": false} {
		if keys[key] != want {
			t.Errorf("%s unsure: %v", key, keys[key])
		}
	}
}
