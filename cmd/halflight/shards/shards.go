// Package shards is the folder in which the parts of one study meet: files named
// after the replications they hold, each put there whole; what is missing, and
// the whole once nothing is.
//
// It plays nothing and prints nothing. It is tested through run, missing and
// merge, and by folders that hold what does not belong.
package shards

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"sync"
	"time"

	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/store"
	"halflight/results"
	"halflight/sim/replication"
)

// Cut is part I of a study that is cut into N, counted from 0.
type Cut struct{ I, N int }

// cutsMost bounds N.
const cutsMost = 1_000_000

// ParseN reads how many parts there are.
func ParseN(text string) (int, error) {
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > cutsMost {
		return 0, fmt.Errorf("the number of shards is not a whole number from 1 to %d", cutsMost)
	}
	return n, nil
}

// Range is the replications of a part: from floor(I R/N) up to floor((I+1) R/N).
// Parts are of equal length to within one, follow one another, and may be empty.
func (c Cut) Range(s results.Study) results.Range {
	at := func(i int) uint32 { return s.First + uint32(uint64(i)*uint64(s.Asked)/uint64(c.N)) }
	return results.Range{From: at(c.I), To: at(c.I + 1)}
}

// Name is the file of a range: after its first and its last replication.
func Name(r results.Range) string { return fmt.Sprintf("shard-%06d-%06d.jsonl", r.From, r.To-1) }

// pattern finds files of shards; what is being written is named otherwise.
const pattern = "shard-*.jsonl"

// Folder is a folder of shards.
type Folder struct{ Path string }

// Open makes the folder if it is not there, sees that it can be written, and
// sweeps away what programs that died a day ago were writing.
func Open(path string) (*Folder, error) {
	if err := os.MkdirAll(path, 0o777); err != nil {
		return nil, status.IO("cannot make "+path, err)
	}
	f := &Folder{path}
	to, err := os.CreateTemp(path, tempPrefix+"-*")
	if err != nil {
		return nil, status.IO("cannot write in "+path, err)
	}
	to.Close()
	if err := os.Remove(to.Name()); err != nil {
		return nil, status.IO("cannot write in "+path, err)
	}
	f.sweep()
	return f, nil
}

const tempPrefix = ".tmp"

// sweepAfter is how old a file being written is when nobody writes it any more.
const sweepAfter = 24 * time.Hour

func (f *Folder) sweep() {
	list, _ := filepath.Glob(filepath.Join(f.Path, tempPrefix+"-*"))
	for _, path := range list {
		if info, err := os.Stat(path); err == nil && time.Since(info.ModTime()) > sweepAfter {
			os.Remove(path) // if it fails, no harm is done
		}
	}
}

// Create begins a file of the folder: it gets its name when it is whole and
// durable. Two programs that write the same at once do no harm.
func (f *Folder) Create(name string) (results.File, error) {
	host, err := os.Hostname()
	if err != nil {
		host = "nameless"
	}
	to, err := os.CreateTemp(f.Path, fmt.Sprintf("%s-%s-%d-*", tempPrefix, host, os.Getpid()))
	if err != nil {
		return nil, status.IO("cannot write in "+f.Path, err)
	}
	final := filepath.Join(f.Path, name)
	return store.Unnamed(to, final, final, f.Path), nil
}

// State is what is there of a part.
type State int

// The states. Torn is a file that is cut short or altered: it is played again.
const (
	Absent State = iota
	Whole
	Torn
)

// There says what is there of a part, and that all that is there belongs to the
// same study: of other files one is looked at, which is enough as long as
// nothing foreign was let in.
func (f *Folder) There(want *results.Set) (State, error) {
	name := Name(want.Part)
	files := os.DirFS(f.Path)
	list, err := f.names()
	if err != nil {
		return Absent, err
	}
	for _, other := range list {
		head, err := results.ReadHead(files, other)
		if err != nil {
			continue // torn, or gone meanwhile: merge will say
		}
		if text := results.Differs(head, want); text != "" {
			return Absent, Conflict("%s is of another study: %s; --out names another folder", filepath.Join(f.Path, other), text)
		}
		break
	}
	head, n, err := results.Verify(files, name)
	var corrupt *results.Corrupt
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return Absent, nil
	case errors.As(err, &corrupt):
		return Torn, nil
	case err != nil:
		return Absent, status.IO("cannot read "+filepath.Join(f.Path, name), err)
	}
	if text := results.Differs(head, want); text != "" {
		return Absent, Conflict("%s is of another study: %s; --out names another folder", filepath.Join(f.Path, name), text)
	}
	if n != want.Part.Len() || head.Part != want.Part {
		return Torn, nil
	}
	return Whole, nil
}

// Conflict is an error of shards that do not belong together or are corrupt.
func Conflict(format string, args ...any) error {
	return &status.Failed{Status: status.Conflict, Err: fmt.Errorf(format, args...)}
}

