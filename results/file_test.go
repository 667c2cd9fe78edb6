package results

import (
	"bytes"
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"
)

func fileOf(t *testing.T, s *Set) []byte {
	t.Helper()
	m := newMemory()
	if err := s.Write(m, "records.jsonl"); err != nil {
		t.Fatal(err)
	}
	return m.files["records.jsonl"]
}

func readBytes(b []byte) (*Set, error) {
	return Read(fstest.MapFS{"r": &fstest.MapFile{Data: b}}, "r")
}

func TestRoundTrip(t *testing.T) {
	for _, s := range []*Set{busySet(4, 7), testSet(1), part(busySet(6, 2), 2, 5), part(testSet(4), 1, 1)} {
		b := fileOf(t, s)
		if !bytes.Equal(b, fileOf(t, s)) {
			t.Error("the same set gave other bytes")
		}
		got, err := readBytes(b)
		if err != nil {
			t.Fatal(err)
		}
		if got.Study != s.Study || got.Part != s.Part || !reflect.DeepEqual(got.Header, s.Header) {
			t.Errorf("read %+v %v, wrote %+v %v", got.Study, got.Part, s.Study, s.Part)
		}
		if len(got.Replications) != len(s.Replications) {
			t.Fatalf("read %d replications, wrote %d", len(got.Replications), len(s.Replications))
		}
		if !bytes.Equal(b, fileOf(t, got)) {
			t.Error("what was read writes other bytes")
		}
		head, err := ReadHead(fstest.MapFS{"r": &fstest.MapFile{Data: b}}, "r")
		if err != nil || head.Part != s.Part || len(head.Replications) != 0 {
			t.Errorf("head: %+v, %v", head, err)
		}
	}
}

// Every cut and every changed byte is found.
func TestDamageIsRefused(t *testing.T) {
	b := fileOf(t, busySet(2, 1))
	for n := range b {
		if _, err := readBytes(b[:n]); !isCorrupt(err) {
			t.Fatalf("cut after %d of %d bytes: %v", n, len(b), err)
		}
		c := bytes.Clone(b)
		c[n] ^= 1
		if _, err := readBytes(c); !isCorrupt(err) {
			t.Fatalf("byte %d changed from %q to %q: %v", n, b[n], c[n], err)
		}
	}
}

func isCorrupt(err error) bool {
	var c *Corrupt
	return errors.As(err, &c)
}

func TestRefusedWithReason(t *testing.T) {
	b := fileOf(t, busySet(3, 2))
	lines := bytes.SplitAfter(b, []byte("\n"))
	join := func(parts ...[]byte) []byte { return bytes.Join(parts, nil) }
	other := fileOf(t, testSet(3))
	for _, c := range []struct {
		say  string
		data []byte
	}{
		{"r: empty", nil},
		{"r: cut short in line 3", b[:len(lines[0])+len(lines[1])+9]},
		{"r: cut short after 2 replications", join(lines[:3]...)},
		{"r: goes on after its closing line 5", join(b, other)},
		{"r: goes on after its closing line 5", join(b, []byte("x"))},
		{"r: damaged: the lines before the last have SHA-256", join(lines[0], lines[1], lines[3], lines[4])},
		{"r: damaged", join(lines[0], bytes.SplitAfter(other, []byte("\n"))[1], lines[2], lines[3], lines[4])},
		{"r: no file of records", []byte("{\"name\": 1}\n")},
		{"r: no file of records", []byte("hello\n")},
		{"r: written in format 9, this program reads format 2", bytes.Replace(b, []byte(`"format":2`), []byte(`"format":9`), 1)},
		{"r: line 1 is damaged", bytes.Replace(b, []byte(`"seed":7`), []byte(`"sead":7`), 1)},
		{"r: line 2 is damaged", bytes.Replace(b, []byte(`"number":0`), []byte(`"nummer":0`), 1)},
	} {
		_, err := readBytes(c.data)
		if !isCorrupt(err) || !strings.HasPrefix(err.Error(), c.say) {
			t.Errorf("error %v, want %q", err, c.say)
		}
	}
	if _, err := Read(fstest.MapFS{}, "r"); err == nil || isCorrupt(err) {
		t.Errorf("no file: %v", err)
	}
}

func TestNothingHalfWritten(t *testing.T) {
	m := newMemory()
	m.fail, m.room = errFull, 5000
	if err := busySet(3, 40).Write(m, "r"); !errors.Is(err, errFull) {
		t.Errorf("error %v, want %v", err, errFull)
	}
	if len(m.files) != 0 || m.discarded != 1 {
		t.Errorf("%d files, %d discarded; want 0 and 1", len(m.files), m.discarded)
	}
	s := busySet(3, 4)
	s.Replications[1].WaitMean = math.NaN()
	m = newMemory()
	if err := s.Write(m, "r"); err == nil || !strings.Contains(err.Error(), "r: record 1 of the set cannot be written") {
		t.Errorf("NaN: error %v", err)
	}
	if len(m.files) != 0 || m.discarded != 1 {
		t.Errorf("NaN: %d files, %d discarded; want 0 and 1", len(m.files), m.discarded)
	}
}

// A writer that is ended early leaves a whole file of fewer replications.
func TestWriterEndedEarly(t *testing.T) {
	s := busySet(5, 3)
	var b bytes.Buffer
	w, err := NewWriter(&b, s.Study, s.Part, s.Header)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 2 {
		if err := w.Append(&s.Replications[i]); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.End(); err != nil {
		t.Fatal(err)
	}
	got, err := readBytes(b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if want := []Range{{2, 5}}; !reflect.DeepEqual(got.Missing(), want) {
		t.Errorf("missing %v, want %v", got.Missing(), want)
	}
	if err := w.Append(&s.Replications[0]); err == nil || !strings.Contains(err.Error(), "0 follows replication 1") {
		t.Errorf("out of order: %v", err)
	}
}
