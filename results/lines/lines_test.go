package lines

import (
	"bufio"
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"halflight/sim/record"
)

// lineOf writes a replication as a file of records has it.
func lineOf(t testing.TB, r *record.Replication) []byte {
	t.Helper()
	var line bytes.Buffer
	e := json.NewEncoder(&line)
	e.SetEscapeHTML(false)
	if err := e.Encode(r); err != nil {
		t.Fatal(err)
	}
	return line.Bytes()
}

// filler fills any value by chance.
type filler struct {
	*rand.Rand
	bare int // out of 100 values, so many are zero or empty
}

var (
	wholes  = []int64{0, 1, -1, record.None, 9, 10, 123456789012345, -999999999999999, 1 << 53, 14400000000000, math.MaxInt64, math.MinInt64}
	floats  = []float64{0, math.Copysign(0, -1), 1, -1, 0.1, 1e-7, 5e-324, math.MaxFloat64, 1e21, 1e20, 999999999999999, 9007199254740993, 0.122133943, 1.0 / 3}
	small32 = []float64{0, math.Copysign(0, -1), 1, 9, 10, 0.1, 1e-7, math.SmallestNonzeroFloat32, math.MaxFloat32, 16777217, 1.0 / 3}
	words   = []string{"", "leaf-0-1~spine-0-0", "counters", "a b~c", `with "quotes"`, "back\\slash", "naïve", "<&>", "\x7f\t\u2028"}
)

func pick[T any](f *filler, list []T) T { return list[f.IntN(len(list))] }

func (f *filler) fill(v reflect.Value) {
	bare := f.IntN(100) < f.bare
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			f.fill(v.Field(i))
		}
	case reflect.Slice:
		if bare {
			return
		}
		v.Set(reflect.MakeSlice(v.Type(), f.IntN(5), 5))
		for i := range v.Len() {
			f.fill(v.Index(i))
		}
	case reflect.Pointer:
		if !bare {
			v.Set(reflect.New(v.Type().Elem()))
			f.fill(v.Elem())
		}
	case reflect.String:
		v.SetString(pick(f, words))
	case reflect.Bool:
		v.SetBool(!bare)
	case reflect.Int, reflect.Int32, reflect.Int64:
		n := pick(f, wholes)
		for v.OverflowInt(n) {
			n /= 10
		}
		v.SetInt(n)
	case reflect.Uint8, reflect.Uint32:
		v.SetUint(f.Uint64() >> (64 - v.Type().Bits()))
	case reflect.Float64:
		v.SetFloat(pick(f, floats))
		if f.IntN(2) == 0 {
			v.SetFloat(math.Ldexp(f.Float64(), f.IntN(80)-40))
		}
	case reflect.Float32:
		v.SetFloat(pick(f, small32))
		if f.IntN(2) == 0 {
			v.SetFloat(float64(f.Float32()))
		}
	default:
		panic("a kind of value that no record had: " + v.Kind().String())
	}
}

// same reports whether two replications are, to the bit and to the empty list.
func same(a, b *record.Replication) bool {
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b) // tells the two zeros apart, and a list from none but where it is left out
	return errX == nil && errY == nil && bytes.Equal(x, y) && reflect.DeepEqual(a, b)
}

// The quick way reads all that a record can hold as encoding/json does. It fails
// with a key that it does not know: a new one is to be added to it.
func TestQuickAsPlain(t *testing.T) {
	var read [2]Reader // of many lines, as in a file
	read[1].Lean = true
	quick := 0
	for n := range 4000 {
		f := &filler{rand.New(rand.NewPCG(1, uint64(n))), []int{0, 30, 100}[n%3]}
		var r record.Replication
		f.fill(reflect.ValueOf(&r).Elem())
		line := lineOf(t, &r)
		for i := range read {
			var got, want record.Replication
			if err := plain(line, read[i].Lean, &want); err != nil {
				t.Fatal(err)
			}
			ok := read[i].quick(line, &got)
			if ok {
				quick++
			}
			if ok && !same(&got, &want) {
				t.Fatalf("lean %v: of\n%s\nread\n%+v\nnot\n%+v", read[i].Lean, line, got, want)
			}
			if ordinary(&r) && !ok {
				t.Fatalf("lean %v: not read by the quick way:\n%s", read[i].Lean, line)
			}
			var whole record.Replication
			if err := read[i].Read(line, &whole); err != nil || !same(&whole, &want) {
				t.Fatalf("lean %v: Read says %v of\n%s", read[i].Lean, err, line)
			}
		}
	}
	if quick < 2000 {
		t.Errorf("only %d of 8000 lines were read by the quick way", quick)
	}
}

// ordinary says whether all words of a replication are of plain characters.
func ordinary(r *record.Replication) bool {
	plain := func(s string) bool {
		for _, c := range []byte(s) {
			if c < ' ' || c > '~' || c == '"' || c == '\\' {
				return false
			}
		}
		return true
	}
	for i := range r.Faults {
		if !plain(r.Faults[i].On) || !plain(r.Faults[i].SightedBy) {
			return false
		}
	}
	for i := range r.Older {
		if !plain(r.Older[i].On) {
			return false
		}
	}
	return true
}

