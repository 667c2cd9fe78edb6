// Package store is the folder that a run leaves behind: written beside its final
// place, synced and put there whole, or not at all.
//
// It knows the names of files, not what is in them, and replaces no folder that
// holds others. It is tested through run and
// by folders that are in the way.
package store

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"halflight/cmd/halflight/status"
	"halflight/results"
)

// The files of a result. The folder is known by its manifest.
const (
	ManifestName     = "manifest.json"
	ScenarioName     = "scenario.yaml"      // all settings in force
	TypedName        = "as-typed.yaml"      // the scenario as it was typed, --set applied: it still says what was left to defaults
	ReplicationsName = "replications.jsonl" // a line each
	SummaryName      = "summary.json"
	CompareName      = "compare.json"
	SweepName        = "sweep.json"
	TuneName         = "tune.json"
	WeighName        = "weigh.json"
	PageName         = "report.html" // made by report, not by run
)

// TableName is the file of a table of a name, in a form: csv or parquet.
func TableName(table, form string) string { return table + "." + form }

var names = []string{ManifestName, ScenarioName, TypedName, ReplicationsName, SummaryName, PageName, CompareName, SweepName, TuneName, WeighName,
	TableName("faults", "csv"), TableName("replications", "csv"), TableName("faults", "parquet"), TableName("replications", "parquet")}

// Manifest says what a result folder is and how to make it again. It holds no
// time, so that equal runs give equal bytes.
type Manifest struct {
	Program      string `json:"program"` // version
	Go           string `json:"go"`
	Platform     string `json:"platform"`
	Scenario     string `json:"scenario"`
	Seed         uint64 `json:"seed"`
	Digest       string `json:"digest"` // SHA-256 of all settings in force
	Replications int    `json:"replications"`
	Asked        int    `json:"asked"`
	Partial      string `json:"partial,omitempty"` // why replications are missing
	Reproduce    string `json:"reproduce"`
}

// Folder is a result folder in the making. All is written into a folder beside
// the final one, which takes its place when it is whole. The folder beside is
// made with the first file, so that a program killed while it simulates leaves
// nothing behind.
type Folder struct {
	final, beside string
	shown         string   // the final place as the user named it
	held          *os.File // says to others that somebody is at work in beside
}

// Make begins a result folder. It refuses to replace what is no result
// and, unless replace is set, the result of another digest, or of more than least
// replications.
func Make(path, digest string, least int, replace bool) (*Folder, error) {
	if err := mayReplace(path, digest, least, replace); err != nil {
		return nil, err
	}
	final, err := filepath.Abs(path)
	if err != nil {
		return nil, status.IO(path, err)
	}
	if real, err := filepath.EvalSymlinks(final); err == nil {
		final = real
	}
	parent := filepath.Dir(final)
	if err := os.MkdirAll(parent, 0o777); err != nil {
		return nil, status.IO("cannot make "+parent, err)
	}
	sweepUp(parent)
	f := &Folder{final: final, shown: filepath.Clean(path)}
	defer f.Drop() // only to see now, not after hours, whether it can be written
	return f, f.begin()
}

// mayReplace says whether a result of a digest may be put at a path.
func mayReplace(path, digest string, least int, replace bool) error {
	list, err := os.ReadDir(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return status.IO("cannot put the result into "+path, err)
	case len(list) == 0:
		return nil
	}
	text, err := os.ReadFile(filepath.Join(path, ManifestName))
	var old Manifest
	if err != nil || json.Unmarshal(text, &old) != nil || old.Digest == "" {
		return status.Data("%s is there and holds no result; --out names another folder", path)
	}
	for _, file := range list {
		if !slices.Contains(names, file.Name()) {
			return status.Data("%s also holds %q, which is no part of a result and would be lost; move it away, or --out names another folder",
				path, file.Name())
		}
	}
	if old.Digest == digest && old.Replications > least && !replace {
		return status.Data("%s holds %d replications of this study, more than the %d asked for; "+
			"--replace replaces it, --out names another folder", path, old.Replications, least)
	}
	if old.Digest != digest && !replace {
		return status.Data("%s holds the result of another scenario or setting (%s, digest %.12s, this is %.12s); "+
			"--replace replaces it, --out names another folder", path, old.Scenario, old.Digest, digest)
	}
	return nil
}

// begin makes the folder beside the final one, unless it is there.
func (f *Folder) begin() error {
	if f.beside != "" {
		return nil
	}
	parent := filepath.Dir(f.final)
	beside, err := os.MkdirTemp(parent, besideName+"*")
	if err != nil {
		return status.IO("cannot write in "+parent, err)
	}
	f.beside, f.held = beside, hold(beside)
	return nil
}

// Final is the final place.
func (f *Folder) Final() string { return f.final }

