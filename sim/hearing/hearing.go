// Package hearing remembers when routers heard of faults.
package hearing

import "math"

// Book is when each router had its first IGP event since its last run because
// of a fault, for the faults that were heard of last. It is for the record: no
// router acts on it.
type Book struct {
	slot  []int32 // by fault: place in lists plus one, 0 for none
	lists []list
}

type list struct {
	fault int32
	used  int64
	at    []int64 // by router; LongAgo for those that have not heard of it
}

// LongAgo is before any event.
const LongAgo = math.MinInt64 / 4

// manyFaults is how many faults are followed at a time.
const manyFaults = 64

// Note notes an event at x because of a fault, of which a run that began at
// ranFrom, the last there was, could not know.
func (h *Book) Note(fault, x int32, now, ranFrom int64, routers int) {
	if at := h.Of(fault, now, routers); at != nil && (at[x] < ranFrom || at[x] == LongAgo) {
		at[x] = now
	}
}

// Of returns the list of a fault that is heard of now, by router; nil for none.
func (h *Book) Of(fault int32, now int64, routers int) []int64 {
	if fault < 0 {
		return nil
	}
	for int(fault) >= len(h.slot) {
		h.slot = append(h.slot, 0)
	}
	i := h.slot[fault]
	if i == 0 {
		i = h.begin(fault, routers)
	}
	l := &h.lists[i-1]
	l.used = now
	return l.at
}

// begin takes a fault in, in place of the one that was heard of longest ago.
func (h *Book) begin(fault int32, routers int) int32 {
	i := len(h.lists)
	if i < manyFaults {
		h.lists = append(h.lists, list{at: make([]int64, routers)})
	} else {
		i = 0
		for k := range h.lists {
			if h.lists[k].used < h.lists[i].used {
				i = k
			}
		}
		h.slot[h.lists[i].fault] = 0
	}
	l := &h.lists[i]
	l.fault = fault
	for x := range l.at {
		l.at[x] = LongAgo
	}
	h.slot[fault] = int32(i + 1)
	return int32(i + 1)
}

// Heard is a fault and when each router had its first event since its last run because of it, LongAgo
// for those that had none.
type Heard struct {
	Fault int32
	At    []int64
}

// Since appends the faults that were heard of at some instant or later.
func (h *Book) Since(list []Heard, since int64) []Heard {
	for i := range h.lists {
		if l := &h.lists[i]; l.used >= since {
			list = append(list, Heard{l.fault, l.at})
		}
	}
	return list
}

// Forget has a router have heard of nothing, as what it knew is lost.
func (h *Book) Forget(x int32) {
	for i := range h.lists {
		h.lists[i].at[x] = LongAgo
	}
}

// At returns when a router had its first event since its last run because of a fault, or
// that of before if there is none since; LongAgo if it never had one that is remembered.
func (h *Book) At(fault, x int32) int64 {
	if fault < 0 || int(fault) >= len(h.slot) || h.slot[fault] == 0 {
		return LongAgo
	}
	return h.lists[h.slot[fault]-1].at[x]
}
