package results

import (
	"cmp"
	"io/fs"
	"slices"

	"halflight/sim/record"
)

// room is one block for the replications of several files, a place for each in the
// order in which their parts begin. Where every file fills its place, and numbers
// rise from one to the next, the block is the whole, and nothing is copied.
type room struct {
	order  []int // of files, by the begin of their parts
	block  []record.Replication
	places [][]record.Replication // by file: empty, with the capacity of its place
}

// lineLeast is less than the line of any replication has bytes.
const lineLeast = 500

// roomFor makes room for what files say that they hold. One that cannot be read, or
// is too short for what it says, gets less.
func roomFor(from fs.FS, names []string) *room {
	parts, sizes, total := make([]Range, len(names)), make([]int, len(names)), 0
	r := &room{places: make([][]record.Replication, len(names))}
	for i, name := range names {
		r.order = append(r.order, i)
		info, err := fs.Stat(from, name)
		if err != nil {
			continue // whoever reads it will say
		}
		if head, err := ReadHead(from, name); err == nil {
			parts[i], sizes[i] = head.Part, min(head.Part.Len(), int(info.Size()/lineLeast))
		}
		total += sizes[i]
	}
	slices.SortStableFunc(r.order, func(a, b int) int { return cmp.Compare(parts[a].From, parts[b].From) })
	r.block = make([]record.Replication, total)
	at := 0
	for _, i := range r.order {
		r.places[i] = r.block[at : at : at+sizes[i]]
		at += sizes[i]
	}
	return r
}

// joined is the block, if the sets, one a file, fill it; else nil.
func (r *room) joined(sets []*Set) []record.Replication {
	at := 0
	for _, i := range r.order {
		list := sets[i].Replications
		switch {
		case len(list) == 0 && cap(r.places[i]) == 0:
			continue
		case len(list) != cap(r.places[i]) || &list[0] != &r.block[at]:
			return nil
		case at > 0 && r.block[at-1].Number >= list[0].Number:
			return nil
		}
		at += len(list)
	}
	return r.block
}
