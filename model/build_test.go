package model

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"halflight/model/failure"
	"halflight/model/setting"
	"halflight/scenarios"
)

// resolved builds a scenario and fails the test on any problem.
func resolved(t testing.TB, name, text string) (*scenarios.Scenario, *World) {
	t.Helper()
	s, p := scenarios.Parse(name, []byte(text))
	if p.Any() {
		t.Fatalf("%s:\n%s\n%s", name, p, text)
	}
	w, problems := Build(s)
	if len(problems) > 0 {
		t.Fatalf("%s: %v", name, problems)
	}
	return s, w
}

// every returns all shipped scenarios and some that use every key.
func every(t testing.TB) map[string]string {
	t.Helper()
	texts := map[string]string{"rich": rich, "worked": worked, "plain": "fabric: {clos: {leaves: 3, spines: 2}}"}
	for _, name := range scenarios.Shipped() {
		data, ok := scenarios.Source(name)
		if !ok {
			t.Fatalf("shipped scenario %s has no text", name)
		}
		texts[name] = string(data)
	}
	return texts
}

// What is resolved and written, read again, gives the same World; and once more
// the same text but for what counts as given.
func TestRoundTrip(t *testing.T) {
	for name, text := range every(t) {
		s, w := resolved(t, name, text)
		settings := Resolve(s)
		again, w2 := resolved(t, name, string(setting.YAML(settings)))
		if !reflect.DeepEqual(w, w2) {
			t.Errorf("%s: another World after writing and reading\n%s", name, difference(w, w2))
		}
		second := Resolve(again)
		if len(settings) != len(second) {
			t.Errorf("%s: %d settings, then %d", name, len(settings), len(second))
			continue
		}
		for i := range settings {
			if settings[i].Path != second[i].Path || settings[i].Value != second[i].Value {
				t.Errorf("%s: %s = %s became %s = %s", name, settings[i].Path, settings[i].Value, second[i].Path, second[i].Value)
			}
			if !second[i].Given && !strings.HasPrefix(second[i].Path, "telemetry") {
				t.Errorf("%s: %s was written and does not count as given", name, second[i].Path)
			}
		}
	}
}

// difference names the fields of two Worlds that differ.
func difference(a, b *World) string {
	var out strings.Builder
	x, y := reflect.ValueOf(*a), reflect.ValueOf(*b)
	for i := range x.NumField() {
		if !reflect.DeepEqual(x.Field(i).Interface(), y.Field(i).Interface()) {
			fmt.Fprintf(&out, "%s:\n%+v\n%+v\n", x.Type().Field(i).Name, x.Field(i), y.Field(i))
		}
	}
	return out.String()
}

// Every setting in force has a source or is the user's.
func TestEveryDefaultHasItsSource(t *testing.T) {
	bare := map[string]bool{"seed": true, "horizon": true, "random": true, "start.backoff": true, "hashing": true}
	for name, text := range every(t) {
		s, w := resolved(t, name, text)
		if len(w.Modes) > 0 && w.Modes[0].Source == "" {
			continue // the user's own failures may be without a note
		}
		for _, x := range Resolve(s) {
			own := bare[x.Path] || strings.HasPrefix(x.Path, "fabric.clos") || strings.HasSuffix(x.Path, ".name") ||
				structural(x.Path)
			if !x.Given && !own && (x.Source == "" || x.Grade == "") {
				t.Errorf("%s: default %s = %s has no source", name, x.Path, x.Value)
			}
		}
	}
}

func TestUnsourcedOrder(t *testing.T) {
	s, _ := resolved(t, "t", "fabric: {clos: {leaves: 4, spines: 2}}")
	list := setting.Unsourced(Resolve(s))
	if len(list) < 8 || list[0].Path != "failures.2.episodes" {
		t.Fatalf("unsourced: %+v", list)
	}
	if list[0].Key != "failures.optic-flap.episodes" {
		t.Errorf("key %s", list[0].Key)
	}
	for i := 1; i < len(list); i++ {
		if list[i].Path == "groups.line_card.ports" && list[i].Wide < 0 || strings.HasPrefix(list[i].Path, "fabric.speed") {
			t.Errorf("%s decides nothing", list[i].Path)
		}
		if list[i].Wide > list[i-1].Wide {
			t.Errorf("%s after %s", list[i].Path, list[i-1].Path)
		}
	}
}

