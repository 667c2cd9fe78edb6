package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"halflight/cmd/halflight/store"
	"halflight/results"
)

// A scenario of many short replications, so that a signal always meets some
// finished and some not.
const endless = `
name: endless
horizon: 30d
warm_up: 0s
replications: 1000000
fabric: {clos: {pods: 1, leaves: 8, spines: 4}}
failures: [{name: cut, on: link, kind: hard, life: {exponential: {mean: 1d}}, repair: {lead: 10min}}]
`

// start runs the program on its own and returns when some replications must be
// done. Its log of progress goes to the buffer.
func start(t *testing.T, errOut *bytes.Buffer, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(t.TempDir(), "halflight") // by this name the test binary is the program
	if err := os.Symlink(self, link); err != nil {
		t.Fatal(err)
	}
	c := exec.Command(link, args...)
	c.Stderr = errOut
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	return c
}

// The first signal keeps what is finished, in a folder that says so, and the
// status tells which signal it was.
func TestSignals(t *testing.T) {
	for _, c := range []struct {
		signal syscall.Signal
		status int
		word   string
	}{{syscall.SIGINT, 130, "interrupted"}, {syscall.SIGTERM, 143, "terminated"}} {
		t.Run(c.word, func(t *testing.T) {
			inFolder(t)
			if err := os.WriteFile("endless.yaml", []byte(endless), 0o666); err != nil {
				t.Fatal(err)
			}
			var errOut bytes.Buffer
			p := start(t, &errOut, "run", "endless.yaml", "--workers", "2", "--set", "objectives=[{measure: spf_runs, at_most: 1e9}]")
			waitForSome(t)
			if err := p.Process.Signal(c.signal); err != nil {
				t.Fatal(err)
			}
			var ended *exec.ExitError
			if err := p.Wait(); !errors.As(err, &ended) || ended.ExitCode() != c.status {
				t.Fatalf("%v, want status %d: %s", err, c.status, errOut.String())
			}
			if !strings.Contains(errOut.String(), c.word+"; PARTIAL result of ") {
				t.Errorf("standard error: %s", errOut.String())
			}
			kept(t, c.word)
		})
	}
}

// waitForSome waits until some replications are kept.
func waitForSome(t *testing.T) {
	t.Helper()
	for range 600 {
		for _, path := range unfinished(t) {
			if text, err := os.ReadFile(path); err == nil && bytes.Count(text, []byte("\n")) > 5 {
				return
			}
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatal("no replication was kept within half a minute")
}

// kept looks at a partial result.
func kept(t *testing.T, word string) {
	t.Helper()
	files := os.DirFS("endless-1")
	set, err := results.Read(files, "replications.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join("endless-1", store.ManifestName))
	if err != nil {
		t.Fatal(err)
	}
	var m store.Manifest
	if err := json.Unmarshal(text, &m); err != nil {
		t.Fatal(err)
	}
	n := len(set.Replications)
	if n == 0 || n >= 1000000 || m.Replications != n || m.Partial != word || m.Asked != 1000000 {
		t.Errorf("%d replications, manifest %+v", n, m)
	}
	var s struct {
		Partial    bool
		Objectives []any
	}
	text, err = os.ReadFile(filepath.Join("endless-1", "summary.json"))
	if err != nil || json.Unmarshal(text, &s) != nil || !s.Partial {
		t.Errorf("the summary does not say that it is partial: %v", err)
	}
	if len(s.Objectives) > 0 {
		t.Errorf("half a study was judged: %v", s.Objectives)
	}
	left, err := filepath.Glob(".halflight-*")
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// Progress: a line redrawn on a terminal of any width, plain lines at most every
// ten seconds elsewhere.
func TestProgress(t *testing.T) {
	now := time.Time{}
	var out bytes.Buffer
	p := &progress{to: &out, name: "x", now: func() time.Time { return now }}
	p.start, p.last = now, now
	for i := range 31 {
		p.done(i, 40)
		now = now.Add(time.Second)
	}
	p.end()
	want := "x: 10 of 40 replications, 10s, about 30s to go\nx: 20 of 40 replications, 20s, about 20s to go\nx: 30 of 40 replications, 30s, about 10s to go\n"
	if out.String() != want {
		t.Errorf("in a log: %q", out.String())
	}
	out.Reset()
	p.terminal = 20
	p.done(31, 40)
	p.done(40, 40)
	p.end()
	if got := out.String(); got != "\r\x1b[Kx: 31 of 40 repl..."+"\r\x1b[Kx: 40 of 40 repl..."+"\r\x1b[K" {
		t.Errorf("on a terminal: %q", got)
	}
}
