package scenarios

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"halflight/scenarios/control"
	"halflight/scenarios/objective"
	"halflight/scenarios/operator"
	"halflight/scenarios/part"
)

// at is a pointer to a value.
func at[T any](v T) *T { return &v }

// must parses a scenario that is without fault.
func must(t *testing.T, text string, set ...string) *Scenario {
	t.Helper()
	s, p := Parse("dir/some.yaml", []byte(text), set...)
	if p.Any() {
		t.Fatalf("%s", p)
	}
	return s
}

// Scripted cases, worked by hand elsewhere, are scenarios.
func TestCases(t *testing.T) {
	files, _ := filepath.Glob("testdata/cases/*.json")
	if len(files) != 9 {
		t.Fatalf("%d cases", len(files))
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		s, p := Parse(file, data)
		if p.Any() {
			t.Errorf("%s: %s", file, p)
		}
		if s.Random == nil || *s.Random || s.Detection.Hello == nil || !s.Detection.Hello.Off || s.Flooding.Pacing == nil ||
			!s.Flooding.Pacing.Off || len(s.Script) == 0 {
			t.Errorf("%s: switches or script were lost", file)
		}
	}
}

// One case whole, as typed.
func TestCaseTyped(t *testing.T) {
	data, err := os.ReadFile("testdata/cases/case-012.json")
	if err != nil {
		t.Fatal(err)
	}
	s := must(t, string(data))
	want := &Scenario{
		File: "dir/some.yaml", Name: "bfd-one-way", About: s.About, Random: at(false), Horizon: at(Duration(30e9)), Hashing: at(Independent),
		Fabric: Fabric{Clos: &Clos{Pods: at(1), Leaves: at(3), Spines: at(2), Tops: at(0), Parallel: at(1)}},
		Timers: Timers{
			SPF: &SPF{RFC8405: &RFC8405{InitialDelay: at(Duration(50e6)), ShortDelay: at(Duration(200e6)), LongDelay: at(Duration(5e9)),
				TimeToLearn: at(Duration(500e6)), Holddown: at(Duration(10e9))}},
			LSPGeneration: &LSPGeneration{FirstDelay: at(Duration(0)), IncrementalDelay: at(Duration(100e6)), MaximumDelay: at(Duration(2e9)),
				WaitTime: at(Duration(4e9))},
			SPFRun: at(Duration(0)),
		},
		Detection: Detection{Signal: at(Duration(5e6)), Settle: at(Duration(2e9)),
			BFD: &Hellos{Interval: at(Duration(100e6)), Multiplier: at(3)}, Hello: &Hellos{Off: true}},
		Flooding: Flooding{PerHop: at(Duration(1e6)), Exchange: at(Duration(0)), Pacing: &control.Pacing{Off: true}, SecondLSPCounts: at(true)},
		FIB:      FIB{Base: at(Duration(0)), PerPrefix: at(Duration(0)), LocalPrune: at(true), PruneDelay: at(Duration(0))},
		Overload: Overload{Leaves: at(false), UntilReady: at(true)},
		Restart:  Restart{Grace: at(Duration(60e9))},
		Script: []Event{{At: 1_050_000_000, Kind: Blackhole, Share: at(1.0), For: at(Duration(2e9)),
			On: Part{Text: "spine-0-0>leaf-0-0", Class: DirectionPart, A: Router{Tier: Spine}, B: Router{Tier: Leaf}}}},
	}
	if diff := cmp.Diff(want, s, cmpopts.IgnoreUnexported(Scenario{})); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Every key of the language, once, is accepted and lands in its field.
func TestEveryKey(t *testing.T) {
	data, err := os.ReadFile("testdata/every-key.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s := must(t, string(data))
	got := []any{
		*s.Seed, *s.Replications, *s.WarmUp, s.Start.BackoffLast, *s.Hashing, s.Fabric.Metrics[1].Metric, *s.Fabric.Speed.SpineTop,
		*s.Routers.Spread, *s.Timers.SPF.Doubling.FormB, *s.Detection.BFD.Jitter, *s.Flooding.Pacing.Burst, *s.Groups.PowerDomainLeaves,
		*s.Groups.LineCardPorts, *s.Groups.BreakoutPorts, *s.Groups.BatchShare, s.Groups.Named[0].Of, len(s.Groups.Named[0].Members),
		*s.Traffic.Busiest, *s.Applications[0].Request.FanOut, *s.Applications[0].Request.Repath, *s.Applications[1].Bulk.Law, *s.Applications[2].Collective.Flows, *s.Telemetry[0].Polling.InARow, s.Telemetry[1].Probes.Sizes,
		*s.Telemetry[6].Complaints.Rate, s.Operations.Reaction.Who, s.Operations.Shifts[1].Crew, *s.Operations.FirstRepair.Guided,
		*s.Telemetry[0].From, *s.Telemetry[0].YearlyCost, *s.Telemetry[2].Probes.Flows, *s.Telemetry[3].Hosts.Sample,
		*s.Telemetry[4].Drops.Holes, *s.Telemetry[5].Optics.Threshold, *s.Operations.Replace.Tickets, s.Costs, *s.Failures[1].Drift.Share,
		s.Failures[0].Use, *s.Failures[1].Burst.Bad, *s.Failures[1].Frailty.Batch, *s.Failures[1].New, *s.Failures[2].Members,
		s.Failures[3].Flaps.Mean, s.Failures[4].On, *s.Failures[5].Light, *s.Failures[6].Above, s.Failures[7].Grade,
		s.Script[0].Changes, *s.Script[1].Off, *s.Script[2].Kept, *s.Script[3].Plane, s.Script[4].On.Group, *s.Script[5].Above,
		*s.Homing.Groups, *s.Homing.Attachments, *s.Homing.Paired, *s.Homing.FollowUplinks, s.Homing.Keepalive.After, *s.Homing.Moves.Share, *s.Homing.Moves.Within,
		*s.Fabric.Clos.Fabrics, *s.Traffic.External.Share, s.Traffic.External.At, *s.Traffic.External.Boxes, s.Transport.By, *s.Transport.Segments, *s.Transport.Entropy, *s.Transport.MTU,
		*s.Overlay.Hold, *s.Overlay.Tracking, *s.Overlay.Withdraw, s.Failures[12].On, s.Script[13].On.String(), s.Script[13].On.Servers,
		s.Objectives[0].Measure, *s.Objectives[0].AtMost, *s.Objectives[0].Confidence, *s.Objectives[1].AtMost, *s.Objectives[2].AtLeast,
	}
	want := []any{
		uint64(7), 40, Duration(86400e9), true, Polarised, 20, Speed(4e11),
		0.5, true, 0.25, 10, 2,
		16, 4, 0.1, OnPowerDomain, 2,
		0.6, 3, true, 1, 64, 2, []int64{64, 1400},
		Rate(1.0 / 86400), operator.Measured, 2, 0.8,
		Duration(864000e9), 500.0, 8, 1e-4,
		0.5, 1e-5, 3, operator.Costs{Currency: "EUR", DegradedLeafHour: []operator.ClassPrice{{Class: "calls", Price: 2}},
			TechnicianHour: at(90.0), Visit: at(250.0), Optic: at(400.0), Port: at(10.0), Leaf: at(500.0)}, 0.5,
		"default", 0.5, 0.5, true, 4,
		5.0, Target{OnGroup, "east"}, true, int64(1000), "CP",
		[]Duration{0, 3e9, 30e9}, Duration(2e9), false, DataPlane, "east", int64(1000),
		4, 2, 0.4, true, Duration(3e9), 0.5, Duration(60e9),
		2, 0.2, 1, 2, 4, 2, false, int64(9000),
		Duration(90e9), Duration(1e9), Duration(100e6), Target{Class: OnAccess}, "leaf-0-1~servers-0-0-3", part.Servers{Number: 3},
		"app.calls.slow_share.worst_leaf", objective.Limit{Text: "1e-4", Value: 1e-4}, 0.9,
		objective.Limit{Text: "2min", Form: objective.Time, Value: 120e9}, objective.Limit{Text: "99.5%", Form: objective.Percent, Value: 0.995},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Nothing given is told apart from zero and from an empty list.
func TestGiven(t *testing.T) {
	s := must(t, "seed: 0\nfailures: []\n")
	if s.Seed == nil || !s.FailuresGiven || s.TelemetryGiven || s.ApplicationsGiven || s.Replications != nil || s.Name != "some" {
		t.Errorf("%+v", s)
	}
}

// Problems found later, by key path, are printed like the others.
func TestPlaces(t *testing.T) {
	text := "horizon: 20s\ntimers:\n  spf_run: 5ms\nfailures:\n  - {name: dim, on: link, kind: hard,\n     life: 3y}\n"
	s, p := Parse("x.yaml", []byte(text), "timers.spf_run=3ms")
	if p.Any() {
		t.Fatal(p)
	}
	type found struct {
		Line, Column int
		OK           bool
	}
	for path, want := range map[string]found{"horizon": {1, 10, true}, "failures.0.life": {6, 12, true}, "failures.dim.life": {6, 12, true},
		"failures.dim": {5, 5, true}, "failures.dim.loss": {}, "timers.spf_run": {}, "timers": {3, 3, true}} {
		line, column, ok := s.Place(path)
		if got := (found{line, column, ok}); got != want {
			t.Errorf("%s is at %+v, want %+v", path, got, want)
		}
	}
	p.Add("failures.dim.loss", "is wanted", "say which")
	p.Add("detection.settle", "is off", "")
	p.Add("timers.spf_run", "is too short", "at least 4ms")
	p.Add("horizon", "is too short", "")
	want := `x.yaml: detection.settle: is off
x.yaml:1:10: horizon: is too short
     1 | horizon: 20s
       |          ^
x.yaml:5:5: failures.dim.loss: is wanted
     5 |   - {name: dim, on: link, kind: hard,
       |     ^ say which
--set timers.spf_run=3ms: is too short
        at least 4ms
`
	if diff := cmp.Diff(want, p.String()); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// --set changes what it names, makes the maps it needs, replaces an alternative, and finds entries by name and index.
func TestSet(t *testing.T) {
	base := "timers: {spf: {rfc8405: {long_delay: 9s}}}\ndetection: {bfd: false}\n" +
		"failures: [{name: dim, on: link, kind: lossy, life: {exponential: {mean: 1y}}}, {name: cut, on: link, kind: hard, life: 1y}]\n"
	s := must(t, base, "timers.spf.rfc8405.long_delay=2s", "timers.spf.rfc8405.long_delay=3s", "detection.bfd.interval=50ms",
		"fib.base=7ms", "failures.dim.life.exponential.mean=10y", "failures.1.life.weibull={shape: 2, scale: 3y}", "failures.dim.loss=2%",
		"script=[{at: 1s, on: leaf-0-0>spine-0-0, kind: lossy, loss: 1}]", "about=a = b")
	day := 86400e9
	got := []any{*s.Timers.SPF.RFC8405.LongDelay, s.Detection.BFD.Off, *s.Detection.BFD.Interval, *s.FIB.Base, s.Failures[0].Life.Mean,
		s.Failures[1].Life.Family, s.Failures[1].Life.Scale, s.Failures[0].Loss.Low, len(s.Script), s.About}
	want := []any{Duration(3e9), false, Duration(50e6), Duration(7e6), 3650 * day, Weibull, 3 * 365 * day, 0.02, 1, "a = b"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	s = must(t, base, "timers.spf.doubling.form=b", "failures.dim.life.loguniform={low: 1d, high: 2d}")
	if s.Timers.SPF.RFC8405 != nil || s.Timers.SPF.Doubling == nil || s.Failures[0].Life.Family != Loguniform {
		t.Errorf("an alternative was not replaced: %+v", s.Timers.SPF)
	}
}

// What Typed writes is the same scenario, --set included, and no --set is needed any more.
func TestTyped(t *testing.T) {
	texts := []string{}
	for _, name := range Shipped() {
		data, _ := Source(name)
		texts = append(texts, string(data))
	}
	every, err := os.ReadFile("testdata/every-key.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range append(texts, string(every)) {
		s := must(t, text, "seed=12", "timers.spf.rfc8405.long_delay=2s")
		again := must(t, string(s.Typed()))
		if diff := cmp.Diff(s, again, cmpopts.IgnoreUnexported(Scenario{})); diff != "" {
			t.Errorf("%s (-want +got):\n%s", s.Name, diff)
		}
	}
}
