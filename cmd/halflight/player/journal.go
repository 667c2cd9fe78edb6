package player

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"halflight/cmd/halflight/status"
	"halflight/results"
	"halflight/sim/record"
)

// Journal is the file in which replications are kept from the moment they are
// finished until the result is whole, so that a program that is killed has lost
// only what was under way.
//
// It is lines of the SHA-256 of a value and the value; the first says of which
// study and by which build. Lines are added each by one write to the end, so two
// programs that play the same at once do no harm, and a line that is cut or
// altered is passed over and its replication played again. The file is made with
// the first replication.
type Journal struct {
	path    string
	head    []byte
	file    *os.File
	synced  time.Time
	foreign bool
	torn    bool // the file does not end with a whole line
	anew    bool // what is there is of no use
}

// journalHead says what a journal is of. Build is that of the program to the bit:
// what another has finished is not taken up.
type journalHead struct {
	Halflight string        `json:"halflight"` // "journal"
	Study     results.Study `json:"study"`     // Asked is 0: it may change
	Header    record.Header `json:"header"`
	Build     string        `json:"build"`
}

// syncEvery is how much time a machine that fails may cost.
const syncEvery = time.Second

// JournalPath is the journal of a study beside a result of a name.
func JournalPath(result, digest string) string {
	return filepath.Join(filepath.Dir(result), fmt.Sprintf(".%s.unfinished-%.12s", filepath.Base(result), digest))
}

// Open opens the journal at a path, or prepares a new one, and returns what it
// holds of the study, in order of number.
func Open(path string, study results.Study, header record.Header) (*Journal, []record.Replication, error) {
	study.Asked = 0
	head, err := json.Marshal(journalHead{"journal", study, header, build()})
	if err != nil {
		return nil, nil, err
	}
	j := &Journal{path: path, head: head}
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return j, nil, nil
	}
	if err != nil {
		return nil, nil, status.IO("cannot read "+path, err)
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && !info.Mode().IsRegular() {
		return nil, nil, status.Data("%s is no file that anything can be kept in", path)
	}
	list, err := j.read(bufio.NewReaderSize(f, 1<<16), results.Set{Study: study, Header: header})
	if err != nil {
		return nil, nil, status.IO("cannot read "+path, err)
	}
	return j, list, nil
}

// build is Build, read once.
var build = sync.OnceValue(buildOf)

// Build is the SHA-256 of the program: what another build has finished is not taken
// up, even if it calls itself by the same version.
func Build() string { return build() }

func buildOf() string {
	path, err := os.Executable()
	if err != nil {
		return ""
	}
	f, err := os.Open(path)
	if err != nil {
		return ""
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return ""
	}
	return hex.EncodeToString(h.Sum(nil))
}

// read returns the replications of a journal. Lines that are not whole are passed
// over.
func (j *Journal) read(from *bufio.Reader, set results.Set) ([]record.Replication, error) {
	set.Study.Asked = 1<<32 - 1 - set.Study.First
	set.Part = set.Study.Whole()
	var list []record.Replication
	for n := 0; ; n++ {
		line, err := from.ReadBytes('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return nil, err
		}
		if j.torn = len(line) > 0 && err != nil; err != nil {
			j.anew = n == 0
			break
		}
		value, ok := checked(line)
		if n == 0 && !bytes.Equal(value, j.head) {
			j.foreign, j.anew = true, true
			return nil, nil
		}
		var r record.Replication
		if n > 0 && ok && json.Unmarshal(value, &r) == nil && set.CheckOne(&r) == nil {
			list = append(list, r)
		}
	}
	slices.SortStableFunc(list, byNumber)
	return slices.CompactFunc(list, func(a, b record.Replication) bool { return a.Number == b.Number }), nil
}

// sumLength is that of a SHA-256 in hexadecimal.
const sumLength = 2 * sha256.Size

// checked is the value of a line, if it is whole.
func checked(line []byte) ([]byte, bool) {
	if len(line) < sumLength+2 || line[sumLength] != ' ' {
		return nil, false
	}
	value := line[sumLength+1 : len(line)-1]
	sum := sha256.Sum256(value)
	return value, hex.EncodeToString(sum[:]) == string(line[:sumLength])
}

// Foreign reports whether there was a journal of another build or study, which is
// replaced with the first replication that is kept.
func (j *Journal) Foreign() bool { return j.foreign }

// Keep adds a replication.
func (j *Journal) Keep(r *record.Replication) error {
	value, err := json.Marshal(r)
	if err != nil {
		return fmt.Errorf("replication %d cannot be kept: %w", r.Number, err)
	}
	if err := j.begin(); err != nil {
		return status.IO("cannot write "+j.path, err)
	}
	if err := j.line(value); err != nil {
		return status.IO("cannot write "+j.path, err)
	}
	if now := time.Now(); now.Sub(j.synced) >= syncEvery {
		j.synced = now
		if err := j.file.Sync(); err != nil {
			return status.IO("cannot write "+j.path, err)
		}
	}
	return nil
}

// begin opens the file for adding to it.
func (j *Journal) begin() error {
	if j.file != nil {
		return nil
	}
	if j.anew {
		if err := os.Remove(j.path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		j.torn, j.anew = false, false
	}
	f, err := os.OpenFile(j.path, os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o666)
	if err != nil {
		return err
	}
	j.file, j.synced = f, time.Now()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	if info.Size() == 0 {
		return j.line(j.head)
	}
	if j.torn {
		j.torn = false
		_, err = f.Write([]byte{'\n'})
	}
	return err
}

func (j *Journal) line(value []byte) error {
	sum := sha256.Sum256(value)
	line := make([]byte, 0, sumLength+len(value)+2)
	line = append(hex.AppendEncode(line, sum[:]), ' ')
	line = append(append(line, value...), '\n')
	_, err := j.file.Write(line)
	return err
}

// Close makes what was kept durable.
func (j *Journal) Close() error {
	if j.file == nil {
		return nil
	}
	err := j.file.Sync()
	if closed := j.file.Close(); err == nil {
		err = closed
	}
	j.file = nil
	if err != nil {
		return status.IO("cannot write "+j.path, err)
	}
	return nil
}

// Remove drops the journal: all that it held is in the result.
func (j *Journal) Remove() error {
	if err := os.Remove(j.path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return status.IO("cannot remove "+j.path, err)
	}
	return nil
}
