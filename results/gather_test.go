package results

import (
	"bytes"
	"encoding/json"
	"errors"
	"testing"
	"testing/fstest"

	"halflight/sim/record"
)

// filesOf puts sets into files.
func filesOf(t *testing.T, sets map[string]*Set) fstest.MapFS {
	t.Helper()
	files := fstest.MapFS{}
	for name, s := range sets {
		files[name] = &fstest.MapFile{Data: fileOf(t, s)}
	}
	return files
}

// Files in any order, with parts that overlap, make the file that the whole set
// would have made, and the same summary.
func TestMergeFiles(t *testing.T) {
	whole := grown(12, func(day int) float64 { return float64(day) })
	files := filesOf(t, map[string]*Set{"a": part(whole, 7, 12), "b": part(whole, 0, 6), "c": part(whole, 2, 4), "d": part(whole, 4, 9)})
	got, _, err := MergeFiles(files, []string{"a", "b", "c", "d"}, inTurn)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Missing()) != 0 || len(got.Replications[3].Series.Lost) != 0 || len(got.Replications[3].Series.Gray) == 0 {
		t.Errorf("missing %v, series %+v", got.Missing(), got.Replications[3].Series)
	}
	if !bytes.Equal(fileOf(t, got), fileOf(t, whole)) {
		t.Error("the file is another one")
	}
	var a, b bytes.Buffer
	if err := Summarise(got, Options{}).WriteJSON(&a); err != nil {
		t.Fatal(err)
	}
	if err := Summarise(whole, Options{}).WriteJSON(&b); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("the summary is another one")
	}
	// A file that is changed between reading and writing is noticed.
	files["b"].Data = bytes.Replace(files["b"].Data, []byte(`"spf_runs":0`), []byte(`"spf_runs":7`), 1)
	var corrupt *Corrupt
	if err := got.Write(newMemory(), "r"); !errors.As(err, &corrupt) || corrupt.Name != "b" {
		t.Errorf("changed meanwhile: %v", err)
	}
	if _, _, err := MergeFiles(files, []string{"a", "b"}, inTurn); !errors.As(err, &corrupt) {
		t.Errorf("changed before: %v", err)
	}
}

// inTurn does pieces of work one after the other.
func inTurn(n int, piece func(i int) error) error {
	for i := range n {
		if err := piece(i); err != nil {
			return err
		}
	}
	return nil
}

// Files that follow one another are joined in the block that they were read into,
// whatever they are named; all others are copied, and come to the same.
func TestMergeInPlace(t *testing.T) {
	whole := grown(12, func(day int) float64 { return float64(day) })
	short := part(whole, 0, 6)
	short.Replications = short.Replications[:4]
	for _, c := range []struct {
		name    string
		parts   []*Set
		inPlace bool
	}{
		{"one", []*Set{part(whole, 0, 12)}, true},
		{"in turn", []*Set{part(whole, 0, 5), part(whole, 5, 12)}, true},
		{"the other way round", []*Set{part(whole, 9, 12), part(whole, 4, 9), part(whole, 0, 4)}, true},
		{"with one that is empty", []*Set{part(whole, 0, 5), part(whole, 5, 5), part(whole, 5, 12)}, true},
		{"twice", []*Set{part(whole, 0, 12), part(whole, 0, 12)}, false},
		{"overlapping", []*Set{part(whole, 0, 7), part(whole, 6, 12)}, false},
		{"one within another", []*Set{part(whole, 0, 12), part(whole, 3, 4)}, false},
		{"not filled", []*Set{short, part(whole, 4, 12)}, false},
	} {
		files, names := fstest.MapFS{}, []string(nil)
		for i, s := range c.parts {
			names = append(names, string(rune('a'+i)))
			files[names[i]] = &fstest.MapFile{Data: fileOf(t, s)}
		}
		got, _, err := MergeFiles(files, names, inTurn)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if want := len(whole.Replications); len(got.Replications) != want || got.Complete() != nil {
			t.Errorf("%s: %d replications, want %d; %v", c.name, len(got.Replications), want, got.Complete())
		}
		if !bytes.Equal(fileOf(t, got), fileOf(t, whole)) {
			t.Errorf("%s: the file is another one", c.name)
		}
		sets, room := make([]*Set, len(names)), roomFor(files, names)
		for i, name := range names {
			sets[i], err = read(files, name, func(r *reader) (*Set, error) {
				r.place = room.places[i]
				return r.set()
			})
			if err != nil {
				t.Fatal(err)
			}
		}
		if in := room.joined(sets); (in != nil) != c.inPlace {
			t.Errorf("%s: in place: %v", c.name, in != nil)
		}
	}
}

// A file that says it holds more than it can is given no more room than it has
// bytes for, and what does not fit its place is read all the same.
func TestRoomIsBounded(t *testing.T) {
	whole := grown(6, func(day int) float64 { return float64(day) })
	greedy := part(whole, 0, 3)
	greedy.Study.Asked, greedy.Part.To = 4_000_000_000, 4_000_000_000
	files := filesOf(t, map[string]*Set{"a": greedy})
	if n := len(roomFor(files, []string{"a", "gone"}).block); n > len(files["a"].Data)/lineLeast {
		t.Errorf("room for %d in %d bytes", n, len(files["a"].Data))
	}
	s, err := read(files, "a", func(r *reader) (*Set, error) {
		r.place = make([]record.Replication, 0, 1)
		return r.set()
	})
	if err != nil || len(s.Replications) != 3 {
		t.Errorf("%v", err)
	}
	if line, err := json.Marshal(record.Replication{}); err != nil || len(line) <= lineLeast {
		t.Errorf("the shortest line has %d bytes, %v", len(line), err)
	}
}

// Verify finds every cut and every changed byte, without making records.
func TestVerify(t *testing.T) {
	b := fileOf(t, part(busySet(4, 1), 1, 3))
	check := func(b []byte) (*Set, int, error) {
		return Verify(fstest.MapFS{"r": &fstest.MapFile{Data: b}}, "r")
	}
	s, n, err := check(b)
	if err != nil || n != 2 || s.Part != (Range{1, 3}) || len(s.Replications) != 0 {
		t.Fatalf("%+v, %d, %v", s, n, err)
	}
	for i := range b {
		if _, _, err := check(b[:i]); !isCorrupt(err) {
			t.Fatalf("cut after %d bytes: %v", i, err)
		}
		c := bytes.Clone(b)
		c[i] ^= 1
		if _, _, err := check(c); !isCorrupt(err) {
			t.Fatalf("byte %d changed: %v", i, err)
		}
	}
}