// names lists the files of shards in order.
func (f *Folder) names() ([]string, error) {
	list, err := os.ReadDir(f.Path)
	if err != nil {
		return nil, status.IO("cannot read "+f.Path, err)
	}
	var names []string
	for _, e := range list {
		if ok, _ := filepath.Match(pattern, e.Name()); ok {
			names = append(names, e.Name())
		}
	}
	slices.Sort(names)
	return names, nil
}

// Holes is what is missing of a study.
type Holes struct {
	N       int      // parts
	Missing []int    // of them, those of which anything is missing
	Torn    []string // files that are cut short or altered
	Study   results.Study
}

// Missing says which parts are to be played. n is how many parts there are; 0:
// as the files say.
func (f *Folder) Missing(n int) (*Holes, error) {
	heads, torn, err := f.heads()
	if err != nil {
		return nil, err
	}
	h := &Holes{N: n, Torn: torn}
	for _, s := range heads {
		if s.Study.Asked > h.Study.Asked {
			h.Study = s.Study
		}
		if text := results.Differs(heads[0], s); text != "" {
			return nil, Conflict("%s: %s and %s do not belong together: %s", f.Path, heads[0].File, s.File, text)
		}
	}
	if len(heads) == 0 {
		if n == 0 {
			return nil, &status.Failed{Status: status.Holes, Err: fmt.Errorf(
				"%s holds no whole shard yet; --shards N says how many there are to be", f.Path)}
		}
		for i := range n {
			h.Missing = append(h.Missing, i)
		}
		return h, nil
	}
	if h.N == 0 {
		if h.N, err = cutOf(heads, h.Study.Asked); err != nil {
			return nil, err
		}
	}
	covered := make([]bool, h.Study.Asked)
	for _, s := range heads {
		for k := s.Part.From; k < s.Part.To; k++ {
			covered[k-h.Study.First] = true
		}
	}
	for i := range h.N {
		r := Cut{i, h.N}.Range(h.Study)
		if slices.Contains(covered[r.From-h.Study.First:r.To-h.Study.First], false) {
			h.Missing = append(h.Missing, i)
		}
	}
	return h, nil
}

// cutOf is how many parts the study was cut into, as its files say.
func cutOf(heads []*results.Set, asked uint32) (int, error) {
	n := 0
	for _, s := range heads {
		switch {
		case s.Study.Asked != asked || s.Shards == n:
		case n == 0:
			n = s.Shards
		default:
			return 0, status.CommandLine("the shards were cut into %d and into %d; --shards N says which the answer is to count in", n, s.Shards)
		}
	}
	return n, nil
}

// heads reads what every whole file says of itself, and names those that are not
// whole.
func (f *Folder) heads() (list []*results.Set, torn []string, err error) {
	names, err := f.names()
	if err != nil {
		return nil, nil, err
	}
	files := os.DirFS(f.Path)
	for _, name := range names {
		s, n, err := results.Verify(files, name)
		var corrupt *results.Corrupt
		switch {
		case errors.As(err, &corrupt):
			torn = append(torn, corrupt.Error())
		case err != nil:
			return nil, nil, status.IO("cannot read "+filepath.Join(f.Path, name), err)
		case n != s.Part.Len():
			torn = append(torn, fmt.Sprintf("%s: holds %d replications of %d", name, n, s.Part.Len()))
		default:
			list = append(list, s)
		}
	}
	return list, torn, nil
}

// Merge joins all shards into the whole study, by so many workers. The scenario is
// that of the shards that ask for most replications. told hears, from one worker at a
// time, how many are read.
func (f *Folder) Merge(workers int, told func(done, all int)) (*results.Set, string, error) {
	names, err := f.names()
	if err != nil {
		return nil, "", err
	}
	if len(names) == 0 {
		return nil, "", &status.Failed{Status: status.Holes, Err: fmt.Errorf("%s holds no shard", f.Path)}
	}
	var lock sync.Mutex
	read := 0
	share := func(n int, piece func(i int) error) error {
		return replication.Share(workers, n, func(i int) error {
			err := piece(i)
			lock.Lock()
			defer lock.Unlock()
			read++
			told(read, n)
			return err
		})
	}
	whole, scenario, err := results.MergeFiles(os.DirFS(f.Path), names, share)
	var corrupt *results.Corrupt
	var conflict *results.Conflict
	switch {
	case errors.As(err, &corrupt):
		return nil, "", Conflict("%s: %w; play it again, the others are untouched", f.Path, corrupt)
	case errors.As(err, &conflict):
		return nil, "", Conflict("%s: %w", f.Path, conflict)
	case err != nil:
		return nil, "", status.IO("cannot read "+f.Path, err)
	}
	var holes *results.Incomplete
	if err := whole.Complete(); errors.As(err, &holes) {
		return nil, "", &status.Failed{Status: status.Holes, Err: fmt.Errorf("%s: %w", f.Path, err)}
	}
	return whole, scenario, nil
}
