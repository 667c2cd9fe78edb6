package model

import (
	"strings"
	"testing"

	"halflight/scenarios"
)

// What scenarios cannot see, because one side of it is a default or a group
// made by rule, is said by Build, by key path.
func TestProblems(t *testing.T) {
	const small = "fabric: {clos: {leaves: 4, spines: 2}}\n"
	for _, c := range []struct{ text, path, say string }{
		{"timers: {spf: {rfc8405: {holddown: 400ms}}}", "timers.spf.rfc8405.holddown", "RFC 8405"},
		{"timers: {spf: {rfc8405: {time_to_learn: 11s}}}", "timers.spf.rfc8405.holddown", "time_to_learn"},
		{"timers: {lsp_generation: {wait_time: 2s}}", "timers.lsp_generation.maximum_delay", "below wait_time"},
		{"timers: {mixed: [{on: leaf, spf: {rfc8405: {holddown: 400ms}}}]}", "timers.mixed.0.spf.rfc8405.holddown", "RFC 8405"},
		{"timers: {mixed: [{on: leaf, spf: {two_step: {}}}, {on: top, spf: {two_step: {}}}]}", "timers.mixed.1.on", "no router"},
		{"timers: {mixed: [{on: group:row, spf: {two_step: {}}}]}\ngroups: [{name: row, members: [leaf-0-0~spine-0-0]}]", "timers.mixed.0.on", "of routers alone"},
		{"detection: {signal: 3s}", "detection.settle", "3s"},
		{"detection: {settle: 9ms}", "detection.settle", "10ms"},
		{"traffic: {busiest: 0.2}", "traffic.load", "0.2"},
		{"hashing: polarised\ntraffic: {congestion: true}", "traffic.congestion", "independent hashing"},
		{"applications: [{name: a, request: {time_outs: 8}}, {name: b, request: {time_outs: 8}}]", "applications.1", "at most 15"},
		{"applications: [{name: a, request: {time_out: 100us, time_outs: 2}}]", "applications.0.request.time_outs", "250us"},
		{"horizon: 100y\napplications: [{name: a, request: {burn: [{window: 1min, rate: 1}]}}]", "applications.0", "millionth"},
		{"script: [{at: 90d, on: leaf-0-0, kind: hard}]", "script.0.at", "horizon, 90d"},
		{"random: false\nscript: [{at: 0s, on: leaf-0-0~spine-0-0, kind: flapping, period: 2us, off: 1us}]", "script.0.period", "500000 flaps"},
		{"failures: [{name: drain, on: link, kind: hard, life: 1y}]", "failures.0.name", "another name"},
		{"failures: [{name: script, on: link, kind: hard, life: 1y}]", "failures.0.name", "another name"},
		{"operations: {floor: 0%, upgrades: true}\nfailures: [{name: upgrade, on: link, kind: hard, life: 1y}]", "failures.0.name", "another name"},
		{"operations: {changes: {rate: 1/d}}\nfailures: [{name: change, on: link, kind: hard, life: 1y}]", "failures.0.name", "another name"},
		{"traffic: {congestion: true}\nfailures: [{name: demand, on: link, kind: hard, life: 1y}]", "failures.0.name", "another name"},
		{"failures: [{name: x, on: breakout, kind: hard, life: 1y}]", "failures.0.on", "breakout"},
		{"failures: [{name: x, on: batch, kind: lossy, life: 1y}]", "failures.0.on", "batch"},
		{"failures: [{name: x, on: link, kind: lossy, life: 1y, loss: 0.5, burst: {length: 3, bad: 0.2}}]", "failures.0.burst.bad", "0.5"},
		{"failures: [{name: x, on: link, kind: flapping, episodes: 0/d}]", "failures.0.episodes", "above 0"},
		{"groups: [{name: card-leaf-0-0-0, members: [leaf-0-0]}]", "groups.0.name", "by rule"},
		{"telemetry: [{name: complaints, polling: {}}]", "telemetry.0.name", "always on"},
		{"failures: [{name: x, on: access, kind: hard, life: 1y}]", "failures.0.on", "homing"},
		{"homing: {}\nfailures: [{name: x, on: access, kind: hard, light: true, life: 1y}]", "failures.0.light", "light out"},
		{"script: [{at: 0s, on: leaf-0-0~servers-0-0-0, kind: hard}]", "script.0.on", "homing"},
		{"homing: {groups: 3}\nscript: [{at: 0s, on: leaf-0-0~servers-0-0-3, kind: hard}]", "script.0.on", "0 to 2"},
		{"homing: {attachments: 2}\nscript: [{at: 0s, on: leaf-0-2~servers-0-1-0, kind: hard}]", "script.0.on", "its mate, leaf-0-0"},
		{"homing: {}\nscript: [{at: 0s, on: leaf-0-0~servers-0-0-0, kind: hard, light: true}]", "script.0.on", "light out"},
		{"--odd\nhoming: {attachments: 2}", "homing.attachments", "5 is odd"},
		{"transport: {by: both}\nfib: {families: both}", "transport", "keep one"},
		{"transport: {by: segments_ipv6, segments: 2, mtu: 600B}", "transport.mtu", "80 of header"},
		{"traffic: {external: {share: 0.1, at: pod}}", "traffic.external.at", "another pod"},
		{"traffic: {external: {share: 0.1, at: tops}}", "traffic.external.at", "no tops"},
		{"traffic: {external: {share: 0.1, at: spines}}\noverload: {leaves: false}", "traffic.external.at", "overload"},
		{"traffic: {external: {share: 0.1, at: leaves, boxes: 99}}", "traffic.external.boxes", "has 4 leaves"},
		{"traffic: {external: {share: 0.1, at: leaves, boxes: 99}}\nfailures: [{name: x, on: border, kind: hard, life: 1y}]", "traffic.external.boxes", "has 4 leaves"},
		{"traffic: {external: {share: 0.1, at: leaves}}\nhoming: {}", "homing", "leave out traffic.external"},
		{"failures: [{name: x, on: border, kind: hard, life: 1y}]", "failures.0.on", "from outside"},
		{"operations: {upgrades: {}}", "operations.upgrades", "spines"},
		{"operations: {floor: 0.5, upgrades: {boxes: tops}}", "operations.upgrades.boxes", "no tops"},
		{"operations: {floor: 0.5, upgrades: {window: {from: 1h, to: 1h10min}}}", "operations.upgrades.window", "ahead, work"},
		{"operations: {upgrades: {boxes: leaves, first: 90d}}", "operations.upgrades.first", "horizon, 90d"},
		{"random: false\noperations: {changes: {rate: 1/d}}", "operations", "random: false"},
		{"operations: {changes: {rate: 1e9/s}}", "operations.changes.rate", "1.6e+16 events"},
		{"operations: {upgrades: {boxes: leaves, every: 1ns}}", "operations.upgrades.every", "at most 100 million"},
		{"underlay: {hosts: 10, reboots: {rate: 1/1ms}}", "underlay.reboots.rate", "6.2e+11 events"},
		{"underlay: {hosts: 10, flaps: {rate: 1/1ms}}", "underlay.flaps.rate", "events in a replication"},
		{"failures: [{name: x, on: link, kind: flapping, episodes: 1e9/s, flaps: 1, down: 1ms, gap: 1ms}]", "failures.0.episodes", "events in a replication"},
		{"failures: [{name: x, on: router, kind: restart, down: 1ns, life: 1ms}]", "failures.0.life", "events in a replication"},
		{"warm_up: 200y", "warm_up", "146 years"},
	} {
		text := small + c.text
		if rest, odd := strings.CutPrefix(c.text, "--odd\n"); odd {
			text = strings.Replace(small, "leaves: 4", "leaves: 5", 1) + rest
		}
		s, p := scenarios.Parse("t", []byte(text))
		if p.Any() {
			if c.path == "failures.0.episodes" {
				continue // the language refuses it already
			}
			t.Errorf("%s\n%s", c.text, p)
			continue
		}
		_, problems := Build(s)
		if len(problems) != 1 || problems[0].Path != c.path || !strings.Contains(problems[0].Text, c.say) {
			t.Errorf("%s\ngives %+v, want %q at %s", c.text, problems, c.say, c.path)
		}
		if Resolve(s) != nil {
			t.Errorf("%s\nwas resolved all the same", c.text)
		}
		for _, q := range problems {
			p.Add(q.Path, q.Text, "")
		}
		if !strings.Contains(p.String(), c.say) {
			t.Errorf("%s\nis not shown: %s", c.text, p)
		}
	}
}
