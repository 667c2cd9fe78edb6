package pairs

import "slices"

// Routes measures, for each of many pairs, the time during which some flow was lost entirely although
// there was a path (RFC 6412, section 3.6.5), and tells because of which faults.
type Routes struct {
	// Book is told that a pair was lost to a fault over [since, to).
	Book func(pair int, fault int32, since, to int64)

	since  []int64 // by pair: lost since, -1 when not
	total  []int64
	losers [][]loser // by pair: to whom some flow is lost entirely
}

// loser is a fault that some flow of a pair has been lost to since an instant.
type loser struct {
	fault int32
	since int64
}

// NewRoutes returns the books of so many pairs, none of which is lost.
func NewRoutes(pairs int, book func(pair int, fault int32, since, to int64)) *Routes {
	r := &Routes{Book: book, since: make([]int64, pairs), total: make([]int64, pairs), losers: make([][]loser, pairs)}
	for i := range r.since {
		r.since[i] = -1
	}
	return r
}

// Set says that a pair is lost, or is not, from now on, and to which faults, which may be named twice.
func (r *Routes) Set(i int, lost bool, faults []int32, now int64) {
	if !lost {
		r.close(i, now)
		r.since[i], r.losers[i] = -1, r.losers[i][:0]
		return
	}
	if r.since[i] < 0 {
		r.since[i] = now
	}
	r.losers[i] = slices.DeleteFunc(r.losers[i], func(o loser) bool {
		if slices.Contains(faults, o.fault) {
			return false
		}
		r.Book(i, o.fault, o.since, now)
		return true
	})
	for _, f := range faults {
		if !slices.ContainsFunc(r.losers[i], func(o loser) bool { return o.fault == f }) {
			r.losers[i] = append(r.losers[i], loser{f, now})
		}
	}
}

// close books the times of a pair that end at now.
func (r *Routes) close(i int, now int64) {
	if r.since[i] < 0 {
		return
	}
	r.total[i] += now - r.since[i]
	for _, o := range r.losers[i] {
		r.Book(i, o.fault, o.since, now)
	}
}

// Flush books open times up to now.
func (r *Routes) Flush(now int64) {
	for i := range r.since {
		if r.since[i] < 0 {
			continue
		}
		r.close(i, now)
		r.since[i] = now
		for k := range r.losers[i] {
			r.losers[i][k].since = now
		}
	}
}

// Total returns, as flushed, for how many ns a pair was lost.
func (r *Routes) Total(i int) int64 { return r.total[i] }
