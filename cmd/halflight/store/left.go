package store

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"
)

// besideName is how folders in the making begin.
const besideName = ".halflight-"

// leftAfter is how old a folder must be to be one that was left behind.
const leftAfter = time.Minute

// hold says that somebody is at work in a folder, for as long as it is open and the
// program lives. It returns nil where the file system cannot say so.
func hold(path string) *os.File {
	f, err := os.Open(path)
	if err != nil {
		return nil
	}
	if syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) != nil {
		f.Close()
		return nil
	}
	return f
}

// sweepUp removes what programs that were killed while they wrote a result left
// beside it: folders named as ours, that hold nothing else, that nobody is at work in
// any more. What cannot be removed stays.
func sweepUp(parent string) {
	list, err := os.ReadDir(parent)
	if err != nil {
		return
	}
	for _, e := range list {
		info, err := e.Info()
		if err != nil || !e.IsDir() || !strings.HasPrefix(e.Name(), besideName) || time.Since(info.ModTime()) < leftAfter {
			continue
		}
		path := filepath.Join(parent, e.Name())
		files, err := os.ReadDir(path)
		if err != nil || slices.ContainsFunc(files, func(f os.DirEntry) bool { return f.IsDir() || !ours(f.Name()) }) {
			continue
		}
		if held := hold(path); held != nil {
			os.RemoveAll(path)
			held.Close()
		}
	}
}

// ours reports whether a file in a folder in the making is one of a result, whole or
// still being written.
func ours(name string) bool {
	return slices.ContainsFunc(names, func(n string) bool { return name == n || strings.HasPrefix(name, "."+n+"-") })
}
