package drawing

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/store"
	"halflight/cmd/halflight/words"
	"halflight/model"
	"halflight/model/setting"
	"halflight/model/timer"
	"halflight/results"
	"halflight/results/answers"
	"halflight/results/credibility"
	"halflight/results/picture"
	"halflight/scenarios"
)

// Load reads a scenario and builds its world.
type Load func(file string) (*scenarios.Scenario, *model.World, error)

// Read reads a folder that run left behind, and what its scenario says, and the
// answers of other verbs in it and in folders beside it.
func Read(folder string, load Load, with ...string) (*picture.Result, error) {
	if err := isFolder(folder); err != nil {
		return nil, err
	}
	files := os.DirFS(folder)
	made, err := manifestIn(files, folder)
	if err != nil {
		return nil, err
	}
	set, err := results.Read(files, store.ReplicationsName)
	var corrupt *results.Corrupt
	switch {
	case errors.As(err, &corrupt):
		return nil, status.Data("%s: %w", folder, err)
	case errors.Is(err, fs.ErrNotExist):
		return nil, status.Data("%s holds no %s, so it is no result of a run; what other verbs left goes beside one: halflight report RESULT --with %[1]s", folder, store.ReplicationsName)
	case err != nil:
		return nil, status.IO(folder, err)
	}
	scenario, world, err := load(filepath.Join(folder, store.TypedName))
	if err != nil {
		return nil, err
	}
	abs, err := filepath.Abs(folder)
	if err != nil {
		return nil, status.IO(folder, err)
	}
	out := &picture.Result{
		Name: filepath.Base(abs), Setting: timersOf(&world.Timers.SPF), Set: set, Assumptions: assumptionsOf(scenario), Groups: groupsOf(world),
		Summary: results.Summarise(set, results.Options{Crew: world.Operation.Crew, CrewMean: world.Operation.Offered(), Unsure: Unsure(scenario)}),
		Made: picture.Made{Program: made.Program, Go: made.Go, Platform: made.Platform, Digest: made.Digest, Reproduce: made.Reproduce,
			Partial: made.Partial, Scenario: filepath.Join(folder, store.TypedName)},
	}
	if out.Summary.Varied, err = bar(files); err != nil {
		return nil, status.Data("%s: %w", folder, err)
	}
	for i, from := range append([]string{folder}, with...) {
		found, err := answersIn(&out.Answers, from, set.Study.Scenario)
		if err != nil {
			return nil, err
		}
		if i > 0 && !found {
			return nil, status.Data("--with %s: holds no answer of compare, sweep, tune or weigh", from)
		}
	}
	return out, nil
}

// bar reads the inputs bar of a summary, nil for none: it cannot be made again from
// the records.
func bar(files fs.FS) (*results.Varied, error) {
	text, err := fs.ReadFile(files, store.SummaryName)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	var summary struct {
		Inputs struct {
			Bar *results.Varied `json:"bar"`
		} `json:"inputs"`
	}
	if err == nil {
		err = json.Unmarshal(text, &summary)
	}
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", store.SummaryName, err)
	}
	return summary.Inputs.Bar, nil
}

// answersIn reads what other verbs left in a folder, and whether they left anything.
// What is about other scenarios only is refused: beside this result its figures would
// be taken for those of this one.
func answersIn(to *answers.All, folder, scenario string) (found bool, err error) {
	if err := isFolder(folder); err != nil {
		return false, err
	}
	for _, name := range []string{store.CompareName, store.SweepName, store.TuneName, store.WeighName} {
		text, err := os.ReadFile(filepath.Join(folder, name))
		switch {
		case errors.Is(err, fs.ErrNotExist):
			continue
		case err != nil:
			return false, status.IO(folder, err)
		}
		added, err := to.Add(text)
		if err != nil {
			return false, status.Data("%s: %s %w", folder, name, err)
		}
		if about := answers.Scenarios(text); len(about) > 0 && !slices.Contains(about, scenario) {
			return false, status.Data("%s: %s is about %s, the result is of %s; leave it out, or make one for %[4]s", folder, name, strings.Join(about, " and "), scenario)
		}
		found = found || added
	}
	return found, nil
}

// manifestIn reads the manifest of a folder.
func manifestIn(files fs.FS, folder string) (*store.Manifest, error) {
	text, err := fs.ReadFile(files, store.ManifestName)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, status.Data("%s holds no %s, so it is no result; halflight run makes one, and says where", folder, store.ManifestName)
	case err != nil:
		return nil, status.IO(folder, err)
	}
	var made store.Manifest
	if err := json.Unmarshal(text, &made); err != nil || made.Digest == "" {
		return nil, status.Data("%s: %s is damaged; run it again", folder, store.ManifestName)
	}
	return &made, nil
}

// isFolder reports whether a path is a folder, with an error that says what to
// do where it is not.
func isFolder(path string) error {
	info, err := os.Stat(path)
	switch {
	case os.IsNotExist(err):
		return status.Data("there is no folder %q; halflight run makes one, and says where", path)
	case err != nil:
		return status.IO(path, err)
	case !info.IsDir():
		return status.Data("%s is a file; a result is the folder that halflight run leaves behind", path)
	}
	return nil
}

// Unsure are the inputs that rest on nothing but an assumption.
func Unsure(s *scenarios.Scenario) []results.Input {
	var list []results.Input
	for _, s := range setting.Unsourced(model.Resolve(s)) {
		list = append(list, results.Input{Path: s.Key, Value: s.Value, Range: s.Range, Grade: s.Grade})
	}
	return list
}

// assumptionsOf lists all settings in force, unsourced ones first.
func assumptionsOf(s *scenarios.Scenario) (out []credibility.Assumption) {
	list := model.Resolve(s)
	first := map[string]bool{}
	for _, s := range setting.Unsourced(list) {
		first[s.Path] = true
		out = append(out, credibility.Assumption{Key: s.Key, Value: s.Value, Given: s.Given, Grade: s.Grade, Source: s.Source, Range: s.Range, Unsourced: true})
	}
	for _, s := range list {
		if !first[s.Path] && !setting.Remark(s.Key) {
			out = append(out, credibility.Assumption{Key: s.Key, Value: s.Value, Given: s.Given, Grade: s.Grade, Source: s.Source, Range: s.Range})
		}
	}
	return out
}

// groupsOf names the members of every group: routers, and links.
func groupsOf(w *model.World) map[string][]string {
	out := map[string][]string{}
	for i := range w.Groups {
		g := &w.Groups[i]
		var parts []string
		for _, x := range g.Routers {
			parts = append(parts, w.Fabric.Routers[x].Name)
		}
		for _, k := range g.Links {
			parts = append(parts, w.Fabric.Links[k].Name)
		}
		for _, k := range g.Directions {
			parts = append(parts, w.Fabric.Links[k>>1].Name)
		}
		out[g.Name] = parts
	}
	return out
}

// timersOf says how the SPF back-off is set, in a few words.
func timersOf(s *timer.SPF) string {
	delays := func(list ...int64) string {
		var out []string
		for _, ns := range list {
			out = append(out, words.Span(ns))
		}
		return strings.Join(out, ", ")
	}
	switch s.Family {
	case timer.RFC8405:
		return "RFC 8405: " + delays(s.Initial, s.Short, s.Long)
	case timer.TwoStep:
		return fmt.Sprintf("two steps: %s, after %d runs %s", words.Span(s.Rapid), s.RapidRuns, words.Span(s.Slow))
	}
	return s.Family.String() + ": " + delays(s.First, s.Incremental, s.Maximum)
}
