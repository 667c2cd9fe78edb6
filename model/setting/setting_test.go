package setting

import (
	"bytes"
	"math"
	"math/rand/v2"
	"testing"

	"go.yaml.in/yaml/v3"

	"halflight/model/chance"
	"halflight/model/timer"
	"halflight/scenarios"
)

// Times as an architect would write them.
func TestTimeText(t *testing.T) {
	for ns, want := range map[float64]string{
		0: "0s", 1: "1ns", 4_900_000: "4.9ms", 600_000: "600us", 1_050_000_000: "1050ms", 1.8e12: "30min", 90 * 60e9: "90min",
		86400e9 * 90: "90d", 300 * 365 * 86400e9: "300y", 343750 * 3600e9: "343750h", 0.25: "0.25ns",
	} {
		if got := Time(ns); got != want {
			t.Errorf("%v ns: %s, want %s", ns, got, want)
		}
	}
}

// Any whole number of ns comes back.
func TestSpanComesBack(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 20_000 {
		ns := r.Int64() >> r.IntN(63)
		d, err := scenarios.ParseDuration(Span(ns))
		if err != nil || int64(d) != ns {
			t.Fatalf("%d ns is written %s and read %d, %v", ns, Span(ns), d, err)
		}
	}
}

// Rates by the unit that needs few digits, and any rate by the second.
func TestRateText(t *testing.T) {
	for perSecond, want := range map[float64]string{10: "10/s", 1.0 / 86400: "1/d", 1.0 / 1800: "2/h", 2e-4 / 86400: "0.0002/d", math.Pi: "3.141592653589793/s"} {
		if got := Rate(perSecond); got != want {
			t.Errorf("%v: %s, want %s", perSecond, got, want)
		}
	}
	if v, ok := RateOf("0.0002/d"); !ok || v != 2e-4/86400 {
		t.Errorf("%v %v", v, ok)
	}
	if _, ok := RateOf("3/h"); ok {
		t.Error("a rate by the hour was read as one by the day")
	}
}

// Texts that YAML could take for something else, read by YAML.
func TestQuoted(t *testing.T) {
	for _, text := range []string{"plain words", "yes", "No", "null", "a: b", "a #b", "#", "", "12", "1e5", "~", "it's \"so\"", "line\nline", "- x", "leaf-0-0~spine-0-1#1",
		"spine-0-1>leaf-0-0", "group:row", "{x}", "µs", "trailing "} {
		var back any
		if err := yaml.Unmarshal([]byte("k: "+Quoted(text)), &back); err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if got := back.(map[string]any)["k"]; got != text {
			t.Errorf("%q is written %s and read %v", text, Quoted(text), got)
		}
	}
}

// Maps, lists, lists of maps and lists in them, with the remarks of defaults.
func TestYAML(t *testing.T) {
	got := YAML([]Setting{
		{Path: "name", Value: "x", Given: true},
		{Path: "a.b", Value: "1ms", Grade: "B"},
		{Path: "a.c.d", Value: "2"},
		{Path: "list.0.name", Value: "n", Given: true},
		{Path: "list.0.law.table.0.share", Value: "1", Given: true},
		{Path: "list.0.law.table.0.value", Value: "5", Given: true},
		{Path: "list.1.sizes.0", Value: "64", Given: true},
		{Path: "list.1.sizes.1", Value: "512", Given: true},
	})
	want := `name: x
a:
  b: 1ms # default, grade B
  c:
    d: 2 # default
list:
  - name: n
    law:
      table:
        - share: 1
          value: 5
  - sizes:
      - 64
      - 512
`
	if !bytes.Equal(got, []byte(want)) {
		t.Errorf("%s", got)
	}
}

// The settings of each family of laws, by hand.
func TestLaw(t *testing.T) {
	for want, law := range map[string]chance.Law{
		"x=3s":                     chance.Constant(3e9),
		"x.exponential.mean=3s":    chance.ExponentialOf(3e9),
		"x.weibull.shape=2":        {Family: chance.Weibull, Scale: 3e9, Shape: 2},
		"x.lognormal.median=3s":    chance.LognormalOf(3e9, 1),
		"x.uniform.low=0s":         chance.Between(0, 3e9, false),
		"x.loguniform.low=1s":      chance.Between(1e9, 3e9, true),
		"x.geometric.mean=5":       {Family: chance.Geometric, Scale: 5},
		"x.table.0.share=1":        chance.Tabled([]chance.Bin{{Share: 1, Low: 1, High: 1}}),
		"x.exponential.mean=1500y": chance.ExponentialOf(1500 * 365 * 86400e9),
	} {
		l := List{}
		l.Law("x", law, Time, true)
		if got := l.Settings[0].Path + "=" + l.Settings[0].Value; got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
}

func TestKeysAndNotes(t *testing.T) {
	l := List{}
	l.Add("failures.0.name", "optic", false)
	l.Add("failures.0.repair.lead", "1h", false)
	l.Add("traffic.busiest", "0.6", false)
	l.Add("traffic.busiest", "0.6", true)
	l.Add("detection.settle", "2s", false)
	l.Keys()
	if l.Settings[1].Key != "failures.optic.repair.lead" || l.Settings[2].Key != "traffic.busiest" {
		t.Errorf("%+v", l.Settings)
	}
	if l.Settings[1].Grade != "D" || l.Settings[2].Source == "" || l.Settings[3].Source != "" {
		t.Errorf("%+v", l.Settings)
	}
	// Settle has the widest range of the three assumed ones; what was given is none.
	list := Unsourced(l.Settings)
	if len(list) != 3 || list[0].Path != "detection.settle" || list[1].Path != "traffic.busiest" {
		t.Errorf("%+v", list)
	}
}

// Every note has a source and a grade, and no path has two in one table.
func TestNotes(t *testing.T) {
	seen := map[string]bool{}
	for _, n := range append(append([]timer.Note(nil), timer.Notes...), notes...) {
		if n.Source == "" || n.Grade == "" || seen[n.Path] || n.Wide > 0 && n.Range == "" {
			t.Errorf("%+v", n)
		}
		seen[n.Path] = true
	}
}