// Path is the final place as the user named it.
func (f *Folder) Path() string { return f.shown }

// Create begins a file.
func (f *Folder) Create(name string) (results.File, error) {
	if err := f.begin(); err != nil {
		return nil, err
	}
	to, err := os.CreateTemp(f.beside, "."+name+"-*")
	if err != nil {
		return nil, status.IO("cannot write "+name, err)
	}
	return Unnamed(to, filepath.Join(f.beside, name), name, ""), nil
}

// Put writes one whole file.
func (f *Folder) Put(name string, text []byte) error {
	to, err := f.Create(name)
	if err != nil {
		return err
	}
	if _, err := io.Copy(to, bytes.NewReader(text)); err != nil {
		to.Discard()
		return status.IO("cannot write "+name, err)
	}
	return to.Close()
}

// Drop removes what was written, unless it was kept.
func (f *Folder) Drop() {
	if f.beside != "" {
		os.RemoveAll(f.beside)
		f.beside = ""
		f.held.Close() // of nothing, if it could not be held
	}
}

// Keep puts the folder in its final place. What was there is gone only once the
// new one stands.
func (f *Folder) Keep() error {
	if err := os.Chmod(f.beside, 0o755); err != nil {
		return status.IO("cannot finish "+f.final, err)
	}
	if err := syncFolder(f.beside); err != nil {
		return status.IO("cannot finish "+f.final, err)
	}
	if err := swap(f.beside, f.final); err != nil {
		return status.IO("cannot finish "+f.shown, err)
	}
	if err := syncFolder(filepath.Dir(f.final)); err != nil {
		return status.IO("cannot finish "+f.final, err)
	}
	return nil
}

// swap puts a folder in the place of another, which is gone only once the new
// one stands, and stands again if that fails.
func swap(beside, final string) error {
	old := beside + ".old"
	defer hold(final).Close()
	if err := os.Rename(final, old); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := os.Rename(beside, final); err != nil {
		os.Rename(old, final) // nothing better can be done if that fails too
		return err
	}
	return os.RemoveAll(old)
}

// syncFolder makes the names in a folder durable.
func syncFolder(path string) error {
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}

// Unnamed is a file being written that gets its name when it is closed, whole and
// durable; shown is what an error calls it. The name is durable too if the folder
// that it is in is given.
func Unnamed(to *os.File, final, shown, folder string) results.File {
	return &file{to, final, shown, folder}
}

// file is one file being written under another name.
type file struct {
	*os.File
	final, shown, folder string
}

// Close makes the file durable and gives it its name.
func (f *file) Close() error {
	err := f.Sync()
	if err == nil {
		err = f.Chmod(0o644)
	}
	if closed := f.File.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = os.Rename(f.Name(), f.final)
	}
	if err == nil && f.folder != "" {
		err = syncFolder(f.folder)
	}
	if err != nil {
		os.Remove(f.Name())
		return status.IO("cannot write "+f.shown, err)
	}
	return nil
}

// Discard drops the file.
func (f *file) Discard() {
	f.File.Close()
	os.Remove(f.Name())
}

// Replace writes a file whole beside its place and puts it there; with an error
// the old one stays. A link stays too, and what it leads to is replaced. What is no
// file of its own (a device, a pipe, standard output by its name) is written into:
// it is not ours to put anything in its place.
func Replace(path string, text []byte) error {
	info, err := os.Stat(path)
	if err == nil && (!info.Mode().IsRegular() || ofSystem(path)) {
		return into(path, text)
	}
	if there, err := filepath.EvalSymlinks(path); err == nil {
		path = there
	}
	to, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+"-*")
	if err != nil {
		return status.IO("cannot write "+path, err)
	}
	f := Unnamed(to, path, filepath.Base(path), "")
	if _, err := to.Write(text); err != nil {
		f.Discard()
		return status.IO("cannot write "+path, err)
	}
	return f.Close()
}

// ofSystem reports whether a path is of the machine's own, such as /dev/stdout, which
// may lead to a file that somebody else is writing.
func ofSystem(path string) bool {
	abs, err := filepath.Abs(path)
	return err == nil && (strings.HasPrefix(abs, "/dev/") || strings.HasPrefix(abs, "/proc/"))
}

// into writes into what is there.
func into(path string, text []byte) error {
	to, err := os.OpenFile(path, os.O_WRONLY|os.O_APPEND, 0)
	if err != nil {
		return status.IO("cannot write "+path, err)
	}
	_, err = to.Write(text)
	if closed := to.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return status.IO("cannot write "+path, err)
	}
	return nil
}

// WriteFile is Replace that makes the folder too.
func WriteFile(path string, text []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return status.IO("cannot make "+filepath.Dir(path), err)
	}
	return Replace(path, text)
}
