package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/store"
	"halflight/cmd/halflight/words"
	"halflight/model"
	"halflight/model/setting"
	"halflight/model/timer"
	"halflight/results"
	"halflight/results/picture"
)

// result reads a folder that run left behind, and what its scenario says.
func (d *door) result(folder string) (*picture.Result, error) {
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
	case err != nil:
		return nil, status.IO(folder, err)
	}
	l, err := d.load(filepath.Join(folder, store.TypedName), nil)
	if err != nil {
		return nil, err
	}
	abs, err := filepath.Abs(folder)
	if err != nil {
		return nil, status.IO(folder, err)
	}
	return &picture.Result{
		Name: filepath.Base(abs), Setting: timersOf(&l.world.Timers.SPF), Set: set, Assumptions: assumptionsOf(l), Groups: groupsOf(l.world),
		Summary: results.Summarise(set, results.Options{Crew: l.world.Operation.Crew, Unsure: unsure(l)}),
		Made: picture.Made{Program: made.Program, Go: made.Go, Platform: made.Platform, Digest: made.Digest, Reproduce: made.Reproduce,
			Partial: made.Partial, Scenario: filepath.Join(folder, store.TypedName)},
	}, nil
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

// assumptionsOf lists all settings in force, unsourced ones first.
func assumptionsOf(l *loaded) (out []picture.Assumption) {
	list := model.Resolve(l.Scenario)
	first := map[string]bool{}
	for _, s := range setting.Unsourced(list) {
		first[s.Path] = true
		out = append(out, picture.Assumption{Key: s.Key, Value: s.Value, Given: s.Given, Grade: s.Grade, Source: s.Source, Range: s.Range, Unsourced: true})
	}
	for _, s := range list {
		if !first[s.Path] && !remark(s.Key) {
			out = append(out, picture.Assumption{Key: s.Key, Value: s.Value, Given: s.Given, Grade: s.Grade, Source: s.Source, Range: s.Range})
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
