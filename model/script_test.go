package model

import (
	"slices"
	"testing"

	"halflight/model/failure"
	"halflight/scenarios"
)

// event resolves a script of one event on a fabric of 2 pods with parallel
// links; times in ns.
func event(t *testing.T, head, text string) failure.Scripted {
	t.Helper()
	const f = "fabric: {clos: {pods: 2, leaves: 11, spines: 4, tops: 2, parallel: 2}}\n" +
		"groups: [{name: trio, members: [leaf-0-2~spine-0-1#1, leaf-0-1~spine-0-1#0]}, {name: way, members: [spine-0-1>leaf-0-3#0]}, {name: both, members: [leaf-1-3, leaf-0-2]}]\n"
	_, w := resolved(t, "t", f+head+"\nscript: [{"+text+"}]")
	return w.Script[0]
}

// Parts by name, numbers padded, each kind with its condition.
func TestScriptParts(t *testing.T) {
	const no = "random: false"
	for _, c := range []struct {
		text string
		want failure.Scripted
	}{
		{"at: 1s, on: leaf-1-3, kind: hard, light: true, for: 2s",
			failure.Scripted{Condition: failure.Condition{Kind: failure.Hard, Light: true}, At: 1e9, End: 3e9, On: "leaf-1-03", Routers: []int32{14}}},
		{"at: 0s, on: spine-0-1~leaf-0-2#1, kind: hard",
			failure.Scripted{Condition: failure.Condition{Kind: failure.Hard}, End: -1, On: "leaf-0-02~spine-0-1#1", Links: []int32{19}}},
		{"at: 0s, on: spine-0-1>leaf-0-2#1, kind: lossy, loss: 2.5%",
			failure.Scripted{Condition: failure.Condition{Kind: failure.Lossy, Loss: 0.025}, End: -1, On: "spine-0-1>leaf-0-02#1", Directions: []int32{39}}},
		{"at: 0s, on: spine-0-1~top-1-1, kind: silent, loss: 1",
			failure.Scripted{Condition: failure.Condition{Kind: failure.Silent, Loss: 1}, End: -1, On: "spine-0-1~top-1-1", Links: []int32{2*11*4*2 + 3}}},
		{"at: 0s, on: spine-0-1>top-1-1, kind: blackhole, share: 0.25",
			failure.Scripted{Condition: failure.Condition{Kind: failure.Blackhole, Share: 0.25}, End: -1, On: "spine-0-1>top-1-1", Directions: []int32{2 * (2*11*4*2 + 3)}}},
		{"at: 0s, on: spine-0-1>top-1-1, kind: oversize, above: 1kB",
			failure.Scripted{Condition: failure.Condition{Kind: failure.Oversize, Above: 1000}, End: -1, On: "spine-0-1>top-1-1", Directions: []int32{2 * (2*11*4*2 + 3)}}},
		{"at: 0s, on: top-1-0, kind: restart, for: 5s",
			failure.Scripted{Condition: failure.Condition{Kind: failure.Restart}, End: 5e9, On: "top-1-0", Routers: []int32{22 + 8 + 2}}},
		{"at: 0s, on: top-1-0>spine-0-1, kind: drain",
			failure.Scripted{Condition: failure.Condition{Kind: failure.Drain}, End: -1, On: "top-1-0>spine-0-1", Directions: []int32{2*(2*11*4*2+2) + 1}}},
		{`at: 0s, on: "group:trio", kind: lossy, loss: 0.1`,
			failure.Scripted{Condition: failure.Condition{Kind: failure.Lossy, Loss: 0.1}, End: -1, On: "group:trio", Links: []int32{10, 19}}},
		{`at: 0s, on: "group:both", kind: hard`,
			failure.Scripted{Condition: failure.Condition{Kind: failure.Hard}, End: -1, On: "group:both", Routers: []int32{2, 14}}},
		{`at: 0s, on: "group:way", kind: lossy, loss: 0.1`,
			failure.Scripted{Condition: failure.Condition{Kind: failure.Lossy, Loss: 0.1}, End: -1, On: "group:way", Directions: []int32{53}}},
	} {
		got := event(t, no, c.text)
		same := got.Kind == c.want.Kind && got.Light == c.want.Light && got.Loss == c.want.Loss && got.Share == c.want.Share && got.Above == c.want.Above &&
			got.At == c.want.At && got.End == c.want.End && got.On == c.want.On &&
			slices.Equal(got.Routers, c.want.Routers) && slices.Equal(got.Links, c.want.Links) && slices.Equal(got.Directions, c.want.Directions)
		if !same {
			t.Errorf("%s\n%+v\n%+v", c.text, got, c.want)
		}
	}
}

