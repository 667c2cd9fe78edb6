package replication

import (
	"errors"
	"fmt"
	"sync/atomic"
	"testing"
)

// Every piece is done once, by however many workers.
func TestShareDoesAll(t *testing.T) {
	for _, n := range []int{0, 1, 2, 100} {
		for _, workers := range []int{0, 1, 2, 7, 200} {
			done := make([]atomic.Int32, n)
			if err := Share(workers, n, func(i int) error { done[i].Add(1); return nil }); err != nil {
				t.Fatal(err)
			}
			for i := range done {
				if k := done[i].Load(); k != 1 {
					t.Errorf("%d workers, %d pieces: piece %d was done %d times", workers, n, i, k)
				}
			}
		}
	}
}

// Of several errors it is always that of the first piece, and no more are begun.
func TestShareFails(t *testing.T) {
	for _, workers := range []int{1, 2, 5} {
		for range 200 {
			var begun atomic.Int32
			err := Share(workers, 1000, func(i int) error {
				begun.Add(1)
				if i%3 == 2 {
					return fmt.Errorf("piece %d", i)
				}
				return nil
			})
			if err == nil || err.Error() != "piece 2" {
				t.Fatalf("%d workers: %v", workers, err)
			}
			if n := begun.Load(); workers == 1 && n != 3 {
				t.Fatalf("%d pieces were begun, want 3", n)
			}
		}
	}
}

// Two workers are at work at the same time: each piece waits for the other.
func TestShareAtOnce(t *testing.T) {
	here := [2]chan bool{make(chan bool, 1), make(chan bool, 1)}
	err := Share(2, 2, func(i int) error {
		here[i] <- true
		if !<-here[1-i] {
			return errors.New("nobody came")
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
