package studies

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/store"
	"halflight/results"
	"halflight/results/contrast"
	"halflight/scenarios"
)

// Comparison is what is to be compared.
type Comparison struct {
	Names []string // scenarios, or folders with results
	But   []string // more sides: the first scenario with these settings, "KEY=VALUE; KEY=VALUE"
	Set   []string // settings of all sides that are played
	Level float64
	Turn  int // replications at either end of each input without a source; below 0: as it suits
	// Changes are the flags that were given and change what is played.
	Changes []string
	sides   []*side
	turns   *turnings
}

// side is one side before it is played.
type side struct {
	name   string
	folder *results.Set
	played *Scenario
	from   string // what was loaded, and with what
	set    []string
}

// Open loads all sides. It returns how to name the study, its seed (of the first
// side) and its digest.
func (c *Comparison) Open(h *Host) (name string, seed uint64, digest string, err error) {
	for _, n := range c.Names {
		s, err := c.open(h, n)
		if err != nil {
			return "", 0, "", err
		}
		c.sides = append(c.sides, s)
	}
	for _, but := range c.But {
		if c.sides[0].folder != nil {
			return "", 0, "", status.CommandLine("--but changes a scenario; %s is a folder with a result", c.Names[0])
		}
		set := append([]string(nil), c.Set...)
		for one := range strings.SplitSeq(but, ";") {
			if !strings.Contains(one, "=") {
				return "", 0, "", status.CommandLine("--but %s: is no setting: write KEY=VALUE, several with semicolons between", but)
			}
			set = append(set, strings.TrimSpace(one))
		}
		s, err := h.Load(c.Names[0], set)
		if err != nil {
			return "", 0, "", blame(err, "--but ")
		}
		c.sides = append(c.sides, &side{name: s.Name + ", but " + but, played: s, from: c.Names[0], set: set})
	}
	if err := c.refuse(); err != nil {
		return "", 0, "", err
	}
	if c.turns, err = c.openTurns(h); err != nil {
		return "", 0, "", err
	}
	names := make([]string, len(c.sides))
	for i, s := range c.sides {
		names[i] = s.name
	}
	parts := []any{"compare", c.Level}
	if c.turns != nil {
		parts = append(parts, c.turns.replications)
	}
	for i, n := range distinct(names) {
		s := c.sides[i]
		s.name = n
		if s.folder != nil {
			parts = append(parts, n, s.folder.Study)
		} else {
			parts = append(parts, n, s.played.Digest)
		}
	}
	seed = c.sides[0].seed()
	first, last := filepath.Base(c.Names[0]), filepath.Base(c.Names[len(c.Names)-1])
	if len(c.But) > 0 {
		return fmt.Sprintf("compare-%s-but-%d", stem(first), seed), seed, Digest(parts...), nil
	}
	return fmt.Sprintf("compare-%s-%s-%d", stem(first), stem(last), seed), seed, Digest(parts...), nil
}

// refuse refuses flags that would be without effect: results were played before,
// and nothing in them can be changed.
func (c *Comparison) refuse() error {
	played := slices.ContainsFunc(c.sides, func(s *side) bool { return s.played != nil })
	if !played && len(c.Changes) > 0 {
		return status.CommandLine("%s: all sides are folders with results, which are compared as they are; name a scenario to play one, or leave %s out",
			strings.Join(c.Changes, ", "), them(len(c.Changes)))
	}
	for i, s := range c.sides {
		if s.folder != nil && c.Turn > 0 {
			return status.CommandLine("--turn %d: %s is a folder with a result, of which no input can be changed; name scenarios only, or leave it out", c.Turn, c.Names[i])
		}
	}
	return nil
}

// them is how to speak of so many flags.
func them(n int) string {
	if n == 1 {
		return "it"
	}
	return "them"
}

func (s *side) seed() uint64 {
	if s.folder != nil {
		return s.folder.Study.Seed
	}
	return s.played.World.Seed
}

// stem is the name of a file without what follows its last dot.
func stem(name string) string { return strings.TrimSuffix(name, filepath.Ext(name)) }

// open loads one side: a folder with replications, or a scenario.
func (c *Comparison) open(h *Host, name string) (*side, error) {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		_, err := os.Stat(filepath.Join(name, store.ReplicationsName))
		_, known := scenarios.Source(name)
		switch {
		case err == nil:
			set, err := results.Read(os.DirFS(name), store.ReplicationsName)
			var corrupt *results.Corrupt
			switch {
			case errors.As(err, &corrupt):
				return nil, &status.Failed{Status: status.Conflict, Err: fmt.Errorf("%s: %w", name, err)}
			case err != nil:
				return nil, status.IO(filepath.Join(name, store.ReplicationsName), err)
			case len(set.Replications) == 0:
				return nil, status.Data("%s holds no replication", name)
			}
			return &side{name: filepath.Base(filepath.Clean(name)), folder: set}, nil
		case !known:
			return nil, status.Data("%s is a folder without a result of run or merge: there is no %s in it", name, store.ReplicationsName)
		}
	}
	s, err := h.Load(name, c.Set)
	if err != nil {
		return nil, err
	}
	return &side{name: s.Name, played: s, from: name, set: c.Set}, nil
}

// Flags are those of the command that are not in names and settings; level is that
// of a command that says none.
func (c *Comparison) Flags(level float64) (list []string) {
	if c.Level != level {
		list = append(list, fmt.Sprintf("--level %v", c.Level))
	}
	if c.Turn >= 0 {
		list = append(list, fmt.Sprintf("--turn %d", c.Turn))
	}
	return list
}

// Count is how many replications each side that is played has: as many as the
// most that one of them asks for. all is how many are played in all.
func (c *Comparison) Count() (count, all int) {
	for _, s := range c.sides {
		if s.played != nil {
			count, all = max(count, s.played.World.Replications), all+1
		}
	}
	return count, all*count + c.turns.count()
}

// First is how many replications the first side has, or asks for.
func (c *Comparison) First() int {
	if first := c.sides[0].folder; first != nil {
		return len(first.Replications)
	}
	count, _ := c.Count()
	return count
}

// Run plays what is to be played and compares. partial says that an interrupt left
// replications out; without two sides that hold one in common there is nothing.
func (c *Comparison) Run(ctx context.Context, h *Host) (out *contrast.Contrast, partial bool, err error) {
	var list []*Scenario
	for _, s := range c.sides {
		if s.played != nil {
			list = append(list, s.played)
		}
	}
	count, all := c.Count()
	sets, err := h.between(0, all).Play(ctx, list, count)
	if err != nil {
		return nil, false, err
	}
	sides := make([]contrast.Side, len(c.sides))
	for i, s := range c.sides {
		sides[i] = contrast.Side{Name: s.name, Set: s.folder}
		if s.played != nil {
			sides[i].Set, sets = sets[0], sets[1:]
			partial = partial || len(sides[i].Set.Replications) < count
		}
	}
	out, err = contrast.Of(sides, c.Level)
	if err != nil {
		return nil, partial, status.Data("%w", err)
	}
	if c.turns != nil && !partial {
		if out.Turning, err = c.turns.run(ctx, h.between(count*len(list), all), out); err != nil {
			return nil, partial, err
		}
		partial = out.Turning == nil
	}
	return out, partial, nil
}
