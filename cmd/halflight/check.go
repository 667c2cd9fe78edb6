package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/words"
	"halflight/model"
	"halflight/model/setting"
	"halflight/scenarios"
	"halflight/scenarios/wording"
)

// checkVerb says what is wrong with a scenario, or what it amounts to.
func (d *door) checkVerb() *cobra.Command {
	var asJSON, asFile bool
	var set []string
	c := &cobra.Command{
		Use:   "check SCENARIO",
		Short: "every problem of a scenario, or all settings and their sources",
		Long: `Prints every problem with its line and column and exits with status 1. Without
a problem prints every setting in force: first the defaults that rest on nothing
but an assumption, those with the widest range before the others, then all other
defaults with grade and source, then what the scenario says itself.`,
		Example: `halflight check orchard
halflight check orchard --set timers.spf.rfc8405.long_delay=2s --json
halflight check orchard --resolved`,
		Args: exactly(1, 1, "one scenario"),
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print problems or settings as JSON")
	c.Flags().BoolVar(&asFile, "resolved", false, "print a scenario with every setting written out")
	setFlag(c, &set)
	c.RunE = func(_ *cobra.Command, args []string) error {
		if asJSON && asFile {
			return status.CommandLine("--json and --resolved exclude one another")
		}
		l, err := d.load(args[0], set)
		var problems *scenarios.Problems
		switch {
		case errors.As(err, &problems) && asJSON:
			if err := d.printJSON(problemsJSON(problems)); err != nil {
				return err
			}
			return &status.Failed{Status: status.Wrong, Err: errSaid}
		case err != nil:
			return err
		case asFile:
			_, err := d.out.Write(setting.YAML(model.Resolve(l.Scenario)))
			return err
		}
		a := settingsOf(l)
		return d.print(asJSON, a, a.text)
	}
	return c
}

// errSaid is the error of what was said already.
var errSaid = errors.New("")

type problemsAnswer struct {
	Problems []problemJSON `json:"problems"`
	More     int           `json:"more"` // found and not listed
}

type problemJSON struct {
	Path   string `json:"path"`
	Text   string `json:"text"`
	Hint   string `json:"hint,omitempty"`
	Line   int    `json:"line"` // from 1; 0 when not in the file
	Column int    `json:"column"`
	Set    string `json:"set,omitempty"`
}

func problemsJSON(p *scenarios.Problems) *problemsAnswer {
	a := &problemsAnswer{Problems: []problemJSON{}, More: p.More}
	for _, q := range p.List {
		a.Problems = append(a.Problems, problemJSON{q.Path, q.Text, q.Hint, q.Line, q.Column, q.Set})
	}
	return a
}

// settingsAnswer is a scenario in full.
type settingsAnswer struct {
	Name     string        `json:"name"`
	Routers  int           `json:"routers"`
	Links    int           `json:"links"`
	Modes    int           `json:"modes"`
	Scripted int           `json:"scripted"`
	Problems []problemJSON `json:"problems"` // empty
	Unsure   []string      `json:"unsourced"`
	Settings []settingJSON `json:"settings"`
}

type settingJSON struct {
	Key    string `json:"key"`
	Value  string `json:"value"`
	Given  bool   `json:"given"`
	Grade  string `json:"grade,omitempty"`
	Source string `json:"source,omitempty"`
	Range  string `json:"range,omitempty"`
}

func settingsOf(l *loaded) *settingsAnswer {
	list := model.Resolve(l.Scenario)
	a := &settingsAnswer{Name: l.world.Name, Routers: len(l.world.Fabric.Routers), Links: len(l.world.Fabric.Links),
		Modes: len(l.world.Modes), Scripted: len(l.world.Script), Problems: []problemJSON{}, Unsure: []string{}}
	for _, s := range setting.Unsourced(list) {
		a.Unsure = append(a.Unsure, s.Key)
	}
	for _, s := range list {
		a.Settings = append(a.Settings, settingJSON{s.Key, s.Value, s.Given, s.Grade, s.Source, s.Range})
	}
	return a
}

func (a *settingsAnswer) text(b *strings.Builder) {
	fmt.Fprintf(b, "%s: no problem. %s, %s, %s, %s\n", a.Name, words.Many(a.Routers, "router"), words.Many(a.Links, "link"),
		words.Many(a.Modes, "mode")+" of failure", words.Many(a.Scripted, "scripted fault"))
	unsure := map[string]bool{}
	for _, key := range a.Unsure {
		unsure[key] = true
	}
	byKey := map[string]*settingJSON{}
	var defaults, given []*settingJSON
	for i := range a.Settings {
		s := &a.Settings[i]
		byKey[s.Key] = s
		switch {
		case unsure[s.Key] || setting.Remark(s.Key):
		case s.Given:
			given = append(given, s)
		default:
			defaults = append(defaults, s)
		}
	}
	var first []*settingJSON
	for _, key := range a.Unsure {
		first = append(first, byKey[key])
	}
	sources := &sources{number: map[string]int{}}
	sources.section(b, "Assumptions, widest range first", first)
	sources.section(b, "Other defaults", defaults)
	sources.section(b, "As the scenario says", given)
	sources.text(b)
}

// sources numbers the sources of defaults in the order of their appearance.
type sources struct {
	number map[string]int
	list   []string
}

func (s *sources) section(b *strings.Builder, title string, list []*settingJSON) {
	if len(list) == 0 {
		return
	}
	fmt.Fprintf(b, "\n%s\n", title)
	var rows [][]string
	for _, e := range list {
		source := ""
		if e.Source != "" {
			if s.number[e.Source] == 0 {
				s.list = append(s.list, e.Source)
				s.number[e.Source] = len(s.list)
			}
			source = fmt.Sprint(s.number[e.Source])
		}
		rows = append(rows, []string{e.Key, wording.Clip(e.Value), e.Grade, source, e.Range})
	}
	words.Table(b, 5, []string{"key", "value", "grade", "source", "range"}, rows)
}

func (s *sources) text(b *strings.Builder) {
	b.WriteString("\nSources\n")
	for i, text := range s.list {
		words.Note(b, fmt.Sprintf("%d: %s.", i+1, strings.TrimSuffix(text, ".")))
	}
	b.WriteString("\nGrades: A confirmed in a primary source, B in a secondary one, C from memory, D an assumption,\n" +
		"CP common practice. None: a choice that needs no source.\n")
}