// Flapping: changes as given, or off first, for off of every period, and on for
// good after the fault's time.
func TestScriptFlapping(t *testing.T) {
	const on = "at: 2ns, on: spine-0-1~top-1-1, kind: flapping, "
	for _, c := range []struct {
		text    string
		end     int64
		changes []int64
	}{
		{"period: 10ns, off: 3ns, for: 25ns", 27, []int64{0, 3, 10, 13, 20, 23}},
		{"period: 10ns, off: 7ns, for: 25ns", 27, []int64{0, 7, 10, 17, 20, 25}},
		{"period: 10ns, off: 3ns, for: 20ns", 22, []int64{0, 3, 10, 13}},
		{"period: 10ns, off: 3ns", -1, []int64{0, 3, 10, 13, 20, 23, 30, 33, 40, 43, 50, 53, 60, 63, 70, 73, 80, 83, 90, 93}},
		{"changes: [0ns, 4ns, 9ns, 11ns]", 13, []int64{0, 4, 9, 11}},
		{"changes: [0ns, 4ns, 9ns]", -1, []int64{0, 4, 9}},
	} {
		got := event(t, "random: false\nhorizon: 102ns", on+c.text)
		if got.End != c.end || !slices.Equal(got.Changes, c.changes) {
			t.Errorf("%s: end %d, changes %v; want %d, %v", c.text, got.End, got.Changes, c.end, c.changes)
		}
	}
}

// Times of a script count from the end of the warm-up.
func TestScriptAfterWarmUp(t *testing.T) {
	if got := event(t, "warm_up: 1h", "at: 1s, on: leaf-1-3, kind: hard, for: 1s"); got.At != 3601e9 || got.End != 3602e9 {
		t.Errorf("%+v", got)
	}
}

// A script without chance has no spread, no jitter, no random failures and no
// warm-up, whatever the defaults are.
func TestWithoutChance(t *testing.T) {
	_, w := resolved(t, "t", "random: false\nfabric: {clos: {leaves: 4, spines: 2}}\nrouters: {spread: 0.3}\ndetection: {bfd: {jitter: 0.2}}")
	if w.Spread != 0 || w.Timers.BFDJitter != 0 || len(w.Modes) != 0 || w.WarmUp != 0 || w.Replications != 1 {
		t.Errorf("%+v", w)
	}
}

// Metrics of a link and of one direction.
func TestMetrics(t *testing.T) {
	_, w := resolved(t, "t", `fabric: {clos: {leaves: 4, spines: 2}, metrics: {leaf-0-1~spine-0-0: 5, "spine-0-1>leaf-0-2": 16777214}}`)
	if got := w.Fabric.Links[2].Metric; got != [2]uint32{5, 5} {
		t.Errorf("both directions: %v", got)
	}
	if got := w.Fabric.Links[5].Metric; got != [2]uint32{1, 16777214} {
		t.Errorf("one direction: %v", got)
	}
}

// Modes: the default set by use, one of it replaced in its place, one added.
func TestModes(t *testing.T) {
	_, w := resolved(t, "t", `
fabric: {clos: {leaves: 4, spines: 2}}
failures:
  - {use: default}
  - {name: mine, on: router, kind: restart, life: {weibull: {shape: 2, mean: 1y}}}
  - {name: optic-dirty, on: link, kind: lossy, life: 2y, start: new}`)
	if len(w.Modes) != 13 || w.Modes[1].Name != "optic-dirty" || w.Modes[12].Name != "mine" {
		t.Fatalf("%+v", w.Modes)
	}
	dirty, mine := w.Modes[1], w.Modes[12]
	if dirty.Life.Mean() != 2*365*86400e9 || dirty.Aged || dirty.Residual != nil || dirty.Source != "" || dirty.OneWay != 0 {
		t.Errorf("%+v", dirty)
	}
	if mine.Residual == nil || !mine.Aged || !mine.Lead.Zero() || mine.Down.Mean() == 0 {
		t.Errorf("%+v", mine)
	}
	none, err := scenarios.Parse("t", []byte("failures: []\nfabric: {clos: {leaves: 4, spines: 2}}"))
	if err.Any() {
		t.Fatal(err)
	}
	if w, _ := Build(none); len(w.Modes) != 0 {
		t.Errorf("an empty list leaves %d modes", len(w.Modes))
	}
}

// In glacier and tidewater, as shipped, dirty optics begin 7.6 and 1.05 times a
// day, and a router fails every 110,000 h by all its causes.
func TestShippedRates(t *testing.T) {
	for name, onsets := range map[string]float64{"glacier": 7.575, "tidewater": 1.052} {
		data, _ := scenarios.Source(name)
		_, w := resolved(t, name, string(data))
		perRouter := 0.0
		for i := range w.Modes {
			m := &w.Modes[i]
			n := m.Population(w.Fabric, w.Groups)
			switch m.Name {
			case "optic-dirty":
				if got := m.OnsetsPerDay(n, 0); got < onsets-0.002 || got > onsets+0.002 {
					t.Errorf("%s: %v onsets a day, want %v", name, got, onsets)
				}
			case "router-hardware", "router-hung", "power-domain", "router-restart":
				perRouter += 3600e9 / m.Life.Mean()
			}
		}
		if h := 1 / perRouter; h < 109_999 || h > 110_001 {
			t.Errorf("%s: a router fails every %v h", name, h)
		}
	}
}
