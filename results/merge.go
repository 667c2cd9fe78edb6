package results

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"

	"halflight/sim/record"
)

// Conflict is the error of sets that cannot belong together.
type Conflict struct{ Text string }

func (c *Conflict) Error() string { return c.Text }

// Incomplete is the error of a set that lacks replications.
type Incomplete struct{ Missing []Range }

func (e *Incomplete) Error() string {
	n := 0
	text := ""
	for i, r := range e.Missing {
		n += r.Len()
		if i > 0 {
			text += ", "
		}
		text += r.String()
	}
	if n == 1 {
		return fmt.Sprintf("1 replication is missing: %s; run it and merge again", text)
	}
	return fmt.Sprintf("%d replications are missing: %s; run them and merge again", n, text)
}

// Complete returns an *Incomplete when the set lacks replications of its part.
func (s *Set) Complete() error {
	if holes := s.Missing(); len(holes) > 0 {
		return &Incomplete{holes}
	}
	return nil
}

// Merge joins at least one set of one study, in any order, into one whose part
// is the whole study. A replication held twice must be the same in both, and is
// kept once. Sets may ask for different numbers of replications of the same study
// (one that was extended): the largest counts. Holes are no error here; see
// Complete. The error is a *Conflict that names the sets by their files, or by their
// place. The sets are not changed, and share their replications with the result.
func Merge(sets ...*Set) (*Set, error) {
	if len(sets) == 0 {
		return nil, &Conflict{"there is nothing to merge"}
	}
	for i, s := range sets {
		if err := s.Check(); err != nil {
			return nil, &Conflict{fmt.Sprintf("%s: %v", label(sets, i), err)}
		}
	}
	all, err := headOf(sets)
	if err != nil {
		return nil, err
	}
	if err := all.fill(sets); err != nil {
		return nil, err
	}
	return all, nil
}

// headOf is the study of sets that passed Check, without replications.
func headOf(sets []*Set) (*Set, error) {
	all := &Set{Study: sets[0].Study, Header: sets[0].Header}
	for i, s := range sets {
		if text := Differs(sets[0], s); text != "" {
			return nil, &Conflict{fmt.Sprintf("%s and %s do not belong together: %s", label(sets, 0), label(sets, i), text)}
		}
		all.Study.Asked = max(all.Study.Asked, s.Study.Asked)
	}
	all.Part = all.Study.Whole()
	return all, nil
}

// fill copies the replications of all sets into this one.
func (all *Set) fill(sets []*Set) error {
	owned, err := gather(sets)
	if err != nil {
		return err
	}
	all.Replications = make([]record.Replication, 0, len(owned))
	for _, o := range owned {
		all.Replications = append(all.Replications, *o.replication)
	}
	return nil
}

// Differs says in what two sets differ that sets of one study may not; empty when
// they belong together.
func Differs(a, b *Set) string {
	x, y := a.Study, b.Study
	switch {
	case x.Scenario != y.Scenario:
		return fmt.Sprintf("scenario %q and %q", x.Scenario, y.Scenario)
	case x.Seed != y.Seed:
		return fmt.Sprintf("seed %d and %d", x.Seed, y.Seed)
	case x.Digest != y.Digest:
		return fmt.Sprintf("digest of the scenario %.12s and %.12s; it was changed between the runs", x.Digest, y.Digest)
	case x.Quick != y.Quick:
		return "one is a quick look"
	case x.Program != y.Program:
		return fmt.Sprintf("simulated by version %q and by %q; run all with one", x.Program, y.Program)
	case x.First != y.First:
		return fmt.Sprintf("studies that begin with replication %d and %d", x.First, y.First)
	case x.WarmUp != y.WarmUp || x.Horizon != y.Horizon:
		return fmt.Sprintf("warm-up and horizon %d and %d ns, %d and %d ns", x.WarmUp, x.Horizon, y.WarmUp, y.Horizon)
	case !sameHeader(&a.Header, &b.Header):
		return "their headers (modes, phases, states, classes or size of the fabric) are not the same"
	}
	return ""
}

// label names a set in messages: by its file, or by its place, counted from 1.
func label(sets []*Set, i int) string {
	if sets[i].File != "" {
		return sets[i].File
	}
	return fmt.Sprintf("set %d", i+1)
}

type owned struct {
	replication *record.Replication
	set         int
}

// gather sorts the replications of all sets by number and drops copies.
func gather(sets []*Set) ([]owned, error) {
	total := 0
	for _, s := range sets {
		total += len(s.Replications)
	}
	list := make([]owned, 0, total)
	for i, s := range sets {
		for k := range s.Replications {
			list = append(list, owned{&s.Replications[k], i})
		}
	}
	slices.SortStableFunc(list, func(a, b owned) int { return int(int64(a.replication.Number) - int64(b.replication.Number)) })
	kept := list[:0]
	for _, o := range list {
		if n := len(kept); n > 0 && kept[n-1].replication.Number == o.replication.Number {
			if !sameReplication(kept[n-1].replication, o.replication) {
				return nil, &Conflict{fmt.Sprintf("replication %d of %s differs from that of %s; one of them is corrupt, or was simulated by another program or processor",
					o.replication.Number, label(sets, kept[n-1].set), label(sets, o.set))}
			}
			continue
		}
		kept = append(kept, o)
	}
	return kept, nil
}

// sameReplication compares by the bytes that a file would hold.
func sameReplication(a, b *record.Replication) bool {
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	return errX == nil && errY == nil && bytes.Equal(x, y)
}