// The numbers of the worked check: 30 ms, 2 ms, 10 ms, 20 ms.
func TestBuildWorked(t *testing.T) {
	_, w := resolved(t, "worked", worked)
	tm := w.Timers
	if tm.Signal != 30e6 || tm.PerHop != 2e6 || tm.SPFRun != 10e6 || tm.FIBBase != 20e6 || tm.BFD || tm.Hello ||
		tm.LSPGeneration.First != 0 || tm.SPF.Holddown != 10e9 || w.Spread != 0 || w.WarmUp != 0 || len(w.Modes) != 0 || tm.OverloadLeaves {
		t.Errorf("%+v", w)
	}
	f := w.Script[0]
	if f.On != "leaf-0-2~spine-0-0" || f.At != 0 || f.End != failureOpen || len(f.Links) != 1 || f.Links[0] != 4 || f.Kind != failure.Hard {
		t.Errorf("%+v", f)
	}
}

const failureOpen = -1

const worked = `{"name": "worked", "random": false, "horizon": "20s",
 "fabric": {"clos": {"parallel": 1, "pods": 1, "leaves": 3, "spines": 2, "tops": 0}},
 "timers": {"spf": {"rfc8405": {"initial_delay": "50ms", "short_delay": "200ms", "long_delay": "5s", "time_to_learn": "500ms", "holddown": "10s"}},
  "lsp_generation": {"first_delay": "0s", "incremental_delay": "100ms", "maximum_delay": "2s", "wait_time": "4s"}, "spf_run": "10ms"},
 "fib": {"base": "20ms", "per_prefix": "0s", "local_prune": true, "prune_delay": "0s"},
 "detection": {"signal": "30ms", "settle": "2s", "bfd": false, "hello": false},
 "flooding": {"per_hop": "2ms", "exchange": "0s", "pacing": false, "second_lsp_counts": true},
 "overload": {"leaves": false, "until_ready": true}, "restart": {"grace": "60s"}, "hashing": "independent",
 "script": [{"at": "0s", "on": "leaf-0-2~spine-0-0", "kind": "hard"}]}`

