package results

import (
	"bytes"
	"errors"
	"testing"
	"testing/fstest"
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
	seen := 0
	got, _, err := MergeFiles(files, []string{"a", "b", "c", "d"}, func(done, all int) { seen = done })
	if err != nil || seen != 4 {
		t.Fatal(seen, err)
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
	if _, _, err := MergeFiles(files, []string{"a", "b"}, nil); !errors.As(err, &corrupt) {
		t.Errorf("changed before: %v", err)
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
