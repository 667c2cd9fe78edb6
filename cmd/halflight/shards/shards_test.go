package shards

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"halflight/results"
)

// Every cut covers every replication once, in order, in parts whose lengths
// differ by one at most.
func TestCuts(t *testing.T) {
	for _, asked := range []uint32{1, 2, 7, 12, 1000, 1_000_000} {
		for _, n := range []int{1, 2, 3, 8, 97, 1000} {
			study := results.Study{First: 5, Asked: asked}
			next := study.First
			least, most := int(asked), 0
			for i := range n {
				r := Cut{i, n}.Range(study)
				if r.From != next || r.To < r.From {
					t.Fatalf("%d cut into %d: part %d is %+v, the one before ends at %d", asked, n, i, r, next)
				}
				next = r.To
				least, most = min(least, r.Len()), max(most, r.Len())
			}
			if next != study.First+asked || most-least > 1 {
				t.Errorf("%d cut into %d: ends at %d, lengths from %d to %d", asked, n, next, least, most)
			}
		}
	}
}

// Files are in the order of their replications.
func TestName(t *testing.T) {
	if got := Name(results.Range{From: 375, To: 500}); got != "shard-000375-000499.jsonl" {
		t.Errorf("%s", got)
	}
}

// What a program that died long ago was writing is swept away, what is being
// written is not.
func TestSweep(t *testing.T) {
	dir := t.TempDir()
	old, young := filepath.Join(dir, ".tmp-host-1-x"), filepath.Join(dir, ".tmp-host-2-x")
	for _, path := range []string{old, young} {
		if err := os.WriteFile(path, nil, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	long := time.Now().Add(-25 * time.Hour)
	if err := os.Chtimes(old, long, long); err != nil {
		t.Fatal(err)
	}
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	list, err := filepath.Glob(filepath.Join(dir, ".tmp-*"))
	if err != nil || len(list) != 1 || list[0] != young {
		t.Errorf("left: %v, %v", list, err)
	}
	// Nothing is there until it is closed, nothing is left when it is discarded.
	to, err := f.Create("shard-a.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := to.Write([]byte("x")); err != nil {
		t.Fatal(err)
	}
	if names, err := f.names(); err != nil || len(names) != 0 {
		t.Errorf("%v, %v", names, err)
	}
	to.Discard()
	to, err = f.Create("shard-a.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	if err := to.Close(); err != nil {
		t.Fatal(err)
	}
	if names, err := f.names(); err != nil || len(names) != 1 {
		t.Errorf("%v, %v", names, err)
	}
}