// rich uses every key, every family of laws and every kind.
const rich = `
name: rich
about: "a text: with a colon # and more"
seed: 18446744073709551615
replications: 7
warm_up: 1d
horizon: 36h
start: {backoff: last}
hashing: polarised
fabric:
  clos: {pods: 2, leaves: 12, spines: 4, tops: 4, parallel: 2}
  metrics: {"leaf-0-1~spine-0-2#1": 10, "spine-1-0>top-0-1": 7}
  speed: {access: 10Gb/s, leaf_spine: 2.5Gb/s, spine_top: 1Mb/s}
routers: {spread: 0.25}
timers:
  spf: {doubling: {form: b, first_delay: 1ns, maximum_delay: 1h1ns, wait_time: 2h}}
  lsp_generation: {first_delay: 1ms}
  mixed:
    - {on: top, spf: {rfc8405: {short_delay: 77ms}}}
    - {on: leaf-0-03, spf: {two_step: {rapid_runs: 5}}}
    - {on: "group:two", spf: {doubling: {form: a, first_delay: 3ms}}}
underlay: {hosts: 9, reboots: {away: 90s}, flaps: {rate: 1/7d}}
detection: {signal: 1us, settle: 1min, bfd: {interval: 50ms, multiplier: 4, jitter: 0.1}, hello: false}
flooding: {per_hop: 3ms, reduced: {degree: 3}, pacing: {burst: 10, interval: 33ms}, second_lsp_counts: false}
fib: {base: 1ms, local_prune: false, prefixes: 7}
overload: {leaves: false, until_ready: false}
restart: {grace: 10s}
groups:
  - {name: row, members: [leaf-0-1~spine-0-2#1, leaf-0-02~spine-0-2#0]}
  - {name: two, of: power_domain, members: [leaf-0-0, leaf-0-1]}
  - {name: ways, members: [spine-1-0>top-0-1]}
  - {line_card: {ports: 3}}
  - {breakout: {ports: 4}}
  - {batch: {share: 10%}}
traffic: {load: 0.1, busiest: 1}
transport: {by: segments_labels, segments: 2, entropy: false}
applications:
  - {name: small, request: {packets: 3, bytes: 700, fan_out: 100, time_out: 1s, time_outs: 3, budget: 1e-3, burn: [{window: 30min, rate: 2}, {window: 1d, rate: 0.5}]}}
  - {name: mixed, request: {bytes: {table: [{share: 0.3, low: 64, high: 100}, {share: 0.7, value: 1500}]}}}
telemetry:
  - {name: quick, polling: {every: 10s, threshold: 1e-6, in_a_row: 3, wrong_link: 1%}}
  - {name: pings, probes: {rate: 7/min, sizes: [64, 9000], ports: fixed, false_alarms: 1/30d}}
  - {name: hand, probes: {in_a_row: 2}}
  - {name: nobody, complaints: false}
operations: {reaction: {lognormal: {mean: 7min, sigma: 0.3}}, floor: 0.5, soak: 1s, crew: 3, first_repair: {blind: 0.3, guided: 0.9}}
failures:
  - {use: default}
  - {name: optic-dead, on: link, kind: hard, life: {weibull: {shape: 0.7, mean: 100y}}, frailty: {unit: {lognormal: {sigma: 0.4}}, batch: {lognormal: {sigma: 1.5}}}}
  - {name: old, on: leaf, kind: hard, light: true, life: {lognormal: {mean: 3y, sigma: 1}}, start: new, repair: {lead: 1h}}
  - {name: between, on: spine, kind: hard, life: {uniform: {low: 0s, high: 10y}}, note: "made up", grade: C}
  - {name: spells, on: group:row, kind: silent, life: {table: [{share: 0.333, low: 1d, high: 1y}, {share: 0.667, value: 400y}]}, loss: 1%, burst: {length: 12, bad: 0.5}, members: 1}
  - {name: batch-bad, on: batch, kind: lossy, life: {loguniform: {low: 1d, high: 1e3y}}, loss: {table: [1e-3, 1e-2]}}
  - {name: bundle, on: breakout, kind: blackhole, life: 3.3333y, share: {loguniform: {low: 0.1, high: 0.2}}, one_way: 1}
  - {name: big, on: link, kind: oversize, life: {exponential: {mean: 1000y}}, above: 9000}
  - {name: loose, on: link, kind: flapping, episodes: 0.3333333333333/d, flaps: 3, down: {weibull: {shape: 2, scale: 1s}}, gap: 0.1s}
  - {name: late, on: link, kind: flapping, life: {weibull: {shape: 3, mean: 1000h}}}
  - {name: again, on: top, kind: restart, life: {exponential: {mean: 9y}}, down: 90s}
script:
  - {at: 1s, on: leaf-0-1~spine-0-2#1, kind: flapping, period: 10s, off: 3s, for: 25s}
  - {at: 1s, on: "group:row", kind: flapping, changes: [0s, 1s, 3s]}
  - {at: 2s, on: "group:ways", kind: lossy, loss: 1}
  - {at: 2s, on: spine-0-1, kind: hard, light: true, plane: data, for: 1h}
  - {at: 2s, on: "spine-0-1>leaf-0-1#0", kind: oversize, above: 1500}
  - {at: 3s, on: top-0-1, kind: restart, for: 5min}
  - {at: 3s, on: "group:two", kind: drain, for: 5min}
`
