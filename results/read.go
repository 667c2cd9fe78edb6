package results

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"

	"halflight/results/lines"
	"halflight/sim/record"
)

// Corrupt is the error of a file of records that is not whole or not one.
type Corrupt struct{ Name, Text string }

func (c *Corrupt) Error() string { return c.Name + ": " + c.Text }

// Read reads a file of records that Write or a Writer wrote. A file that is cut
// short, altered, or followed by more is refused with a *Corrupt; other errors
// are those of the file system.
func Read(from fs.FS, name string) (*Set, error) { return read(from, name, (*reader).set) }

// ReadHead reads only the study, part and header of a file of records, without
// looking at the rest.
func ReadHead(from fs.FS, name string) (*Set, error) { return read(from, name, (*reader).head) }

// Verify reads a file of records without making records of its lines: it holds
// the bytes against the closing line, and returns the head and how many
// replications the file holds.
func Verify(from fs.FS, name string) (*Set, int, error) {
	count := 0
	s, err := read(from, name, func(r *reader) (*Set, error) {
		s, err := r.head()
		if err != nil {
			return nil, err
		}
		for ; ; count++ {
			line, err := r.next(count)
			if err != nil {
				return nil, err
			}
			if foot, ok := closing(line); ok {
				return s, r.end(foot, count)
			}
		}
	})
	return s, count, err
}

func read(from fs.FS, name string, part func(*reader) (*Set, error)) (*Set, error) {
	f, err := from.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return part(&reader{name: name, from: lines.SourceOf(f), hash: sha256.New()})
}

type reader struct {
	name  string
	lean  bool                 // the lost share by slot is left out
	place []record.Replication // empty: where the replications go, as far as it reaches
	from  *lines.Source
	hash  hash.Hash // of the lines before the last one read
	last  []byte
	at    int // number of the last line read, from 1
}

func (r *reader) corrupt(format string, args ...any) error {
	return &Corrupt{r.name, fmt.Sprintf(format, args...)}
}

// line reads the next whole line, which is there up to the next call; io.EOF after
// the last.
func (r *reader) line() ([]byte, error) {
	r.hash.Write(r.last)
	line, err := r.from.Next()
	switch {
	case err == nil:
		r.at++
		r.last = line
		return line, nil
	case errors.Is(err, io.EOF) && len(line) == 0:
		r.last = nil
		return nil, io.EOF
	case errors.Is(err, io.EOF):
		return nil, r.corrupt("cut short in line %d; run this part again", r.at+1)
	}
	return nil, err
}

func (r *reader) head() (*Set, error) {
	line, err := r.line()
	if errors.Is(err, io.EOF) {
		return nil, r.corrupt("empty; run this part again")
	}
	if err != nil {
		return nil, err
	}
	var kind struct {
		Halflight string `json:"halflight"`
		Format    int    `json:"format"`
	}
	if err := json.Unmarshal(line, &kind); err != nil || kind.Halflight != fileKind {
		return nil, r.corrupt("no file of records: the first line does not say so")
	}
	if kind.Format != fileFormat {
		return nil, r.corrupt("written in format %d, this program reads format %d; use the version that wrote it", kind.Format, fileFormat)
	}
	var h headline
	if err := lines.Strict(line, &h); err != nil {
		return nil, r.corrupt("line 1 is damaged: %v", err)
	}
	s := &Set{Study: h.Study, Part: h.Part, Header: h.Header, Shards: h.Shards, Scenario: h.Scenario, File: r.name, lean: r.lean}
	if err := s.checkStudy(); err != nil {
		return nil, r.corrupt("line 1: %v", err)
	}
	return s, nil
}

// partMost is for how many replications room is made before any is read: the
// headline may ask for more than there are.
const partMost = 1 << 16

func (r *reader) set() (*Set, error) {
	s, err := r.head()
	if err != nil {
		return nil, err
	}
	s.Replications = r.place
	if cap(r.place) == 0 {
		s.Replications = make([]record.Replication, 0, min(s.Part.Len(), partMost))
	}
	for {
		line, err := r.next(len(s.Replications))
		if err != nil {
			return nil, err
		}
		if foot, ok := closing(line); ok {
			if err := r.finish(s, foot); err != nil {
				return nil, err
			}
			return s, nil
		}
		n := len(s.Replications)
		s.Replications = append(s.Replications, record.Replication{})
		if err := lines.Read(line, r.lean, &s.Replications[n]); err != nil {
			return nil, r.corrupt("line %d is damaged: %v", r.at, err)
		}
	}
}

// next reads the line after so many replications.
func (r *reader) next(count int) ([]byte, error) {
	line, err := r.line()
	if errors.Is(err, io.EOF) {
		return nil, r.corrupt("cut short after %d replications: no closing line; run this part again", count)
	}
	return line, err
}

// closing reports whether a line is the closing one.
func closing(line []byte) (footline, bool) {
	var foot footline
	if !bytes.HasPrefix(line, []byte(`{"count":`)) {
		return foot, false
	}
	err := lines.Strict(line, &foot)
	return foot, err == nil && foot.Count != nil
}

// finish holds the closing line against what was read, and the set against itself.
func (r *reader) finish(s *Set, foot footline) error {
	if err := r.end(foot, len(s.Replications)); err != nil {
		return err
	}
	if err := s.Check(); err != nil {
		return r.corrupt("%v", err)
	}
	return nil
}

// end holds the closing line against what was read.
func (r *reader) end(foot footline, n int) error {
	if sum := hex.EncodeToString(r.hash.Sum(nil)); sum != foot.SHA256 {
		return r.corrupt("damaged: the lines before the last have SHA-256 %.12s..., the last line says %.12s...", sum, foot.SHA256)
	}
	if n != *foot.Count {
		return r.corrupt("holds %d replications, the last line says %d", n, *foot.Count)
	}
	last := r.at
	_, err := r.line()
	var cut *Corrupt
	if err == nil || errors.As(err, &cut) {
		return r.corrupt("goes on after its closing line %d; files of records are joined with merge, not end to end", last)
	}
	if !errors.Is(err, io.EOF) {
		return err
	}
	return nil
}
