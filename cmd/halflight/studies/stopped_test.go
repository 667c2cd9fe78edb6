package studies

import (
	"context"
	"testing"

	"halflight/results/contrast"
)

// Stopped when two thirds of all are played, studies of many settings say that they
// are partial, and hold the numbers that all settings, or all worlds, have.
func TestStoppedStudies(t *testing.T) {
	set := []string{"replications=6", "horizon=2h", "warm_up=10min"}
	host := func() (context.Context, *Host) {
		ctx, cancel := context.WithCancel(t.Context())
		h := loading(t, func(done, total int) {
			if 3*done >= 2*total {
				cancel()
			}
		})
		load := h.Load
		h.Load = func(name string, set []string) (*Scenario, error) {
			s, err := load(name, set)
			if err == nil {
				s.Digest = Digest(name, set)
			}
			return s, err
		}
		return ctx, h
	}
	some := func(name string, c *contrast.Contrast, partial bool, err error) {
		if err != nil || !partial {
			t.Errorf("%s: partial %v, %v", name, partial, err)
			return
		}
		for _, s := range c.Sides {
			if n := len(s.Set.Replications); n < 3 || n >= 6 {
				t.Errorf("%s: %s holds %d replications", name, s.Name, n)
			}
		}
	}
	ctx, h := host()
	c := &Comparison{Names: []string{"lull", "storm"}, Set: set, Level: 0.95}
	if _, _, _, err := c.Open(h); err != nil {
		t.Fatal(err)
	}
	out, partial, err := c.Run(ctx, h)
	some("compare", out, partial, err)

	ctx, h = host()
	s := &Sweep{Name: "lull", Set: set, Keys: []Key{{"timers.spf.rfc8405.long_delay", []string{"1s", "2s", "3s"}}}, Measures: []string{"spf_runs"}}
	if _, err := s.Open(h); err != nil {
		t.Fatal(err)
	}
	out, partial, err = s.Run(ctx, h)
	some("sweep", out, partial, err)

	const count = 30
	ctx, h = host()
	h.Workers = 1 // two might be at numbers that are far apart
	base, err := h.Load("lull", set)
	if err != nil {
		t.Fatal(err)
	}
	w, err := OpenWorlds(h, "lull", set, base, count)
	if err != nil {
		t.Fatal(err)
	}
	worlds, partial, err := w.Run(ctx, h, base, []string{"spf_runs"})
	if err != nil || !partial || worlds.Count != count || worlds.Replications != 2 { // of the third number 20 worlds are there
		t.Errorf("worlds: %+v, partial %v, %v", worlds, partial, err)
	}
}
