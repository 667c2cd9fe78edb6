package main

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/batch"
	"halflight/cmd/halflight/player"
	"halflight/cmd/halflight/shards"
	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/store"
	"halflight/cmd/halflight/words"
	"halflight/results"
	"halflight/sim"
	"halflight/sim/replication"
)

// checkShard refuses what only a whole study can do.
func (r *running) checkShard(given func(string) bool) error {
	if !given("shard") {
		return nil
	}
	for _, other := range []string{"precision", "time", "json", "replace", "parquet", "worlds", "undecided", "junit", "markdown", "against"} {
		if given(other) {
			return status.CommandLine("--shard and --%s exclude one another: the study is judged and told of by merge", other)
		}
	}
	_, err := cut(r.shard)
	return err
}

// cut reads I/N or auto/N.
func cut(text string) (shards.Cut, error) {
	index, count, ok := strings.Cut(text, "/")
	if !ok {
		return shards.Cut{}, status.CommandLine("--shard %s: write I/N, such as 0/8 for the first of eight, or auto/8", clip(text))
	}
	n, err := shards.ParseN(count)
	if err != nil {
		return shards.Cut{}, status.CommandLine("--shard %s: %w", clip(text), err)
	}
	i := 0
	if index == "auto" {
		i, err = batch.Index(os.LookupEnv)
	} else {
		i, err = strconv.Atoi(index)
	}
	switch {
	case index == "auto" && err != nil:
		return shards.Cut{}, status.CommandLine("--shard %s: %w", clip(text), err)
	case err != nil || i < 0 || i >= n:
		return shards.Cut{}, status.CommandLine("--shard %s: the part is not a whole number from 0 to %d", clip(text), n-1)
	}
	return shards.Cut{I: i, N: n}, nil
}

// playShard plays one part of a study and puts it into the folder of shards. A
// part that is there already is left as it is.
func (d *door) playShard(l *loaded, r *running) error {
	part, err := cut(r.shard)
	if err != nil {
		return err
	}
	made := manifestOf(l)
	if r.out == "" {
		r.out = fmt.Sprintf("%s-%d-shards", l.world.Name, l.world.Seed)
	}
	study := made.study(l, uint32(l.world.Replications))
	study.Quick = r.quick
	set := &results.Set{Study: study, Part: part.Range(study), Header: sim.HeaderOf(l.world), Shards: part.N, Scenario: string(l.Typed())}
	if set.Part.Len() == 0 {
		fmt.Fprintf(d.out, "shard %d/%d of %s holds nothing\n", part.I, part.N, words.Many(l.world.Replications, "replication"))
		return nil
	}
	folder, err := shards.Open(r.out)
	if err != nil {
		return err
	}
	place := filepath.Join(r.out, shards.Name(set.Part))
	what := fmt.Sprintf("shard %d/%d, replications %v, in %s", part.I, part.N, set.Part, place)
	state, err := folder.There(set)
	if err != nil {
		return err
	}
	switch state {
	case shards.Whole:
		fmt.Fprintf(d.out, "%s: whole already\n", what)
		return nil
	case shards.Torn:
		fmt.Fprintf(d.err, "halflight: %s is cut short or altered; it is played again\n", place)
	}
	told := newProgress(d.err, fmt.Sprintf("%s %d/%d", l.world.Name, part.I, part.N))
	stop := listen(func() {
		told.say("halflight: stopping; the replications that are finished are kept for the next attempt")
	})
	defer stop.release()
	p := &player.Play{World: l.world, Study: study, Part: set.Part, Workers: r.workers,
		Path: player.JournalPath(place, made.Digest), Tell: told.done, Note: told.say}
	played, err := d.played(stop, p, l, told)
	if err != nil {
		return err
	}
	if !played.Finished() {
		code, how := stop.status()
		return &status.Failed{Status: code, Err: fmt.Errorf("%s with %d of %s of %s; the same command goes on from there",
			how, len(played.Set.Replications), words.Many(set.Part.Len(), "replication"), what)}
	}
	set.Replications = played.Set.Replications
	if err := set.Write(folder, shards.Name(set.Part)); err != nil {
		return err
	}
	if err := played.Journal.Remove(); err != nil {
		return err
	}
	fmt.Fprintln(d.out, what)
	return nil
}

