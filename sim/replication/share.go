package replication

import (
	"sync"
	"sync/atomic"
)

// Share has so many workers do n pieces of work that have nothing to do with one
// another, begun in their order. After an error no more are begun. The error is that
// of the first piece, in their order, that failed.
func Share(workers, n int, piece func(i int) error) error {
	var next atomic.Int64
	var failed atomic.Bool
	errs := make([]error, n)
	work := func() {
		for !failed.Load() {
			i := int(next.Add(1)) - 1
			if i >= n {
				return
			}
			if errs[i] = piece(i); errs[i] != nil {
				failed.Store(true)
			}
		}
	}
	var all sync.WaitGroup
	for range min(workers, n) - 1 {
		all.Go(work)
	}
	work()
	all.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
