package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/player"
	"halflight/cmd/halflight/quantity"
	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/store"
	"halflight/cmd/halflight/studies"
	"halflight/cmd/halflight/words"
	"halflight/results"
	"halflight/results/judging"
	"halflight/results/page"
	"halflight/scenarios"
	"halflight/scenarios/unit"
	"halflight/scenarios/wording"
	"halflight/sim/replication"
)

// running is what the flags of run say.
type running struct {
	seed         uint64
	replications int
	horizon      quantity.Span
	workers      int
	quick        bool
	precision    []string
	time         quantity.Span
	asJSON       bool
	out          string
	replace      bool
	parquet      bool
	set          []string
	judge        judge
	shard        string
	worlds       int
	name         string // of the scenario, as typed

	wants   []judging.Want // of precision
	counted bool           // --replications was given
}

// replicationsMost and workersMost bound what a slip of the finger can ask for.
const (
	replicationsMost = 1_000_000
	workersMost      = 1024
)

// precisionMost is how many replications a study of stated precision may take
// unless --replications says otherwise: a look of the doubling sequence.
const precisionMost = 1280

// precisionExample is what a message suggests.
const precisionExample = "lost_seconds.avoidable=10%"

// quickSettings are those of a quick look.
var quickSettings = []string{"replications=4", "warm_up=30d", "horizon=30d"}

// runVerb simulates.
func (d *door) runVerb() *cobra.Command {
	var r running
	c := &cobra.Command{
		Use:   "run [SCENARIO]",
		Short: "simulate months of failures, many times over, and sum them up",
		Long: fmt.Sprintf(`Plays the replications of a scenario (%s when none is named), prints the
summary and leaves a folder, ./NAME-SEED unless --out says otherwise, with the
resolved scenario, the summary, the records of every replication, faults and
replications as CSV, and how to make them again. Equal inputs give equal bytes,
whatever the number of workers.

The study ends with its number of replications, or when the measures named by
--precision are known well enough (it is looked at 20, 40, 80 ... replications
only), or when --time is up. The summary says which.

What is finished is kept at once beside the result, and an interrupt leaves a
result that is marked as partial. After an interrupt, or when the program or its
machine has died, the same command goes on where it was.

Objectives of the scenario are judged at the end: exit status 3 when one is
missed, 4 when one is undecided.`, scenarios.Default()),
		Example: `halflight run storm --replications 2 --horizon 2h --set warm_up=1h
halflight run storm --replications 3 --horizon 2h --set warm_up=1h --replace
halflight run lull --precision spf_runs=20% --horizon 1h --out known
halflight run lull --replications 2 --horizon 2h --json --out calm`,
		Args: exactly(0, 1, "one scenario"),
	}
	r.flags(c)
	f := c.Flags()
	f.StringArrayVar(&r.precision, "precision", nil, "go on until half the interval of measure M is within a\nshare of its value: `M=SHARE`; may be repeated")
	f.Var(&r.time, "time", "begin no replication after this `TIME`")
	f.BoolVar(&r.quick, "quick", false, "a first look: 4 replications of 30 d after 30 d")
	f.BoolVar(&r.parquet, "parquet", false, "write faults and replications as Parquet too")
	f.StringVar(&r.shard, "shard", "", "play part `I/N` of the study, I from 0, into the folder\n--out (./NAME-SEED-shards); auto/N has I from the batch\nsystem; missing and merge go on from there")
	f.IntVar(&r.worlds, "worlds", 0, "vary the unsure inputs too, in a `NUMBER` of worlds\n(64 do well)")
	r.judge.flags(c)
	c.RunE = func(c *cobra.Command, args []string) error {
		name := scenarios.Default()
		if len(args) > 0 {
			name = args[0]
		}
		r.name = name
		if c.Flags().Changed("worlds") && (r.worlds < worldsLeast || r.worlds > worldsMost) {
			return status.CommandLine("--worlds %d: is not between %d and %d", r.worlds, worldsLeast, worldsMost)
		}
		if err := r.check(c.Flags().Changed); err != nil {
			return err
		}
		l, err := d.load(name, r.set)
		if err != nil {
			return err
		}
		if err := r.checkPrecision(l); err != nil {
			return err
		}
		if r.shard != "" {
			return d.playShard(l, &r)
		}
		return d.play(l, &r)
	}
	return c
}

