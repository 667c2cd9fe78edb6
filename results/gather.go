package results

import (
	"cmp"
	"io/fs"
	"slices"

	"halflight/results/lines"
)

// Share does n pieces of work that have nothing to do with one another, maybe
// several at once. The error is that of the first of them, by number, that failed.
type Share func(n int, piece func(i int) error) error

// MergeFiles is Merge of files of records, for more replications than would fit
// whole: what no figure is made of stays in the files, from which Write copies
// the lines as they are. A file is a piece of work. A file that is not whole is a
// *Corrupt. It also returns the scenario of the file whose study asks for most.
func MergeFiles(from fs.FS, names []string, share Share) (*Set, string, error) {
	sets, room := make([]*Set, len(names)), roomFor(from, names)
	err := share(len(names), func(i int) (err error) {
		sets[i], err = read(from, names[i], func(r *reader) (*Set, error) {
			r.lean, r.place = true, room.places[i]
			return r.set()
		})
		return err
	})
	if err != nil {
		return nil, "", err
	}
	scenario, most := "", uint32(0)
	for _, s := range sets {
		if s.Study.Asked > most {
			most, scenario = s.Study.Asked, s.Scenario
		}
	}
	whole, err := headOf(sets)
	if err != nil {
		return nil, "", err
	}
	if whole.Replications = room.joined(sets); whole.Replications == nil {
		if err := whole.fill(sets); err != nil {
			return nil, "", err
		}
	}
	slices.SortStableFunc(sets, func(a, b *Set) int { return cmp.Compare(a.Part.From, b.Part.From) })
	c := &copied{from: from, wanted: whole}
	for _, s := range sets {
		c.names = append(c.names, s.File)
	}
	whole.lean, whole.lines = true, c
	return whole, scenario, nil
}

// copied is the lines of a set in files whose parts begin one after the other.
type copied struct {
	from   fs.FS
	names  []string
	wanted *Set
}

// copy writes the lines of all replications of the set, each once and in order.
// The files are held against their closing lines once more: they may have changed
// since they were read.
func (c *copied) copy(w *Writer) error {
	for _, name := range c.names {
		_, err := read(c.from, name, func(r *reader) (*Set, error) { return nil, c.file(w, r) })
		if err != nil {
			return err
		}
	}
	if w.n != len(c.wanted.Replications) {
		return &Corrupt{c.names[0], "it or another file was changed while it was read; merge again"}
	}
	return w.End()
}

func (c *copied) file(w *Writer, r *reader) error {
	if _, err := r.head(); err != nil {
		return err
	}
	for n := 0; ; n++ {
		line, err := r.next(n)
		if err != nil {
			return err
		}
		if foot, ok := closing(line); ok {
			return r.end(foot, n)
		}
		number, ok := lines.Number(line)
		if !ok {
			return r.corrupt("line %d does not begin with the number of a replication", r.at)
		}
		if w.n < len(c.wanted.Replications) && number == c.wanted.Replications[w.n].Number {
			if err := w.copy(number, line); err != nil {
				return err
			}
		}
	}
}

// copy writes the line of a replication as it is.
func (w *Writer) copy(number uint32, line []byte) error {
	if w.err == nil {
		w.hash.Write(line)
		_, w.err = w.to.Write(line)
		w.next = number + 1
		w.n++
	}
	return w.err
}
