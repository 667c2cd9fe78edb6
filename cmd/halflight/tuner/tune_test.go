package tuner

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"halflight/cmd/halflight/studies"
	"halflight/model"
	"halflight/model/failure"
	"halflight/results/tuned"
	"halflight/results/tuning"
	"halflight/scenarios"
)

// loader loads shipped scenarios as the door does.
func loader(name string, set []string) (*studies.Scenario, error) {
	text, _ := scenarios.Source(name)
	s, problems := scenarios.Parse(name, text, set...)
	if problems.Any() {
		if longer := studies.SpelledOut(name, text, set); longer != nil {
			s, problems = scenarios.Parse(name, text, longer...)
		}
	}
	if problems.Any() {
		return nil, problems
	}
	w, more := model.Build(s)
	if len(more) > 0 {
		return nil, errors.New(more[0].Text)
	}
	return &studies.Scenario{Scenario: s, World: w, Digest: studies.Digest(name, set)}, nil
}

// fullLength is how many replications of the full length small asks for.
const fullLength = 4

func small(memory string) *Tune {
	return &Tune{Name: "storm", Set: []string{"horizon=20min", "warm_up=10min", fmt.Sprint("replications=", fullLength)}, Start: 10, Local: 4, Replications: 2, Horizon: "10min",
		Limit: 0.5, Floors: map[string]string{}, Memory: memory, Measures: []string{"spf_runs"}, Stage: func(string) {}}
}

