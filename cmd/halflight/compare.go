package main

import (
	"bytes"
	"fmt"
	"runtime"
	"strings"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/player"
	"halflight/cmd/halflight/quantity"
	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/store"
	"halflight/cmd/halflight/studies"
	"halflight/model"
	"halflight/results/page"
)

// turnMost bounds a slip of the finger.
const turnMost = 1000

// compareVerb compares scenarios or results.
func (d *door) compareVerb() *cobra.Command {
	var r running
	var all bool
	level := usualLevel
	var turn int
	var but []string
	c := &cobra.Command{
		Use:   "compare FIRST OTHER...",
		Short: "in what scenarios or results differ beyond doubt",
		Long: `Compares every other side with the first. A side is a scenario, which is
played, or the folder of a result. Sides with one seed share their draws, so
that the same faults strike both, and are compared replication by replication;
where that does not help they are compared as unrelated. Leaves a folder with
compare.json, ./compare-FIRST-OTHER-SEED unless --out says otherwise.`,
		Example: `halflight compare lull storm --replications 3 --horizon 1h --set warm_up=10min
halflight compare storm --but timers.spf.rfc8405.long_delay=2s --replications 3 --horizon 1h --set warm_up=10min`,
		Args: exactly(1, 8, "a first side and at least one other"),
	}
	r.flags(c)
	c.Flags().StringArrayVar(&but, "but", nil, "one more side: the first scenario with `KEY=VALUE`;\nseveral settings of one side with semicolons between")
	c.Flags().Var(&level, "level", "a `SHARE`, for each interval and all wide ones\ntogether (95%)")
	c.Flags().BoolVar(&all, "all", false, "print all measures")
	c.Flags().IntVar(&turn, "turn", -1, "a `NUMBER` of replications at either end of every input\nwithout a source, to see which would turn the answer\n(2 up to 64 leaves and from 5 replications on, else 0)")
	c.RunE = func(c *cobra.Command, args []string) error {
		if err := r.check(c.Flags().Changed); err != nil {
			return err
		}
		if len(args)+len(but) < 2 {
			return status.CommandLine("compare needs a second side: another scenario or result, or --but KEY=VALUE")
		}
		if err := checkLevel(level); err != nil {
			return err
		}
		if c.Flags().Changed("turn") && (turn < 0 || turn > turnMost) {
			return status.CommandLine("--turn %d: is not between 0 and %d", turn, turnMost)
		}
		asked := &studies.Comparison{Names: args, But: but, Set: r.set, Level: float64(level), Turn: turn}
		for _, flag := range []string{"set", "seed", "replications", "horizon"} {
			if c.Flags().Changed(flag) {
				asked.Changes = append(asked.Changes, "--"+flag)
			}
		}
		return d.compare(asked, &r, all)
	}
	return c
}

// host is what studies need of this program.
func (d *door) host(workers int, told func(done, total int)) *studies.Host {
	return &studies.Host{Program: version(), Workers: workers, Told: told,
		Load: func(name string, set []string) (*studies.Scenario, error) {
			l, err := d.load(name, set)
			if err != nil {
				return nil, err
			}
			return &studies.Scenario{Scenario: l.Scenario, World: l.world, Digest: digestOf(model.Resolve(l.Scenario))}, nil
		}}
}

func (d *door) compare(asked *studies.Comparison, r *running, all bool) error {
	told := newProgress(d.err, "compare")
	h := d.host(r.workers, told.done)
	name, seed, digest, err := asked.Open(h)
	if err != nil {
		return err
	}
	_, jobs := asked.Count()
	s, err := d.begin(r, name, told, store.Manifest{Scenario: "compare", Seed: seed, Digest: digest, Asked: asked.First(), Replications: asked.First(),
		Reproduce: again("compare", asked.Names, asked.But, r.set, asked.Flags(float64(usualLevel))...)})
	if err != nil {
		return err
	}
	defer s.end()
	if jobs > 0 {
		told.done(0, jobs)
	}
	s.keeps(h)
	out, partial, err := asked.Run(s.stop, h)
	told.end()
	if code, how := s.stop.status(); partial && err != nil {
		return &status.Failed{Status: code, Err: fmt.Errorf("%s before every side had a replication%s", how, s.onward)}
	}
	if err != nil {
		return err
	}
	if partial {
		_, out.Partial = s.stop.status()
	}
	s.manifest.Replications = len(out.Sides[0].Set.Replications)
	var text bytes.Buffer
	if err := out.WriteJSON(&text); err != nil {
		return err
	}
	if err := s.finish(partial, r.asJSON, store.CompareName, text.Bytes(), func(b *bytes.Buffer) error { return page.Contrast(b, out, all) }); err != nil {
		return err
	}
	return h.Done()
}

