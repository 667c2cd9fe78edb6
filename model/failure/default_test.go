package failure

import (
	"math"
	"testing"

	"halflight/model/chance"
	"halflight/model/fabric"
)

func near(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if math.Abs(got-want) > share*math.Abs(want) {
		t.Errorf("%s: %v, want %v within %v", what, got, want, share)
	}
}

func mode(t *testing.T, modes []Mode, name string) *Mode {
	t.Helper()
	for i := range modes {
		if modes[i].Name == name {
			return &modes[i]
		}
	}
	t.Fatalf("no mode %s", name)
	return nil
}

func TestDefaultSetIsComplete(t *testing.T) {
	want := []string{"optic-dead", "optic-dirty", "optic-flap", "silent", "blackhole", "oversize", "silent-router", "linecard-dirty",
		"router-hardware", "router-hung", "power-domain", "router-restart"}
	modes := Default(688, 800)
	if len(modes) != len(want) {
		t.Fatalf("%d modes, want %d", len(modes), len(want))
	}
	for i := range modes {
		m := &modes[i]
		if m.Name != want[i] || m.Source == "" || m.Grade == "" || m.Range == "" || m.Wide <= 0 || !m.Aged || m.Frailty.Mean() == 0 {
			t.Errorf("%+v", m)
		}
		near(t, m.Name+" frailty", m.Frailty.Mean(), 1, 1e-12)
	}
}

// Singh et al., ACM CCR 51(2), 2021: 98 % of switches survive three months,
// which is 110,000 h between failures by all causes to two digits; 32 % of the
// causes are hardware, 17 % software. 28 % power is from memory.
func TestRouterCauses(t *testing.T) {
	modes := Default(688, 800)
	total := 0.0
	for name, share := range map[string]float64{"router-hardware": 0.32, "router-hung": 0.17, "power-domain": 0.28, "router-restart": 0.23} {
		rate := hour / mode(t, modes, name).Life.Mean()
		near(t, name, rate*110_000, share, 1e-5)
		total += rate
	}
	near(t, "hours by all causes", 1/total, 110_000, 1e-5)
	near(t, "survival of three months", math.Exp(-total*8760/4), 0.98, 0.001)
}

// Each router is in one power domain of two racks: a domain fails at the rate
// at which one router loses power, and half as many domains as routers make
// half as many onsets.
func TestPowerDomainRate(t *testing.T) {
	f, err := fabric.Clos{Pods: 2, Leaves: 8, Spines: 4, Tops: 4, Parallel: 1}.Build(1, 1)
	if err != nil {
		t.Fatal(err)
	}
	groups := f.PowerDomains(2)
	m := mode(t, Default(40, 40), "power-domain")
	if n := m.Population(f, groups); n != 20 {
		t.Fatalf("%d domains of 40 routers", n)
	}
	hits := make([]int, len(f.Routers))
	for _, g := range groups {
		for _, r := range g.Routers {
			hits[r]++
		}
	}
	for r, n := range hits {
		if n != 1 {
			t.Errorf("router %d is in %d domains", r, n)
		}
	}
	near(t, "losses of power of a router per hour", 20*2/40.0*hour/m.Life.Mean(), 0.28/110_000, 1e-5)
}

// Arithmetic on the defaults: 114 y is 1.0 M h, or 1,000 FIT, or 0.87 % a year
// (FIT is failures in 1e9 h; AFR = 1 - exp(-8766 h/MTBF), both by definition).
func TestOpticDead(t *testing.T) {
	h := mode(t, Default(1, 1), "optic-dead").Life.Mean() / hour
	near(t, "hours", h, 1.0e6, 0.002)
	near(t, "FIT", 1e9/h, 1000, 0.002)
	near(t, "AFR", 1-math.Exp(-8766/h), 0.00873, 0.002)
}

// Several intermittent partial faults a day in a large fabric (Roy et al.,
// ;login: Sept 2017): 55,296 and 7,680 links at one in 20 y.
func TestOpticDirty(t *testing.T) {
	m := mode(t, Default(1, 1), "optic-dirty")
	near(t, "onsets a day, 55,296 links", m.OnsetsPerDay(55296, m.Dwell()), 7.6, 0.005)
	near(t, "onsets a day, 7,680 links", m.OnsetsPerDay(7680, m.Dwell()), 1.05, 0.005)
	// 1.75 d from onset to repair: lead and hands-on time, ten minutes until
	// counters tell and 48 min until somebody acts.
	dwell := m.Dwell() + 10*minute + chance.LognormalOf(32*minute, 0.9).Mean()
	near(t, "days to repair", dwell/day, 1.75, 0.02)
	near(t, "prevalence", m.Prevalence(dwell), 0.00024, 0.02)
	// Zhuo et al., SIGCOMM 2017, table 1 from memory, log-uniform within buckets
	// and 1e-2 on top: mean 5.9e-4, of it 84 % from the top bucket (arithmetic).
	near(t, "mean loss", m.Loss.Mean(), 5.9e-4, 0.01)
	top := 0.1267 * (1e-2 - 1e-3) / math.Log(10)
	near(t, "share of the top bucket", top/m.Loss.Mean(), 0.84, 0.01)
	near(t, "share of links above 1e-3", m.Loss.Survival(1e-3), 0.1267, 1e-9)
}