// flags adds the flags of what plays and leaves a folder.
func (r *running) flags(c *cobra.Command) {
	f := c.Flags()
	f.Uint64Var(&r.seed, "seed", 0, "the `NUMBER` all chance is drawn from (the scenario's)")
	f.IntVar(&r.replications, "replications", 0, "the `NUMBER` of replications (the scenario's)")
	f.Var(&r.horizon, "horizon", "the `TIME` measured after the warm-up (the scenario's)")
	f.IntVar(&r.workers, "workers", runtime.GOMAXPROCS(0), "the `NUMBER` played at a time (all processors)")
	f.BoolVar(&r.asJSON, "json", false, "print the answer as JSON, as in the folder")
	f.StringVar(&r.out, "out", "", "the `FOLDER` for the result (named after what was asked)")
	f.BoolVar(&r.replace, "replace", false, "replace the result of another scenario or setting")
	setFlag(c, &r.set)
}

// check holds the flags against their ranges and turns those that change the
// scenario into settings.
func (r *running) check(given func(string) bool) error {
	if r.workers < 1 || r.workers > workersMost {
		return status.CommandLine("--workers %d: is not between 1 and %d", r.workers, workersMost)
	}
	if given("out") && r.out == "" {
		return status.CommandLine("--out needs the name of a folder")
	}
	if err := r.checkShard(given); err != nil {
		return err
	}
	if r.quick {
		for _, other := range []string{"replications", "horizon", "precision", "time"} {
			if given(other) {
				return status.CommandLine("--quick and --%s exclude one another", other)
			}
		}
		r.set = append(slices.Clone(r.set), quickSettings...)
	}
	if r.counted = given("replications"); r.counted {
		if r.replications < 1 || r.replications > replicationsMost {
			return status.CommandLine("--replications %d: is not between 1 and %d", r.replications, replicationsMost)
		}
		r.set = append(r.set, fmt.Sprintf("replications=%d", r.replications))
	}
	if given("seed") {
		r.set = append(r.set, fmt.Sprintf("seed=%d", r.seed))
	}
	if r.horizon.Given {
		r.set = append(r.set, "horizon="+r.horizon.String())
	}
	return r.judge.check()
}

// checkPrecision reads what is to be known well.
func (r *running) checkPrecision(l *loaded) error {
	if len(r.precision) == 0 {
		return nil
	}
	known := measuresOf(l.world)
	for _, text := range r.precision {
		name, value, ok := strings.Cut(text, "=")
		share, fault := unit.ParseShare(value)
		switch {
		case !ok:
			return status.CommandLine("--precision %s: write MEASURE=SHARE, such as %s", clip(text), precisionExample)
		case fault != nil:
			return status.CommandLine("--precision %s: %s %w", clip(text), clip(value), fault)
		case share == 0:
			return status.CommandLine("--precision %s: no study is that precise", clip(text))
		}
		if _, ok := known.Find(name); !ok {
			return status.CommandLine("--precision %s: there is no measure %s in this scenario%s", clip(text), clip(name), didYouMean(name, known.Names()))
		}
		if why := judging.Uncertain(name); why != "" {
			return status.CommandLine("--precision %s: %s %s, so no study ends by it; ask for a mean, a share, a count or a quantile, such as %s", clip(text), name, why, precisionExample)
		}
		r.wants = append(r.wants, judging.Want{Measure: name, Share: share})
	}
	return nil
}

// precisely is the flags that end a study of stated precision.
func (r *running) precisely() (text string) {
	for _, p := range r.precision {
		text += " --precision " + quoted(p)
	}
	if r.counted && text != "" {
		text += fmt.Sprintf(" --replications %d", r.replications)
	}
	return text
}

// most is how many replications may be played.
func (r *running) most(l *loaded) int {
	switch {
	case r.counted || r.wants == nil && !r.time.Given:
		return l.world.Replications
	case r.wants != nil:
		return precisionMost
	}
	return replicationsMost
}

