package store

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"halflight/cmd/halflight/status"
)

func write(t *testing.T, f *Folder, name, text string) {
	t.Helper()
	if err := f.Put(name, []byte(text)); err != nil {
		t.Fatal(err)
	}
}

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// Nothing stands in the final place before Keep, and nothing is left beside it
// after Drop.
func TestWholeOrNotAtAll(t *testing.T) {
	dir := t.TempDir()
	final := filepath.Join(dir, "made")
	f, err := Make(final, "d1", 1, false)
	if err != nil {
		t.Fatal(err)
	}
	write(t, f, ManifestName, `{"digest":"d1"}`)
	if _, err := os.Stat(final); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("before Keep: %v", err)
	}
	to, err := f.Create("half")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := to.Write([]byte("x")); err != nil {
		t.Fatal(err)
	}
	to.Discard()
	if err := f.Keep(); err != nil {
		t.Fatal(err)
	}
	f.Drop()
	if _, err := os.Stat(filepath.Join(final, "half")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a discarded file is there: %v", err)
	}
	dropped, err := Make(final, "d1", 1, false)
	if err != nil {
		t.Fatal(err)
	}
	write(t, dropped, ManifestName, `{"digest":"other"}`)
	dropped.Drop()
	if got := read(t, filepath.Join(final, ManifestName)); got != `{"digest":"d1"}` {
		t.Errorf("a dropped folder changed the final one: %s", got)
	}
	list, err := os.ReadDir(dir)
	if err != nil || len(list) != 1 {
		t.Errorf("left beside: %v, %v", list, err)
	}
}

// The same digest is replaced whole: a file of before is gone. Another digest
// only when asked.
func TestReplace(t *testing.T) {
	final := filepath.Join(t.TempDir(), "made")
	for i, c := range []struct {
		digest  string
		replace bool
		refused bool
	}{{"d1", false, false}, {"d1", false, false}, {"d2", false, true}, {"d2", true, false}} {
		f, err := Make(final, c.digest, 1, c.replace)
		if (err != nil) != c.refused {
			t.Fatalf("%d: %v", i, err)
		}
		if err != nil {
			var failed *status.Failed
			if !errors.As(err, &failed) || failed.Status != status.Wrong {
				t.Errorf("%d: status of %v", i, err)
			}
			continue
		}
		write(t, f, ManifestName, `{"digest":"`+c.digest+`"}`)
		if i == 0 {
			write(t, f, SummaryName, "x")
		}
		if err := f.Keep(); err != nil {
			t.Fatal(err)
		}
		_, err = os.Stat(filepath.Join(final, SummaryName))
		if gone := errors.Is(err, fs.ErrNotExist); gone != (i > 0) {
			t.Errorf("%d: a file of before: %v", i, err)
		}
	}
}

// When the new folder cannot take the place, the old one stands again.
func TestOldStandsAgain(t *testing.T) {
	final := filepath.Join(t.TempDir(), "made")
	f, err := Make(final, "d1", 1, false)
	if err != nil {
		t.Fatal(err)
	}
	write(t, f, ManifestName, `{"digest":"d1"}`)
	if err := f.Keep(); err != nil {
		t.Fatal(err)
	}
	if err := swap(filepath.Join(t.TempDir(), "nothing"), final); err == nil {
		t.Fatal("what is not there took the place")
	}
	if got := read(t, filepath.Join(final, ManifestName)); got != `{"digest":"d1"}` {
		t.Errorf("the old folder reads %q", got)
	}
}

// A link keeps leading where it led, a pipe stays one, and a folder a folder.
func TestReplaceWhatIsThere(t *testing.T) {
	dir := t.TempDir()
	target, link := filepath.Join(dir, "kept"), filepath.Join(dir, "link")
	if err := os.WriteFile(target, []byte("old"), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("kept", link); err != nil {
		t.Fatal(err)
	}
	if err := Replace(link, []byte("new")); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&fs.ModeSymlink == 0 {
		t.Errorf("the link became %v, %v", info.Mode(), err)
	}
	if got := read(t, target); got != "new" {
		t.Errorf("behind the link is %q", got)
	}
	if err := Replace(filepath.Join(dir, "fresh"), []byte("x")); err != nil || read(t, filepath.Join(dir, "fresh")) != "x" {
		t.Errorf("a fresh file: %v", err)
	}
	if err := Replace(dir, []byte("x")); err == nil {
		t.Error("a folder was replaced")
	}
	pipe := filepath.Join(dir, "pipe")
	if err := syscall.Mkfifo(pipe, 0o666); err != nil {
		t.Fatal(err)
	}
	reader, err := os.OpenFile(pipe, os.O_RDWR, 0) // both ends, so that nobody waits
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	if err := Replace(pipe, []byte("said")); err != nil {
		t.Error(err)
	}
	if info, err := os.Stat(pipe); err != nil || info.Mode()&fs.ModeNamedPipe == 0 {
		t.Fatalf("the pipe is gone: %v", err)
	}
	got := make([]byte, 4)
	if _, err := io.ReadFull(reader, got); err != nil || string(got) != "said" {
		t.Errorf("the pipe holds %q, %v", got, err)
	}
}

// What a killed program left beside a result goes with the next one; what somebody is
// at work in, what is young and what holds other files stays.
func TestLeftBehind(t *testing.T) {
	dir := t.TempDir()
	make := func(name string, age time.Duration, files ...string) string {
		path := filepath.Join(dir, name)
		if err := os.Mkdir(path, 0o777); err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			if err := os.WriteFile(filepath.Join(path, f), nil, 0o666); err != nil {
				t.Fatal(err)
			}
		}
		at := time.Now().Add(-age)
		if err := os.Chtimes(path, at, at); err != nil {
			t.Fatal(err)
		}
		return path
	}
	gone := []string{make(".halflight-1", time.Hour, SummaryName, "."+SummaryName+"-77"), make(".halflight-2.old", time.Hour, ManifestName), make(".halflight-3", time.Hour)}
	stays := []string{make(".halflight-4", 0, SummaryName), make(".halflight-5", time.Hour, SummaryName, "letter.txt"), make("halflight-6", time.Hour, SummaryName)}
	busy := make(".halflight-7", time.Hour, SummaryName)
	held := hold(busy)
	f, err := Make(filepath.Join(dir, "result"), "d", 1, false)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Drop()
	for _, path := range gone {
		if _, err := os.Stat(path); err == nil {
			t.Errorf("%s is still there", path)
		}
	}
	for _, path := range append(stays, busy) {
		if _, err := os.Stat(path); err != nil {
			t.Errorf("%s: %v", path, err)
		}
	}
	held.Close()
}
