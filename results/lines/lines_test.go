package lines

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
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

// All that a record can hold is read back as it was written, by lean reading but for the
// lost share by slot.
func TestReadBack(t *testing.T) {
	for n := range 4000 {
		f := &filler{rand.New(rand.NewPCG(1, uint64(n))), []int{0, 30, 100}[n%3]}
		var r, whole, lean record.Replication
		f.fill(reflect.ValueOf(&r).Elem())
		line := lineOf(t, &r)
		if err := errors.Join(Read(line, false, &whole), Read(line, true, &lean)); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(lineOf(t, &whole), line) {
			t.Fatalf("of\n%s\nread\n%+v", line, whole)
		}
		if whole.Series.Lost = nil; !same(&lean, &whole) {
			t.Fatalf("lean, of\n%s\nread\n%+v", line, lean)
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
