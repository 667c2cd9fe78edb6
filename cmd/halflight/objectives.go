package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/store"
	"halflight/cmd/halflight/words"
	"halflight/model"
	"halflight/results"
	"halflight/results/judging"
	"halflight/results/page"
	"halflight/scenarios"
	"halflight/scenarios/unit"
	"halflight/sim"
)

// measuresOf is a summary of nothing: the names and units of all measures that a
// world has.
func measuresOf(w *model.World) *results.Summary {
	study := results.Study{Scenario: w.Name, Asked: 1, WarmUp: w.WarmUp, Horizon: w.Horizon}
	return results.Summarise(&results.Set{Study: study, Part: study.Whole(), Header: sim.HeaderOf(w)}, results.Options{})
}

// objectivesOf gives the objectives of a scenario their units, and adds what is
// wrong with them to its problems.
func objectivesOf(s *scenarios.Scenario, w *model.World, problems *scenarios.Problems) []judging.Objective {
	if len(s.Objectives) == 0 {
		return nil
	}
	known := measuresOf(w)
	var list []judging.Objective
	for i, typed := range s.Objectives {
		o, key, fault := judging.Of(typed, known)
		if fault != nil {
			problems.Add(fmt.Sprintf("objectives.%d.%s", i, key), fault.Text, fault.Hint)
			continue
		}
		list = append(list, o)
	}
	return list
}

// judge is what the flags of run and merge say about objectives.
type judge struct {
	undecided       string
	junit, markdown string
	against         string
	tolerance       string
	share           float64
	saved           *judging.Saved
}

func (j *judge) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&j.undecided, "undecided", "", "take undecided objectives as `ANSWER`: pass or fail")
	f.StringVar(&j.junit, "junit", "", "write the verdicts to `FILE` as a JUnit report")
	f.StringVar(&j.markdown, "markdown", "", "write verdicts and headlines to `FILE` as Markdown")
	f.StringVar(&j.against, "against", "", "hold the figures against a `SUMMARY` saved before:\nsummary.json, or the folder it is in")
	f.StringVar(&j.tolerance, "tolerance", "", "how much worse than --against is well: `SHARE`, as 10%")
}

// check holds the flags against one another and reads what is needed later.
func (j *judge) check() error {
	switch judging.Undecideds(j.undecided) {
	case judging.OpenEnds, judging.Pass, judging.Fail:
	default:
		return status.CommandLine("--undecided %s: is neither pass nor fail", clip(j.undecided))
	}
	for _, path := range []string{j.junit, j.markdown} {
		if err := mayWrite(path); err != nil {
			return err
		}
	}
	if a, b := filepath.Clean(j.junit)+"/", filepath.Clean(j.markdown)+"/"; j.junit != "" && j.markdown != "" && (strings.HasPrefix(a, b) || strings.HasPrefix(b, a)) {
		return status.CommandLine("--junit %s, --markdown %s: one takes the place of the other; name two files", clip(j.junit), clip(j.markdown))
	}
	if (j.against == "") != (j.tolerance == "") {
		return status.CommandLine("--against and --tolerance need one another: --against base/summary.json --tolerance 10%%")
	}
	if j.against == "" {
		return nil
	}
	share, fault := unit.ParseShare(j.tolerance)
	if fault != nil {
		return status.CommandLine("--tolerance %s: %w", clip(j.tolerance), fault)
	}
	j.share = share
	return j.read()
}

// read reads the saved summary now, not after hours.
func (j *judge) read() error {
	path := j.against
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		path = filepath.Join(path, store.SummaryName)
	}
	saved, err := judging.ReadSaved(os.DirFS(filepath.Dir(path)), filepath.Base(path))
	var file *fs.PathError
	if errors.As(err, &file) {
		return status.IO("cannot read "+path, err)
	}
	if err != nil {
		return status.Data("--against: %w", err)
	}
	saved.Name = path
	j.saved = saved
	return nil
}

// verdicts judges a whole study.
func (j *judge) verdicts(set *results.Set, s *results.Summary, list []judging.Objective) error {
	s.Verdicts = judging.Judge(set, list)
	if j.saved == nil {
		return nil
	}
	more, err := judging.Against(s, j.saved, judging.Compared(list, s), j.share)
	if err != nil {
		return status.Data("%w", err)
	}
	s.Verdicts = append(s.Verdicts, more...)
	return nil
}

// report writes the files that were asked for.
func (j *judge) report(s *results.Summary) error {
	if j.junit != "" {
		err := put(j.junit, func(to io.Writer) error { return judging.JUnit(to, s, judging.Undecideds(j.undecided)) })
		if err != nil {
			return err
		}
	}
	if j.markdown != "" {
		return put(j.markdown, func(to io.Writer) error { return page.Markdown(to, s) })
	}
	return nil
}

// mayWrite says now, not after hours, that the name of a file is a folder's, or that of a
// folder above it is a file's. Folders that are missing are made when it is written.
// Without a name nothing will be.
func mayWrite(path string) error {
	if path == "" {
		return nil
	}
	if info, err := os.Stat(path); strings.HasSuffix(path, "/") || err == nil && info.IsDir() {
		return status.IO("cannot write "+path, errors.New("it is a folder; name a file in it"))
	}
	folder := filepath.Dir(path)
	info, err := os.Stat(folder)
	for err != nil && folder != filepath.Dir(folder) {
		folder = filepath.Dir(folder)
		info, err = os.Stat(folder)
	}
	if err == nil && !info.IsDir() {
		return status.IO("cannot write "+path, errors.New(folder+" is no folder"))
	}
	return nil
}

// put writes a file whole, or leaves the old one, and makes the folders that it is in.
func put(path string, write func(io.Writer) error) error {
	var text bytes.Buffer
	if err := write(&text); err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return status.IO("cannot write "+path, err)
	}
	return store.Replace(path, text.Bytes())
}

// end is the exit status that the verdicts call for, as an error; nil when all is
// well.
func (j *judge) end(s *results.Summary) error {
	missed, open := judging.Tally(s.Verdicts)
	code := status.Done
	switch {
	case missed > 0 || open > 0 && j.undecided == string(judging.Fail):
		code = status.Missed
	case open > 0 && j.undecided != string(judging.Pass):
		code = status.Undecided
	}
	if code == status.Done {
		return nil
	}
	return &status.Failed{Status: code, Err: fmt.Errorf("of %s %d missed, %d undecided", words.Many(len(s.Verdicts), "objective"), missed, open)}
}
