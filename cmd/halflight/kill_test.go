package main

import (
	"bytes"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// killed is a scenario whose run takes some hundred milliseconds.
const killed = `
name: killed
horizon: 10d
warm_up: 0s
replications: 150
fabric: {clos: {pods: 1, leaves: 8, spines: 4}}
failures: [{name: cut, on: link, kind: hard, life: {exponential: {mean: 1d}}, repair: {lead: 10min}}]
`

// sameFolder compares all files of two folders.
func sameFolder(t *testing.T, a, b string) {
	t.Helper()
	list, err := os.ReadDir(a)
	if err != nil {
		t.Fatal(err)
	}
	other, err := os.ReadDir(b)
	if err != nil || len(list) != len(other) || len(list) < 5 {
		t.Fatalf("%d files in %s, %d in %s, %v", len(list), a, len(other), b, err)
	}
	for _, e := range list {
		x, err := os.ReadFile(filepath.Join(a, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		y, err := os.ReadFile(filepath.Join(b, e.Name()))
		if err != nil || !bytes.Equal(x, y) {
			t.Errorf("%s differs, %v", e.Name(), err)
		}
	}
}

// unfinished lists journals in the present folder.
func unfinished(t *testing.T) []string {
	t.Helper()
	list, err := filepath.Glob(".*.unfinished-*")
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// Killed twenty times at random moments, the run goes on each time from what was
// finished, and at last leaves the bytes of one that was let alone, and nothing
// beside them.
func TestKilledAndGoneOn(t *testing.T) {
	inFolder(t)
	if err := os.WriteFile("killed.yaml", []byte(killed), 0o666); err != nil {
		t.Fatal(err)
	}
	begun := time.Now()
	var out, errOut bytes.Buffer
	if code := run([]string{"run", "killed.yaml", "--out", "alone"}, nil, &out, &errOut); code != 0 {
		t.Fatalf("status %d: %s", code, errOut.String())
	}
	took := time.Since(begun)
	dice := rand.New(rand.NewPCG(uint64(begun.UnixNano()), 1))
	sizes, size := 0, int64(0)
	for i := range 20 {
		errOut.Reset()
		p := start(t, &errOut, "run", "killed.yaml", "--out", "hunted")
		time.Sleep(time.Duration(dice.Float64() * float64(took) / 8))
		if err := p.Process.Kill(); err != nil {
			t.Fatalf("kill %d: %v", i, err)
		}
		if err := p.Wait(); err == nil {
			t.Logf("kill %d came too late", i)
		}
		if len(unfinished(t)) == 0 {
			size = 0 // not begun, or whole already
		}
		for _, path := range unfinished(t) {
			info, err := os.Stat(path)
			if err != nil {
				t.Fatal(err)
			}
			if info.Size() < size {
				t.Errorf("after kill %d the journal has shrunk from %d to %d bytes", i, size, info.Size())
			}
			if info.Size() > size {
				sizes++
			}
			size = info.Size()
		}
	}
	if sizes == 0 {
		t.Error("no attempt left anything: the kills came too early to show anything")
	}
	out.Reset()
	if code := run([]string{"run", "killed.yaml", "--out", "hunted"}, nil, &out, &errOut); code != 0 {
		t.Fatalf("status %d: %s", code, errOut.String())
	}
	sameFolder(t, "alone", "hunted")
	if left := unfinished(t); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// The same of a comparison, of a sweep and of a run with other worlds, each killed
// five times, or more if they came too early to show anything.
func TestStudiesKilledAndGoneOn(t *testing.T) {
	inFolder(t)
	shorter := strings.Replace(killed, "replications: 150", "replications: 25", 1)
	if err := os.WriteFile("killed.yaml", []byte(shorter), 0o666); err != nil {
		t.Fatal(err)
	}
	dice := rand.New(rand.NewPCG(uint64(time.Now().UnixNano()), 2))
	for _, c := range []struct {
		answer string
		args   []string
	}{
		{"compare.json", []string{"compare", "killed.yaml", "--but", "detection.settle=10s"}},
		{"sweep.json", []string{"sweep", "killed.yaml", "--vary", "detection.settle=1s,5s", "--measure", "spf_runs"}},
		{"summary.json", []string{"run", "killed.yaml", "--replications", "4", "--worlds", "40"}},
	} {
		begun := time.Now()
		var out, errOut bytes.Buffer
		if code := run(append(c.args, "--out", "alone"), nil, &out, &errOut); code != 0 {
			t.Fatalf("status %d: %s", code, errOut.String())
		}
		took := time.Since(begun)
		left, most := 0, 0
		for n := 0; n < 5 || n < 40 && c.answer == "summary.json" && most < 10; n++ { // all of the first may come early
			p := start(t, &errOut, append(c.args, "--out", "hunted")...)
			time.Sleep(time.Duration(dice.Float64() * float64(took) / 3))
			if err := p.Process.Kill(); err != nil {
				t.Fatal(err)
			}
			p.Wait()
			left += len(unfinished(t))
			most = max(most, len(unfinished(t)))
		}
		if left == 0 {
			t.Errorf("%s: no attempt left anything", c.answer)
		}
		if c.answer == "summary.json" && most < 10 {
			t.Errorf("%d files were left at most: nothing is kept of the worlds", most)
		}
		if code := run(append(c.args, "--out", "hunted"), nil, &out, &errOut); code != 0 {
			t.Fatalf("status %d: %s", code, errOut.String())
		}
		a, err := os.ReadFile(filepath.Join("alone", c.answer))
		if err != nil {
			t.Fatal(err)
		}
		if b, err := os.ReadFile(filepath.Join("hunted", c.answer)); err != nil || !bytes.Equal(a, b) {
			t.Errorf("%s differs: %v", c.answer, err)
		}
		if left := unfinished(t); len(left) > 0 {
			t.Errorf("left behind: %v", left)
		}
		for _, dir := range []string{"alone", "hunted"} {
			if err := os.RemoveAll(dir); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// A search that is killed at its full length, again and again, has lost only what
// was under way: the journals grow from kill to kill, and the last attempt says what
// one in a single piece says.
func TestTuneKilledAtFullLength(t *testing.T) {
	inFolder(t)
	if err := os.WriteFile("killed.yaml", []byte(killed), 0o666); err != nil {
		t.Fatal(err)
	}
	args := []string{"tune", "killed.yaml", "--start", "10", "--local", "4", "--race", "2", "--race-horizon", "2d"}
	var out, errOut bytes.Buffer
	if code := run(append(args, "--out", "alone"), nil, &out, &errOut); code != 0 {
		t.Fatalf("status %d: %s", code, errOut.String())
	}
	lines := func() (n int) {
		for _, path := range unfinished(t) {
			text, _ := os.ReadFile(path) // it may be gone, once all is in the result
			n += bytes.Count(text, []byte("\n"))
		}
		return n
	}
	inTime := 0
	finished := func() bool { _, err := os.Stat("hunted"); return err == nil }
	for range 3 {
		before := lines()
		p := start(t, &errOut, append(args, "--out", "hunted")...)
		for began := time.Now(); lines() < before+10 && !finished(); time.Sleep(time.Millisecond) {
			if time.Since(began) > 5*time.Minute {
				p.Process.Kill()
				t.Fatalf("after five minutes still %d lines in %v: %s", lines(), unfinished(t), errOut.String())
			}
		}
		if err := p.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		p.Wait()
		if finished() {
			t.Log("the kill came too late")
			break
		}
		inTime++
		// Two lines say of what the journals are, 300 replications are played, and each
		// kill may cut a line in either.
		if n := lines(); n < before+10 || n > 302+2*inTime {
			t.Errorf("%d lines after a kill, %d before", n, before)
		}
	}
	if inTime == 0 {
		t.Error("no kill came in time to show anything")
	}
	if code := run(append(args, "--out", "hunted"), nil, &out, &errOut); code != 0 {
		t.Fatalf("status %d: %s", code, errOut.String())
	}
	a, err := os.ReadFile(filepath.Join("alone", "tune.json"))
	if err != nil {
		t.Fatal(err)
	}
	if b, err := os.ReadFile(filepath.Join("hunted", "tune.json")); err != nil || !bytes.Equal(a, b) {
		t.Errorf("tune.json differs: %v", err)
	}
	if left, _ := filepath.Glob("*.state"); len(left)+len(unfinished(t)) > 0 {
		t.Errorf("left behind: %v, %v", left, unfinished(t))
	}
}