// play simulates, writes the folder and prints the summary.
func (d *door) play(l *loaded, r *running) error {
	made := manifestOf(l)
	if r.out == "" {
		r.out = fmt.Sprintf("%s-%d", l.world.Name, l.world.Seed)
		if r.quick {
			r.out += "-quick"
		}
	}
	folder, err := store.Make(r.out, made.Digest, r.most(l), r.replace)
	if err != nil {
		return err
	}
	defer folder.Drop()
	told := newProgress(d.err, l.world.Name)
	stop := listen(func() {
		told.say("halflight: stopping; the replications that are finished are kept, those under way are dropped")
	})
	defer stop.release()
	study := made.study(l, uint32(r.most(l)))
	study.Quick = r.quick
	p := &player.Play{World: l.world, Study: study, Part: study.Whole(), Workers: r.workers, Wants: r.wants, Time: time.Duration(r.time.NS),
		Path: player.JournalPath(folder.Final(), made.Digest), Tell: told.done, Note: told.say}
	played, err := d.played(stop, p, l, told)
	if err != nil {
		return err
	}
	return d.settle(l, r, folder, played, stop)
}

// played plays, and words what went wrong.
func (d *door) played(ctx context.Context, p *player.Play, l *loaded, told *progress) (*player.Played, error) {
	told.done(0, p.Part.Len())
	out, err := p.Run(ctx)
	told.end()
	var ours *replication.Fault
	var failed *status.Failed
	switch {
	case errors.As(err, &ours):
		return nil, &status.Failed{Status: status.Ours, Err: err}
	case errors.As(err, &failed) && out != nil:
		return nil, &status.Failed{Status: failed.Status, Err: fmt.Errorf(
			"%w; what was kept of %s is in %s, and the same command goes on from there", failed, words.Many(len(out.Set.Replications), "replication"), p.Path)}
	case errors.As(err, &failed):
		return nil, failed
	case err != nil:
		return nil, status.Data("%s: %w", l.File, err)
	}
	return out, nil
}

// settle makes the result of what was played, prints and judges it.
func (d *door) settle(l *loaded, r *running, folder *store.Folder, played *player.Played, stop *stopped) error {
	set, code, how := played.Set, 0, ""
	if !played.Finished() {
		code, how = stop.status()
	}
	if len(set.Replications) == 0 {
		return &status.Failed{Status: code, Err: fmt.Errorf("%s before a replication was finished; nothing is kept", how)}
	}
	l, err := l.ended(int(set.Study.Asked))
	if err != nil {
		return err
	}
	made := manifestOf(l)
	made.Partial = how
	made.with(r.quick, r.parquet)
	if played.Ended.By != results.ByTime { // a clock ends no study twice at the same replication
		made.Reproduce += r.precisely()
	}
	worlds := &studies.Host{}
	if r.worlds > 0 && how == "" {
		made.Reproduce += fmt.Sprintf(" --worlds %d", r.worlds)
		if made.varied, worlds, err = d.varied(l, r, folder.Final(), stop); err != nil {
			return err
		}
		if code, how = stop.status(); how != "" {
			made.Partial = how
		}
	}
	summary := made.summary(l, set, played.Ended)
	if how == "" {
		if err := r.judge.verdicts(set, summary, l.objectives); err != nil {
			return err
		}
	}
	if err := made.write(folder, l, set, summary); err != nil {
		return err
	}
	if err := d.sum(summary, r.asJSON); err != nil {
		return err
	}
	if how != "" {
		return &status.Failed{Status: code, Err: fmt.Errorf("%s; PARTIAL result of %d of %d replications in %s; the same command goes on from there",
			how, made.Replications, made.Asked, folder.Path())}
	}
	if err := played.Journal.Remove(); err != nil {
		return err
	}
	if err := worlds.Done(); err != nil {
		return err
	}
	return d.conclude(summary, &r.judge, folder)
}

// conclude writes the reports, says where the result is, and ends as the verdicts
// call for.
func (d *door) conclude(s *results.Summary, j *judge, folder *store.Folder) error {
	if err := j.report(s); err != nil {
		return err
	}
	if err := d.out.Flush(); err != nil {
		return status.IO("standard output", err)
	}
	fmt.Fprintf(d.err, "halflight: result in %s\n", folder.Path())
	return j.end(s)
}

// sum prints a summary.
func (d *door) sum(s *results.Summary, asJSON bool) error {
	var text bytes.Buffer
	var err error
	if asJSON {
		err = s.WriteJSON(&text)
	} else {
		err = page.Text(&text, s)
	}
	if err != nil {
		return err
	}
	words := text.String()
	if !asJSON && d.colour {
		words = page.Coloured(words)
	}
	_, err = d.out.WriteString(words)
	return err
}

// didYouMean is a hint at the nearest name, empty when none is near.
func didYouMean(name string, known []string) string {
	if near := wording.Nearest(name, known); near != "" {
		return "; did you mean " + near + "?"
	}
	return ""
}