// usualLevel is that of intervals unless --level says otherwise.
const usualLevel quantity.Share = 0.95

// checkLevel refuses levels at which there is no interval.
func checkLevel(level quantity.Share) error {
	if level > 0 && level < 1 {
		return nil
	}
	return status.CommandLine("--level %v: is not between 0 and 1; such as 95%%", float64(level))
}

// again is a command that makes a study again.
func again(verb string, args, but, set []string, more ...string) string {
	text := "halflight " + verb
	for _, a := range args {
		text += " " + quoted(a)
	}
	for _, b := range but {
		text += " --but " + quoted(b)
	}
	for _, s := range set {
		text += " --set " + quoted(s)
	}
	for _, m := range more {
		text += " " + m
	}
	return text + " --out again"
}

// quoted is a word as a shell takes it.
func quoted(s string) string {
	if strings.Trim(s, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._-=/:~+%") == "" && s != "" {
		return s
	}
	return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
}

// study is one under way that leaves a folder of its own kind.
type study struct {
	d        *door
	folder   *store.Folder
	stop     *stopped
	manifest store.Manifest
	onward   string // how a study that was stopped goes on
}

// begin makes sure of the folder before hours are spent, and listens for
// interrupts.
func (d *door) begin(r *running, name string, told *progress, m store.Manifest) (*study, error) {
	if r.out == "" {
		r.out = name
	}
	folder, err := store.Make(r.out, m.Digest, m.Asked, r.replace)
	if err != nil {
		return nil, err
	}
	m.Program, m.Go, m.Platform = version(), runtime.Version(), platform()
	return &study{d: d, folder: folder, manifest: m, stop: listen(func() {
		told.say("halflight: stopping; what is finished is kept")
	})}, nil
}

// keeps has what is finished kept beside the result.
func (s *study) keeps(h *studies.Host) {
	h.KeepAt(player.JournalPath(s.folder.Final(), s.manifest.Digest))
	s.onward = "; the same command goes on from there"
}

func (s *study) end() {
	s.stop.release()
	s.folder.Drop()
}

// finish writes the folder and prints the answer.
func (s *study) finish(partial, asJSON bool, name string, answer []byte, text func(*bytes.Buffer) error) error {
	code, how := s.stop.status()
	if partial {
		s.manifest.Partial = how
	}
	if err := s.folder.Put(name, answer); err != nil {
		return err
	}
	var manifest bytes.Buffer
	if err := writeJSON(&manifest, s.manifest); err != nil {
		return err
	}
	if err := s.folder.Put(store.ManifestName, manifest.Bytes()); err != nil {
		return err
	}
	if err := s.folder.Keep(); err != nil {
		return err
	}
	shown := bytes.NewBuffer(answer)
	if !asJSON {
		shown = &bytes.Buffer{}
		if err := text(shown); err != nil {
			return err
		}
	}
	if _, err := s.d.out.Write(shown.Bytes()); err != nil {
		return err
	}
	if partial {
		return &status.Failed{Status: code, Err: fmt.Errorf("%s; PARTIAL result in %s%s", how, s.folder.Path(), s.onward)}
	}
	if err := s.d.out.Flush(); err != nil {
		return status.IO("standard output", err)
	}
	fmt.Fprintf(s.d.err, "halflight: result in %s\n", s.folder.Path())
	return nil
}