// TestTuneGoesOn: stopped wherever it may be, a search that goes on from its memory
// says what one in a single piece says, and plays nothing twice but what was under
// way, at full length too.
func TestTuneGoesOn(t *testing.T) {
	dir := t.TempDir()
	// full counts what of the full length was there and what was played.
	type full struct{ there, played int }
	answer := func(tune *Tune, ctx context.Context, told func()) (string, full, error) {
		var f full
		h := &studies.Host{Load: loader, Workers: 2, Told: func(done, _ int) {
			if f.there+f.played == 0 && done > 1 { // the first word is of what was there
				f.there = done
				return
			}
			f.played++
			told()
		}}
		h.KeepAt(tune.Memory)
		if _, err := tune.Open(h); err != nil {
			t.Fatal(err)
		}
		a, err := tune.Run(ctx, h)
		if err != nil {
			return "", f, err
		}
		var b bytes.Buffer
		if err := a.WriteJSON(&b); err != nil {
			t.Fatal(err)
		}
		return b.String(), f, nil
	}
	whole := small(filepath.Join(dir, "whole"))
	want, all, err := answer(whole, context.Background(), func() {})
	if err != nil || all.played != 2*fullLength {
		t.Fatal(err, all)
	}
	for _, at := range []string{"race, 11", "local search, 2", "unseen", "full length", "full length, 3"} {
		path := filepath.Join(dir, "stopped "+at)
		first := small(path)
		ctx, cancel := context.WithCancel(context.Background())
		first.Stage = func(text string) {
			if strings.Contains(text, at) {
				cancel()
			}
		}
		toGo := 3
		_, before, err := answer(first, ctx, func() {
			if toGo--; toGo == 0 && at == "full length, 3" {
				cancel()
			}
		})
		if !errors.Is(err, context.Canceled) {
			t.Fatalf("%s: %v", at, err)
		}
		cancel()
		// A kill may cut the last line.
		cut := []string{path}
		if before.played > 0 {
			cut = append(cut, path+"-0")
		}
		for _, path := range cut {
			if text, err := os.ReadFile(path); err == nil && len(text) > 300 {
				if err := os.WriteFile(path, text[:len(text)-20], 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
		second := small(path)
		got, after, err := answer(second, context.Background(), func() {})
		if err != nil || got != want {
			t.Errorf("%s: %v, and another answer", at, err)
		}
		// The cut line, and what was under way at the stop.
		if twice := first.playedOnes + second.playedOnes - whole.playedOnes; twice < 0 || twice > 1+2*2 {
			t.Errorf("%s: %d and %d played, %d in one piece", at, first.playedOnes, second.playedOnes, whole.playedOnes)
		}
		kept := max(before.played-1, 0)
		if at == "full length, 3" && kept < 2 || after.there != kept || after.played != all.played-kept {
			t.Errorf("%s: of the full length %d were played and all but a cut line kept, then %d were there and %d played", at, before.played, after.there, after.played)
		}
	}
}

// TestUnseen: nothing that the proof and the curve play was played by the search, by
// condition and number; the curve begins with the setting that loads routers least.
func TestUnseen(t *testing.T) {
	tune := small(filepath.Join(t.TempDir(), "m"))
	h := &studies.Host{Load: loader, Workers: 2}
	if _, err := tune.Open(h); err != nil {
		t.Fatal(err)
	}
	var searched map[string]tuning.Figures
	tune.Stage = func(text string) {
		if text == "unseen replications" {
			searched = maps.Clone(tune.memory.held)
		}
	}
	a, err := tune.Run(t.Context(), h)
	if err != nil {
		t.Fatal(err)
	}
	block := func(key string) string { return strings.Join(strings.SplitN(key, "|", 3)[:2], "|") }
	seen := map[string]bool{}
	for key := range searched {
		seen[block(key)] = true
	}
	proof := 0
	for key := range tune.memory.held {
		if _, ok := searched[key]; ok {
			continue
		}
		if proof++; seen[block(key)] {
			t.Errorf("the proof played %s, which the search had seen", block(key))
		}
	}
	if len(seen) < 4 || proof < 10 {
		t.Errorf("%d blocks searched, %d plays in the proof", len(seen), proof)
	}
	if len(a.Curve) < 2 || !slices.IsSortedFunc(a.Curve, func(x, y tuned.Point) int { return cmp.Compare(busiest(x), busiest(y)) }) {
		t.Errorf("the curve: %+v", a.Curve)
	}
}

// TestProofSign: a setting that does everything as late as it may costs more than the
// present one in the proof.
func TestProofSign(t *testing.T) {
	tune := small(filepath.Join(t.TempDir(), "m"))
	h := &studies.Host{Load: loader, Workers: 2}
	if _, err := tune.Open(h); err != nil {
		t.Fatal(err)
	}
	var err error
	if tune.memory, err = recall(tune.Memory, tune.study); err != nil {
		t.Fatal(err)
	}
	defer tune.memory.close()
	late := tune.present()
	for i := range tune.knobs {
		if k := &tune.knobs[i]; strings.HasPrefix(k.Path, "timers.") {
			late[i] = float64(k.Most)
		}
	}
	var a tuned.Answer
	if err := tune.conditions(t.Context(), h, &a, late); err != nil {
		t.Fatal(err)
	}
	if a.Gain.Difference.Value <= 0.1 {
		t.Errorf("it costs %v more", a.Gain.Difference.Value)
	}
}

// TestOtherBuild: figures are taken up by the build that played them alone, not by
// all that have its version.
func TestOtherBuild(t *testing.T) {
	tune := small(filepath.Join(t.TempDir(), "m"))
	h := &studies.Host{Load: loader, Workers: 2, Program: "development"}
	if _, err := tune.Open(h); err != nil {
		t.Fatal(err)
	}
	other, err := recall(tune.Memory, tune.study)
	if err != nil {
		t.Fatal(err)
	}
	if err := other.keep("of another build", tuning.Figures{}); err != nil {
		t.Fatal(err)
	}
	other.close()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := tune.Run(ctx, h); !errors.Is(err, context.Canceled) {
		t.Fatal(err)
	}
	if len(tune.memory.held) > 0 {
		t.Errorf("taken up: %v", tune.memory.held)
	}
}

// TestMemory: what was kept is there, of this study only.
func TestMemory(t *testing.T) {
	path := filepath.Join(t.TempDir(), "m")
	m, err := recall(path, "a")
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"x", "y"} {
		if err := m.keep(key, tuning.Figures{Loss: 1, Busy: 0.1 + 1e-17}); err != nil {
			t.Fatal(err)
		}
	}
	m.close()
	text, _ := os.ReadFile(path)
	os.WriteFile(path, text[:len(text)-5], 0o644)
	if m, err = recall(path, "a"); err != nil || len(m.held) != 1 || m.held["x"].Loss != 1 {
		t.Errorf("%v: %v", err, m.held)
	}
	if err := m.keep("z", tuning.Figures{Loss: 3}); err != nil {
		t.Fatal(err)
	}
	m.close()
	if m, err = recall(path, "a"); err != nil || len(m.held) != 2 || m.held["z"].Loss != 3 {
		t.Errorf("after a cut line: %v: %v", err, m.held)
	}
	m.close()
	if m, err = recall(path, "b"); err != nil || len(m.held) != 0 {
		t.Errorf("of another study: %v: %v", err, m.held)
	}
	m.drop()
	if _, err := os.Stat(path); err == nil {
		t.Error("dropped and still there")
	}
	if err := os.WriteFile(path, []byte(`{"stu`), 0o644); err != nil {
		t.Fatal(err)
	}
	if m, err = recall(path, "a"); err != nil || len(m.held) != 0 {
		t.Errorf("cut at once: %v", err)
	}
	m.drop()
	for _, foreign := range []string{"my own notes\n", "{}\n", "no newline"} {
		if err := os.WriteFile(path, []byte(foreign), 0o644); err != nil {
			t.Fatal(err)
		}
		if _, err := recall(path, "a"); err == nil || !strings.Contains(err.Error(), "is no memory of a search") {
			t.Errorf("%q: %v", foreign, err)
		}
		if text, _ := os.ReadFile(path); string(text) != foreign {
			t.Errorf("%q became %q", foreign, text)
		}
	}
}

// TestStorms: the set is the same kind of trouble on every shipped fabric, and can
// be played there.
func TestStorms(t *testing.T) {
	for _, name := range scenarios.Shipped() {
		base, err := loader(name, nil)
		if err != nil {
			t.Fatal(err)
		}
		storms, rates, trial, err := conditions(&studies.Host{Load: loader}, name, nil, base, "10d", "1d")
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if len(storms) != 3 || len(storms[2].cuts) != min(20, base.World.Fabric.Leaves/2) || len(storms[1].base.World.Script) != 4 ||
			len(storms[0].base.World.Script) != 301 {
			t.Errorf("%s: %d storms, %d leaves go dark", name, len(storms), len(storms[2].cuts))
		}
		for i := range storms {
			if p := &storms[i].base.World.Operation; len(storms[i].base.World.Modes) != 0 || p.Upgrades != nil || p.Changes != nil || storms[i].base.World.WarmUp != 0 {
				t.Errorf("%s: %s is not alone", name, storms[i].name)
			}
		}
		flaps := slices.ContainsFunc(base.World.Modes, func(m failure.Mode) bool { return m.Kind == failure.Flapping })
		if want := map[bool]int{true: 3, false: 1}[flaps]; len(rates) != want {
			t.Errorf("%s: %d flap rates, want %d", name, len(rates), want)
		}
		if want := map[bool]int{true: 1, false: 0}[flaps]; len(trial) != want {
			t.Errorf("%s: %d trials, want %d", name, len(trial), want)
		}
	}
	base, _ := loader("orchard", nil)
	rates := flapRates(base)
	if got := strings.Join(append(rates[0].set, rates[2].set...), " "); got != "failures.optic-flap.episodes=4e-05/d failures.optic-flap.episodes=0.012/d" {
		t.Error(got)
	}
}

// A race goes from what is cheap to what is dear, plays every replication at every
// rate once, each as long as the others, and comes to the high rate when all else
// has had its say.
func TestRace(t *testing.T) {
	tune := &Tune{Name: "tidewater", Set: []string{"replications=2"}, Start: 2, Replications: 8, Limit: 0.5, Floors: map[string]string{}}
	if _, err := tune.Open(&studies.Host{Load: loader}); err != nil {
		t.Fatal(err)
	}
	o := tune.order
	var got []string
	for _, b := range o.blocks {
		got = append(got, fmt.Sprintf("%.4s%d", b.condition.name, b.number))
	}
	want := "one 0 spin0 powe0 low 0 pres0 low 1 pres1 low 2 pres2 tria8 low 3 pres3 low 4 pres4 low 5 pres5 low 6 pres6 low 7 pres7 high0 high1 high2 high3 high4 high5 high6 high7"
	if order := strings.Join(got, " "); order != want || !slices.Equal(o.looks, []int{9, 20}) || o.flat != 10 {
		t.Errorf("%s, looks %v, flatness over %d", order, o.looks, o.flat)
	}
	day := int64(86400e9)
	for _, c := range tune.rates {
		if w := c.base.World; w.Horizon != 10*day || w.WarmUp != day {
			t.Errorf("%s: %d measured after %d", c.name, w.Horizon, w.WarmUp)
		}
	}
	if got := tune.trial[0].base.World.Horizon; got != 2*day {
		t.Errorf("%d measured in the trial", got)
	}
	for horizon, want := range map[string]string{"10d": "2d", "4d": "1d", "2h": "2h", "20d": "4d"} {
		if got := mustDuration(t, trialHorizon(horizon)); got != mustDuration(t, want) {
			t.Errorf("%s: %s, want %s", horizon, trialHorizon(horizon), want)
		}
	}
	// Where there is one rate only the blocks of it are all there is.
	tune = &Tune{Name: "tidewater", Set: []string{"failures=[{name: cut, on: link, kind: hard, life: {exponential: {mean: 1y}}}]"}, Start: 2, Replications: 2, Limit: 0.5, Floors: map[string]string{}}
	if _, err := tune.Open(&studies.Host{Load: loader}); err != nil {
		t.Fatal(err)
	}
	if o := tune.order; len(o.blocks) != 5 || !slices.Equal(o.looks, []int{5}) || o.flat != 5 {
		t.Errorf("%+v", o)
	}
}

func mustDuration(t *testing.T, text string) int64 {
	d, err := scenarios.ParseDuration(text)
	if err != nil {
		t.Fatal(err)
	}
	return int64(d)
}

// What is typed for a setting that turns damping on or off, or leaves it.
func TestTyped(t *testing.T) {
	of := func(cutOff, half string) []string {
		a := &tuned.Answer{Knobs: []tuned.Knob{{Key: "detection.settle", Present: "2s", Best: "3s"},
			{Key: "detection.damping.cut_off", Present: strings.Split(cutOff, ">")[0], Best: strings.Split(cutOff, ">")[1]},
			{Key: "detection.damping.half_life", Present: strings.Split(half, ">")[0], Best: strings.Split(half, ">")[1]}}}
		return Typed(a)
	}
	for _, c := range []struct{ cutOff, half, want string }{
		{"off>off", "15min>15min", "detection.settle=3s"},
		{"off>7000", "15min>5min", "detection.settle=3s detection.damping.cut_off=7000 detection.damping.half_life=5min"},
		{"off>7000", "15min>15min", "detection.settle=3s detection.damping.cut_off=7000 detection.damping.half_life=15min"},
		{"7000>7000", "15min>5min", "detection.settle=3s detection.damping.half_life=5min"},
		{"7000>off", "5min>15min", "detection.settle=3s detection.damping=false"},
	} {
		if got := strings.Join(of(c.cutOff, c.half), " "); got != c.want {
			t.Errorf("%+v: %s", c, got)
		}
	}
}