// hold holds the quick way against the plain one with any line.
func hold(t *testing.T, line []byte) (taken bool) {
	for _, lean := range []bool{false, true} {
		d := Reader{Lean: lean}
		var got, want record.Replication
		if !d.quick(line, &got) {
			continue
		}
		taken = true
		if err := plain(line, lean, &want); err != nil || !same(&got, &want) {
			t.Fatalf("lean %v: the quick way takes\n%q\nas\n%+v\nthe plain one says %v and\n%+v", lean, line, got, err, want)
		}
	}
	return taken
}

// What was altered is read as encoding/json reads it, or left to it.
func TestQuickTakesNothingElse(t *testing.T) {
	f := &filler{rand.New(rand.NewPCG(2, 2)), 20}
	bits := []string{"", "0", "-", "+", ".", "e", ",", "[", "]", "{", "}", `"`, " ", "\n", "null", "1e999", "00", "-0", "1.", ".5", "0x1", "1_0", "Inf", "é", "\\u0041", ":", "4294967296", "1e3", "2147483648", "99999999999999999999"}
	taken := 0
	for n := range 30000 {
		var r record.Replication
		f.fill(reflect.ValueOf(&r).Elem())
		line := lineOf(t, &r)
		for range 1 + n%2 {
			from := f.IntN(len(line))
			to := min(len(line), from+f.IntN(3))
			line = append(append(append([]byte(nil), line[:from]...), pick(f, bits)...), line[to:]...)
		}
		if hold(t, line) {
			taken++
		}
	}
	if taken < 100 {
		t.Errorf("only %d altered lines were taken: the test asks little", taken)
	}
}

// FuzzQuick is the same with lines that a fuzzer finds.
func FuzzQuick(f *testing.F) {
	for n := range 20 {
		fill := &filler{rand.New(rand.NewPCG(3, uint64(n))), 40}
		var r record.Replication
		fill.fill(reflect.ValueOf(&r).Elem())
		f.Add(lineOf(f, &r))
	}
	f.Fuzz(func(t *testing.T, line []byte) { hold(t, line) })
}

// Lists share memory, and none reaches into the next.
func TestListsAreApart(t *testing.T) {
	var d Reader
	var first, second, whole record.Replication
	r := record.Replication{Present: []float64{1, 2}, Unseen: []float64{3}}
	for _, to := range []*record.Replication{&first, &second, &whole} {
		if err := d.Read(lineOf(t, &r), to); err != nil {
			t.Fatal(err)
		}
	}
	first.Present = append(first.Present, 99)
	if first.Unseen[0] != 3 || !same(&second, &whole) {
		t.Error("what was added to a list is in another")
	}
}

// Numbers that round in ways of their own: each is read as strconv does.
func TestShortNumbers(t *testing.T) {
	for _, text := range []string{"0", "-0", "7", "123456789012345", "-123456789012345", "1234567890123456", "0.5", "-0.0", "1e2", "1E+2", "1e-400"} {
		want := 0.0
		if err := json.Unmarshal([]byte(text), &want); err != nil {
			t.Fatal(err)
		}
		c := cursor{line: []byte(text + ",")}
		if got := c.float(); c.lost || math.Float64bits(got) != math.Float64bits(want) || c.peek() != ',' {
			t.Errorf("%s is read as %v, lost %v", text, got, c.lost)
		}
	}
	for _, text := range []string{"", "-", "01", ".5", "5.", "1e", "+1", "1e999"} {
		c := cursor{line: []byte(text + ",")}
		if v := c.float(); !c.lost && c.peek() == ',' {
			t.Errorf("%q is taken for %v", text, v)
		}
	}
}

// Lines of every length, about that of the buffer too, are as bufio's own reader of
// whole lines has them.
func TestSource(t *testing.T) {
	var text []byte
	for _, n := range []int{0, 1, 65534, 65535, 65536, 65537, 3, 131072, 200000, 0} {
		text = append(append(text, bytes.Repeat([]byte{byte('a' + n%7)}, n)...), '\n')
	}
	for _, end := range []string{"", "cut short", string(bytes.Repeat([]byte("z"), 70000))} {
		whole := append(bytes.Clone(text), end...)
		s, twin := SourceOf(bytes.NewReader(whole)), bufio.NewReader(bytes.NewReader(whole))
		for {
			got, err := s.Next()
			want, wantErr := twin.ReadBytes('\n')
			if !bytes.Equal(got, want) || err != wantErr {
				t.Fatalf("%d bytes and %v, want %d and %v", len(got), err, len(want), wantErr)
			}
			if err != nil {
				break
			}
		}
	}
}

func BenchmarkRead(b *testing.B) {
	f := &filler{rand.New(rand.NewPCG(4, 4)), 20}
	var r record.Replication
	for ok := false; !ok; ok = ordinary(&r) && len(r.Faults) > 0 {
		r = record.Replication{}
		f.fill(reflect.ValueOf(&r).Elem())
	}
	r.Series.Lost = make([]float32, 720)
	line := lineOf(b, &r)
	b.Run("quick", func(b *testing.B) {
		var d Reader
		b.SetBytes(int64(len(line)))
		for b.Loop() {
			var one record.Replication
			if !d.quick(line, &one) {
				b.Fatal("not read")
			}
		}
	})
	b.Run("plain", func(b *testing.B) {
		b.SetBytes(int64(len(line)))
		for b.Loop() {
			var one record.Replication
			if err := plain(line, false, &one); err != nil {
				b.Fatal(err)
			}
		}
	})
}