// missingVerb lists the parts of a study that are still to be played.
func (d *door) missingVerb() *cobra.Command {
	var n int
	c := &cobra.Command{
		Use:   "missing FOLDER",
		Short: "which shards of a study are still to be played",
		Long: `Prints the numbers of the shards of which anything is missing, joined by commas,
as a batch system takes them; exit status 5 with any, 0 without. A shard that is
cut short or altered counts as missing: run plays it again.`,
		Example: `halflight run lull --replications 2 --horizon 2h --shard 0/1 --out parts
halflight missing parts --shards 1`,
		Args: exactly(1, 1, "one folder of shards"),
	}
	c.Flags().IntVar(&n, "shards", 0, "count in this `NUMBER` of shards (that of the files)")
	c.RunE = func(c *cobra.Command, args []string) error {
		if c.Flags().Changed("shards") {
			if _, err := shards.ParseN(fmt.Sprint(n)); err != nil {
				return status.CommandLine("--shards %d: %w", n, err)
			}
		}
		h, err := (&shards.Folder{Path: args[0]}).Missing(n)
		if err != nil {
			return err
		}
		for _, text := range h.Torn {
			fmt.Fprintf(d.err, "halflight: %s\n", text)
		}
		if len(h.Missing) == 0 {
			fmt.Fprintf(d.err, "halflight: nothing is missing of %s\n", words.Many(h.N, "shard"))
			return nil
		}
		var list []string
		for _, i := range h.Missing {
			list = append(list, strconv.Itoa(i))
		}
		fmt.Fprintln(d.out, strings.Join(list, ","))
		return &status.Failed{Status: status.Holes, Err: fmt.Errorf("%d of %s to be played", len(list), words.Many(h.N, "shard"))}
	}
	return c
}

// merging is what the flags of merge say.
type merging struct {
	out                      string
	asJSON, replace, parquet bool
	judge                    judge
}

// mergeVerb makes the result of a study from its shards.
func (d *door) mergeVerb() *cobra.Command {
	var m merging
	c := &cobra.Command{
		Use:   "merge FOLDER",
		Short: "make the result of a study from its shards",
		Long: `Joins the shards of a folder, prints the summary and leaves the same folder, to
the byte, that run would have left on one machine; objectives are judged. Exit
status 5 when replications are missing, 6 when shards do not belong together or
one is cut short or altered. Shards are never changed.`,
		Example: `halflight run lull --replications 3 --horizon 2h --shard 0/2 --out halves
halflight run lull --replications 3 --horizon 2h --shard 1/2 --out halves
halflight merge halves --out joined`,
		Args: exactly(1, 1, "one folder of shards"),
	}
	f := c.Flags()
	f.BoolVar(&m.asJSON, "json", false, "print the summary as JSON, as in summary.json")
	f.StringVar(&m.out, "out", "", "the `FOLDER` for the result (./NAME-SEED)")
	f.BoolVar(&m.replace, "replace", false, "replace the result of another scenario or setting")
	f.BoolVar(&m.parquet, "parquet", false, "write faults and replications as Parquet too")
	m.judge.flags(c)
	c.RunE = func(c *cobra.Command, args []string) error {
		if c.Flags().Changed("out") && m.out == "" {
			return status.CommandLine("--out needs the name of a folder")
		}
		if err := m.judge.check(); err != nil {
			return err
		}
		return d.merge(args[0], &m)
	}
	return c
}

// mergeGrowth is by how many percent memory may grow before what is not needed is
// given back: many replications leave no room for the usual 100.
const mergeGrowth = 20

// sideBySide does what has nothing to do with one another, at once on two processors.
// The error is that of the first.
func sideBySide(pieces ...func() error) error {
	return replication.Share(runtime.GOMAXPROCS(0), len(pieces), func(i int) error { return pieces[i]() })
}

func (d *door) merge(path string, m *merging) error {
	defer debug.SetGCPercent(debug.SetGCPercent(mergeGrowth))
	told := newProgress(d.err, "merge")
	set, text, err := (&shards.Folder{Path: path}).Merge(runtime.GOMAXPROCS(0), told.files)
	told.end()
	if err != nil {
		return err
	}
	l, err := parse(set.Study.Scenario+".yaml", []byte(text), nil) // a scenario without a name has that of its file
	if err != nil {
		return err
	}
	made := manifestOf(l)
	if made.Digest != set.Study.Digest {
		return shards.Conflict("%s: the scenario in the shards is not the one they were simulated with, as version %s reads it (%.12s and %.12s)",
			path, made.Program, made.Digest, set.Study.Digest)
	}
	if made.Program != set.Study.Program {
		return shards.Conflict("%s: simulated by version %q, this is %q; merge with the program that simulated", path, set.Study.Program, made.Program)
	}
	if m.out == "" {
		m.out = fmt.Sprintf("%s-%d", l.world.Name, l.world.Seed)
		if set.Study.Quick {
			m.out += "-quick"
		}
	}
	folder, err := store.Make(m.out, made.Digest, len(set.Replications), m.replace)
	if err != nil {
		return err
	}
	defer folder.Drop()
	made.with(set.Study.Quick, m.parquet)
	var summary *results.Summary
	err = sideBySide(func() error {
		summary = made.summary(l, set, results.Ended{By: results.ByNumber, Text: "the number of replications"})
		return m.judge.verdicts(set, summary, l.objectives)
	}, func() error {
		return made.records(folder, set)
	})
	if err != nil {
		return err
	}
	if err := made.keep(folder, l, summary); err != nil {
		return err
	}
	if err := d.sum(summary, m.asJSON); err != nil {
		return err
	}
	return d.conclude(summary, &m.judge, folder)
}
