package player

import (
	"bytes"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"syscall"
	"testing"

	"halflight/cmd/halflight/status"
	"halflight/results"
	"halflight/sim/record"
)

func study() (results.Study, record.Header) {
	return results.Study{Scenario: "quay", Digest: "d", Seed: 3, Asked: 9, Program: "p", Horizon: 10},
		record.Header{Modes: []record.Mode{{Name: "cut", Kind: "hard"}}, Phases: []string{"stranded"}, States: []string{"QUIET"}}
}

func replicationOf(n uint32) *record.Replication {
	return &record.Replication{Number: n, To: 10, LostSeconds: [][]float64{{0.1 * float64(n)}}, Onsets: []int64{1}, Present: []float64{0},
		Unseen: []float64{0}, RouterTime: 5, StateTime: []float64{5}, SPFRuns: int64(n)}
}

// open opens a journal of the study.
func open(t *testing.T, path string) (*Journal, []record.Replication) {
	t.Helper()
	s, h := study()
	j, list, err := Open(path, s, h)
	if err != nil {
		t.Fatal(err)
	}
	return j, list
}

// written is a journal that holds replications.
func written(t *testing.T, numbers ...uint32) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "journal")
	j, _ := open(t, path)
	for _, n := range numbers {
		if err := j.Keep(replicationOf(n)); err != nil {
			t.Fatal(err)
		}
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func numbers(list []record.Replication) []uint32 {
	var out []uint32
	for i := range list {
		out = append(out, list[i].Number)
	}
	return out
}

// What was kept comes back in order, each once, to the last bit.
func TestJournal(t *testing.T) {
	j, list := open(t, written(t, 4, 0, 7, 4))
	if !slices.Equal(numbers(list), []uint32{0, 4, 7}) || j.Foreign() {
		t.Fatalf("%v", numbers(list))
	}
	a, _ := json.Marshal(replicationOf(7))
	b, _ := json.Marshal(&list[2])
	if !bytes.Equal(a, b) {
		t.Errorf("kept %s, came back %s", a, b)
	}
	if err := j.Remove(); err != nil {
		t.Fatal(err)
	}
	if err := j.Remove(); err != nil {
		t.Errorf("removed twice: %v", err)
	}
}

// Nothing is made before there is something to keep.
func TestJournalOfNothing(t *testing.T) {
	path := written(t)
	if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%v", err)
	}
}

// Cut after any byte, it holds what was whole, and goes on from there.
func TestJournalCut(t *testing.T) {
	path := written(t, 0, 1, 2)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	ends := []int{0}
	for i, b := range whole {
		if b == '\n' {
			ends = append(ends, i+1)
		}
	}
	for n := range whole {
		if err := os.WriteFile(path, whole[:n], 0o666); err != nil {
			t.Fatal(err)
		}
		lines := 0
		for _, end := range ends {
			if end > 0 && n >= end {
				lines++
			}
		}
		j, list := open(t, path)
		if len(list) != max(lines-1, 0) {
			t.Fatalf("cut after %d bytes: %v", n, numbers(list))
		}
		if err := j.Keep(replicationOf(5)); err != nil {
			t.Fatal(err)
		}
		j.Close()
		kept := max(lines-1, 0) + 1
		if lines > 0 && slices.Contains(ends, n+1) {
			kept++ // only the end of a line was gone, and is put back
		}
		if _, again := open(t, path); len(again) != kept {
			t.Fatalf("cut after %d bytes and gone on: %v", n, numbers(again))
		}
	}
}

// A changed byte costs its line; in the first line all, since nobody knows what
// the rest is of.
func TestJournalDamaged(t *testing.T) {
	path := written(t, 0, 1, 2)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	head := bytes.IndexByte(whole, '\n') + 1
	for n := range whole {
		b := bytes.Clone(whole)
		b[n] ^= 1
		if err := os.WriteFile(path, b, 0o666); err != nil {
			t.Fatal(err)
		}
		_, list := open(t, path)
		switch {
		case n < head && n > sumLength && n < head-1 && len(list) != 0:
			t.Fatalf("byte %d of the head changed: %v", n, numbers(list))
		case n >= head && len(list) > 2:
			t.Fatalf("byte %d changed: %v", n, numbers(list))
		case n >= head && len(list) < 1:
			t.Fatalf("byte %d changed took too much: %v", n, numbers(list))
		}
	}
}

// Another study, seed or build is not taken up, and is replaced only by something
// to keep.
func TestJournalForeign(t *testing.T) {
	path := written(t, 0, 1)
	s, h := study()
	s.Seed++
	j, list, err := Open(path, s, h)
	if err != nil || len(list) != 0 || !j.Foreign() {
		t.Fatalf("%v, %v", list, err)
	}
	if _, old := open(t, path); len(old) != 2 {
		t.Errorf("looking at it took %v away", old)
	}
	if err := j.Keep(replicationOf(2)); err != nil {
		t.Fatal(err)
	}
	j.Close()
	if _, list, err := Open(path, s, h); err != nil || len(list) != 1 {
		t.Errorf("%v, %v", list, err)
	}
	// How many replications are asked for does not matter.
	s.Asked = 1000
	if _, list, err := Open(path, s, h); err != nil || len(list) != 1 {
		t.Errorf("more asked for: %v, %v", list, err)
	}
}

// Two programs at once do no harm.
func TestJournalTwice(t *testing.T) {
	path := written(t)
	a, _ := open(t, path)
	b, _ := open(t, path)
	for n := range uint32(5) {
		for _, j := range []*Journal{a, b} {
			if err := j.Keep(replicationOf(n)); err != nil {
				t.Fatal(err)
			}
		}
	}
	if _, list := open(t, path); len(list) != 5 {
		t.Errorf("%v", numbers(list))
	}
}

// A full disk is trouble that may pass; a folder that may not be written is not.
func TestJournalTrouble(t *testing.T) {
	s, h := study()
	var failed *status.Failed
	if _, _, err := Open("/dev/full", s, h); !errors.As(err, &failed) || failed.Status != status.Wrong {
		t.Errorf("no file: %v", err)
	}
	j, _ := open(t, written(t, 0))
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	j.file = full
	if err := j.Keep(replicationOf(0)); !errors.As(err, &failed) || failed.Status != status.Trouble || !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("full: %v", err)
	}
	j, _, err = Open("/proc/nosuch/journal", s, h)
	if err != nil {
		t.Fatal(err)
	}
	if err := j.Keep(replicationOf(0)); !errors.As(err, &failed) || failed.Status != status.Wrong {
		t.Errorf("no folder: %v", err)
	}
}