// 2e-4 episodes x 5 flaps are 1e-3 flaps a link-day.
func TestOpticFlap(t *testing.T) {
	m := mode(t, Default(1, 1), "optic-flap")
	near(t, "flaps a link-day", m.FlapsPerDay(1), 1e-3, 1e-5)
	near(t, "episodes a day", m.EpisodesPerDay, 2e-4, 1e-12)
	// Five dark times of 3 s x e^0.32 and four light ones of 30 s x e^0.32.
	near(t, "episode", m.Dwell(), (5*3+4*30)*math.Exp(0.32)*second, 1e-12)
}

// The others as they are given: silent 140 y, black hole 140 y, oversize 280 y
// a link; 300 y a router for a silent one and for a dirty line card.
func TestOtherModes(t *testing.T) {
	const routers, cards = 688, 880
	modes := Default(routers, cards)
	for name, years := range map[string]float64{"silent": 140, "blackhole": 140, "oversize": 280, "silent-router": 300} {
		near(t, name, mode(t, modes, name).Life.Mean()/year, years, 1e-12)
	}
	card := mode(t, modes, "linecard-dirty")
	near(t, "dirty line cards in router years", card.Life.Mean()/year*routers/cards, 300, 1e-5)
	if card.Ports != 4 || card.On != OnLineCard {
		t.Errorf("%+v", card)
	}
	hw := mode(t, modes, "router-hardware")
	// Rack back in 1 to 6 h: log-normal of mean 3.1 h (Dean, 2009; arithmetic).
	near(t, "router repair in hours", hw.Dwell()/hour, 3.1, 0.01)
	near(t, "power domain in hours", mode(t, modes, "power-domain").Dwell()/hour, 6, 1e-12)
	if mode(t, modes, "router-hung").Light != 1 || hw.Light != 0 {
		t.Error("a hung router keeps its light, a dead one does not")
	}
}

func TestPopulation(t *testing.T) {
	f, err := fabric.Clos{Pods: 2, Leaves: 3, Spines: 2, Tops: 5, Parallel: 2}.Build(1, 1)
	if err != nil {
		t.Fatal(err)
	}
	groups := append(f.LineCards(4), fabric.Group{Name: "mine", Links: []int32{1}})
	groups = append(groups, f.Breakouts(4)...)
	groups = append(groups, f.OpticsBatch(0.5))
	for _, c := range []struct {
		mode Mode
		want int
	}{
		{Mode{On: OnLink}, 2*3*2*2 + 2*2*5},
		{Mode{On: OnRouter}, 6 + 4 + 10},
		{Mode{On: OnLeaf}, 6},
		{Mode{On: OnSpine}, 4},
		{Mode{On: OnTop}, 10},
		{Mode{On: OnLineCard}, 6*1 + 4*3 + 10}, // 4, 11 and 2 ports
		{Mode{On: OnPowerDomain}, 0},
		{Mode{On: OnBreakout}, 4 * (2 + 2)}, // 6 down and 5 up, by 4
		{Mode{On: OnBatch}, 1},
		{Mode{On: OnGroup, Group: "mine"}, 1},
		{Mode{On: OnGroup, Group: "yours"}, 0},
	} {
		if got := c.mode.Population(f, groups); got != c.want {
			t.Errorf("%s: %d, want %d", c.mode.On, got, c.want)
		}
	}
}

func TestDefaultRepair(t *testing.T) {
	for _, c := range []struct {
		kind Kind
		on   Class
		lead chance.Law
	}{
		{Hard, OnLink, opticLead}, {Lossy, OnLineCard, opticLead}, {Hard, OnSpine, routerLead}, {Hard, OnPowerDomain, chance.Between(3*hour, 9*hour, false)},
		{Flapping, OnLink, chance.Law{}}, {Restart, OnRouter, chance.Law{}},
	} {
		if lead, _ := DefaultRepair(c.kind, c.on); lead.Family != c.lead.Family || lead.Scale != c.lead.Scale || lead.High != c.lead.High {
			t.Errorf("%s on %s: %+v", c.kind, c.on, lead)
		}
	}
}
