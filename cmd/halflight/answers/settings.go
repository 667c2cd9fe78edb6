// Package answers is what check and size say: as values for JSON and as text for
// people.
//
// It computes nothing. It is tested through the verbs.
package answers

import (
	"fmt"
	"strings"

	"halflight/cmd/halflight/words"
	"halflight/model"
	"halflight/model/setting"
	"halflight/scenarios"
	"halflight/scenarios/wording"
)

// Problems is what is wrong with a scenario.
type Problems struct {
	Problems []Problem `json:"problems"`
	More     int       `json:"more"` // found and not listed
}

// Problem is one of them.
type Problem struct {
	Path   string `json:"path"`
	Text   string `json:"text"`
	Hint   string `json:"hint,omitempty"`
	Line   int    `json:"line"` // from 1; 0 when not in the file
	Column int    `json:"column"`
	Set    string `json:"set,omitempty"`
}

// ProblemsOf lists what is wrong with a scenario.
func ProblemsOf(p *scenarios.Problems) *Problems {
	a := &Problems{Problems: []Problem{}, More: p.More}
	for _, q := range p.List {
		a.Problems = append(a.Problems, Problem{q.Path, q.Text, q.Hint, q.Line, q.Column, q.Set})
	}
	return a
}

// Settings is a scenario in full.
type Settings struct {
	Name     string        `json:"name"`
	Routers  int           `json:"routers"`
	Links    int           `json:"links"`
	Modes    int           `json:"modes"`
	Scripted int           `json:"scripted"`
	Problems []Problem     `json:"problems"` // empty
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

// SettingsOf lists the settings in force in a world.
func SettingsOf(name string, w *model.World, list []setting.Setting) *Settings {
	a := &Settings{Name: w.Name, Routers: len(w.Fabric.Routers), Links: len(w.Fabric.Links),
		Modes: len(w.Modes), Scripted: len(w.Script), Problems: []Problem{}, Unsure: []string{}}
	for _, s := range setting.Unsourced(list) {
		a.Unsure = append(a.Unsure, s.Key)
	}
	for _, s := range list {
		a.Settings = append(a.Settings, settingJSON{s.Key, s.Value, s.Given, s.Grade, s.Source, s.Range})
	}
	return a
}

// Text writes it for people.
func (a *Settings) Text(b *strings.Builder) {
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
