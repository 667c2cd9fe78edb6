package main

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"strings"

	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/studies"
	"halflight/model"
	"halflight/results/judging"
	"halflight/scenarios"
	"halflight/scenarios/wording"
)

// scenarioMost is the size of the largest scenario that is read, in bytes.
const scenarioMost = 16 << 20

// loaded is a scenario that may be run.
type loaded struct {
	*scenarios.Scenario
	world      *model.World
	objectives []judging.Objective
}

// load reads, parses and builds a scenario: a file, the name of a shipped one,
// or - for standard input. All problems come back as one error.
func (d *door) load(name string, set []string) (*loaded, error) {
	for _, s := range set {
		if key, _, ok := strings.Cut(s, "="); !ok || strings.TrimSpace(key) == "" {
			return nil, status.CommandLine("--set %s: is no setting: write KEY=VALUE, such as horizon=30d", clip(s))
		}
	}
	file, text, err := d.source(name)
	if err != nil {
		return nil, err
	}
	return parse(file, text, set)
}

// again is the scenario with further settings.
func (l *loaded) again(set ...string) (*loaded, error) { return parse(l.File, l.Typed(), set) }

// parse turns a text into what may be run.
func parse(file string, text []byte, set []string) (*loaded, error) {
	scenario, problems := scenarios.Parse(file, text, set...)
	if problems.Any() {
		if longer := studies.SpelledOut(file, text, set); longer != nil {
			scenario, problems = scenarios.Parse(file, text, longer...)
		}
	}
	world, more := (*model.World)(nil), []model.Problem(nil)
	if !problems.Any() {
		world, more = model.Build(scenario)
	}
	for _, p := range more {
		problems.Add(p.Path, p.Text, "")
	}
	var asked []judging.Objective
	if !problems.Any() {
		asked = objectivesOf(scenario, world, problems)
	}
	if problems.Any() {
		return nil, &status.Failed{Status: status.Wrong, Err: problems}
	}
	return &loaded{scenario, world, asked}, nil
}

// source returns the text of a scenario and how messages name it.
func (d *door) source(name string) (file string, text []byte, err error) {
	if name == "-" {
		if d.typed == nil { // a study loads its scenario many times
			d.typed, err = readAll("standard input", d.in)
		}
		return "stdin", d.typed, err
	}
	info, err := os.Stat(name)
	shipped, known := scenarios.Source(name)
	switch {
	case err == nil && !info.IsDir():
		text, err = readFile(name)
		return name, text, err
	case known:
		return name, shipped, nil
	case err == nil:
		return "", nil, status.Data("%s is a folder; a scenario is a file", name)
	case errors.Is(err, fs.ErrNotExist):
		return "", nil, noScenario(name)
	}
	return "", nil, status.IO(name, err)
}

// noScenario says what there is instead.
func noScenario(name string) error {
	list := scenarios.Shipped()
	if near := wording.Nearest(name, list); near != "" {
		return status.Data("there is no file %q and no shipped scenario of that name; did you mean %s?", name, near)
	}
	return status.Data("there is no file %q and no shipped scenario of that name; shipped are %s", name, strings.Join(list, ", "))
}

func readFile(name string) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, status.IO(name, err)
	}
	defer f.Close()
	return readAll(name, f)
}

func readAll(name string, r io.Reader) ([]byte, error) {
	text, err := io.ReadAll(io.LimitReader(r, scenarioMost+1))
	if err != nil {
		return nil, status.IO(name, err)
	}
	if len(text) > scenarioMost {
		return nil, status.Data("%s: more than %d MiB are no scenario", name, scenarioMost>>20)
	}
	return text, nil
}
