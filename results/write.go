package results

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"io"

	"halflight/sim/record"
)

// A file of records is JSON lines: a headline, one replication a line by number,
// and a footline with the count and the SHA-256 of all bytes before it.

// Kind and Format of the headline; another format number is refused.
const (
	fileKind   = "records"
	fileFormat = 2
)

type headline struct {
	Halflight string        `json:"halflight"`
	Format    int           `json:"format"`
	Study     Study         `json:"study"`
	Part      Range         `json:"part"`
	Header    record.Header `json:"header"`
	Shards    int           `json:"shards,omitempty"`   // how many the study was cut into
	Scenario  string        `json:"scenario,omitempty"` // as typed
}

type footline struct {
	Count  *int   `json:"count"`
	SHA256 string `json:"sha256"`
}

// Writer writes a set replication by replication, so that none need be kept.
type Writer struct {
	to   *bufio.Writer
	hash hash.Hash
	set  Set // without replications
	next uint32
	n    int
	err  error // the first; all later calls return it
}

// NewWriter writes the headline of a set and returns the writer of the rest.
func NewWriter(to io.Writer, study Study, part Range, header record.Header) (*Writer, error) {
	return newWriter(to, Set{Study: study, Part: part, Header: header})
}

// newWriter is NewWriter for all that a set says of itself.
func newWriter(to io.Writer, set Set) (*Writer, error) {
	set.Replications = nil
	w := &Writer{to: bufio.NewWriterSize(to, 1<<16), hash: sha256.New(), set: set, next: set.Part.From}
	if err := w.set.checkStudy(); err != nil {
		return nil, err
	}
	w.line(headline{fileKind, fileFormat, set.Study, set.Part, set.Header, set.Shards, set.Scenario}, true)
	return w, w.err
}

// Append writes one replication. Numbers must rise; a gap is a hole of the set.
func (w *Writer) Append(r *record.Replication) error {
	if w.err != nil {
		return w.err
	}
	w.err = w.fit(r)
	if w.err == nil {
		w.line(r, true)
		w.next = r.Number + 1
		w.n++
	}
	return w.err
}

func (w *Writer) fit(r *record.Replication) error {
	if w.n > 0 && r.Number < w.next {
		return fmt.Errorf("replication %d follows replication %d; they must come in order, each once", r.Number, w.next-1)
	}
	if err := w.set.CheckOne(r); err != nil {
		return fmt.Errorf("replication %d: %w", r.Number, err)
	}
	return nil
}

// End writes the footline. It does not close what it writes to.
func (w *Writer) End() error {
	if w.err == nil {
		w.line(footline{&w.n, hex.EncodeToString(w.hash.Sum(nil))}, false)
	}
	if w.err == nil {
		w.err = w.to.Flush()
	}
	return w.err
}

// line writes one value; hashed tells whether it counts for the footline.
func (w *Writer) line(value any, hashed bool) {
	var line bytes.Buffer
	e := json.NewEncoder(&line)
	e.SetEscapeHTML(false)
	if err := e.Encode(value); err != nil {
		w.err = fmt.Errorf("record %d of the set cannot be written: %w", w.n, err)
		return
	}
	if hashed {
		w.hash.Write(line.Bytes())
	}
	_, w.err = w.to.Write(line.Bytes())
}

// write writes the set. It stops at the first error, of the set or of to.
func (s *Set) write(to io.Writer) error {
	w, err := newWriter(to, *s)
	if err != nil {
		return err
	}
	if s.lines != nil {
		return s.lines.copy(w)
	}
	for i := range s.Replications {
		if err := w.Append(&s.Replications[i]); err != nil {
			return err
		}
	}
	return w.End()
}

// Write puts the set into a file of the folder: whole, or not at all. A set that
// does not pass Check, or holds what JSON cannot say (NaN, infinities), is
// refused; other errors are the folder's.
func (s *Set) Write(to Folder, name string) error {
	return Put(to, name, s.write)
}

// Put writes a file of the folder by the function given: whole, or not at all.
// Errors of the function are named after the file; others are the folder's.
func Put(to Folder, name string, write func(io.Writer) error) error {
	f, err := to.Create(name)
	if err != nil {
		return err
	}
	if err := write(f); err != nil {
		f.Discard()
		return fmt.Errorf("%s: %w", name, err)
	}
	return f.Close()
}
