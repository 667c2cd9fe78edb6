package tuner

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"

	"halflight/cmd/halflight/status"
	"halflight/results/tuning"
)

// memory holds the figures of what was played, in a file that outlives a kill: a
// line of JSON each, appended as soon as it is finished. A search asks for the same
// again, so it goes on where it was. A cut last line is passed over.
type memory struct {
	path string
	file *os.File
	held map[string]tuning.Figures
}

// remembered is one line. The first has only Study.
type remembered struct {
	Study   string          `json:"study,omitempty"`
	Key     string          `json:"key,omitempty"`
	Figures *tuning.Figures `json:"figures,omitempty"`
}

// recall opens the memory of a study; that of another is replaced, but no file that
// is no memory.
func recall(path, study string) (*memory, error) {
	m := &memory{path: path, held: map[string]tuning.Figures{}}
	text, err := os.ReadFile(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, status.IO(path, err)
	}
	same := false
	lines := bufio.NewReader(bytes.NewReader(text))
	for {
		line, err := lines.ReadBytes('\n')
		if err != nil {
			break // the end, or a cut line
		}
		var one remembered
		if json.Unmarshal(line, &one) != nil {
			continue
		}
		same = same || one.Study == study
		if same && one.Figures != nil {
			m.held[one.Key] = *one.Figures
		}
	}
	if begin := []byte(`{"study":`); !bytes.HasPrefix(text, begin) && !bytes.HasPrefix(begin, text) { // it may be cut
		return nil, status.Data("%s is there and is no memory of a search; move it away, or --out names another folder", path)
	}
	flags := os.O_CREATE | os.O_WRONLY | os.O_APPEND
	if !same {
		flags |= os.O_TRUNC
	}
	if m.file, err = os.OpenFile(path, flags, 0o644); err != nil {
		return nil, status.IO(path, err)
	}
	if same {
		if len(text) > 0 && text[len(text)-1] != '\n' {
			err = m.write([]byte("\n"))
		}
		return m, err
	}
	return m, m.add(remembered{Study: study})
}

// keep adds figures.
func (m *memory) keep(key string, f tuning.Figures) error {
	m.held[key] = f
	return m.add(remembered{Key: key, Figures: &f})
}

func (m *memory) add(one remembered) error {
	line, err := json.Marshal(one)
	if err != nil {
		return err
	}
	return m.write(append(line, '\n'))
}

func (m *memory) write(text []byte) error {
	if _, err := io.Copy(m.file, bytes.NewReader(text)); err != nil {
		return status.IO(m.path, err)
	}
	return nil
}

// close leaves the memory where it is; drop removes it, once all is in the result.
func (m *memory) close() { m.file.Close() }

func (m *memory) drop() {
	m.file.Close()
	os.Remove(m.path)
}
