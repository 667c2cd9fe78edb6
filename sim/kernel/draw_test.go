package kernel

import (
	"fmt"
	"math"
	"math/bits"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// TestPhiloxKnownAnswers: the three answers for philox4x64 with 10 rounds in
// the file kat_vectors of Random123, the library of the authors of the paper
// named at the constants (zeros, ones, and the digits of pi).
func TestPhiloxKnownAnswers(t *testing.T) {
	const ones = math.MaxUint64
	for _, c := range []struct {
		counter [4]uint64
		key     [2]uint64
		want    [4]uint64
	}{
		{
			[4]uint64{}, [2]uint64{},
			[4]uint64{0x16554d9eca36314c, 0xdb20fe9d672d0fdc, 0xd7e772cee186176b, 0x7e68b68aec7ba23b},
		}, {
			[4]uint64{ones, ones, ones, ones}, [2]uint64{ones, ones},
			[4]uint64{0x87b092c3013fe90b, 0x438c3c67be8d0224, 0x9cc7d7c69cd777b6, 0xa09caebf594f0ba0},
		}, {
			[4]uint64{0x243f6a8885a308d3, 0x13198a2e03707344, 0xa4093822299f31d0, 0x082efa98ec4e6c89},
			[2]uint64{0x452821e638d01377, 0xbe5466cf34e90c6c},
			[4]uint64{0xa528f45403e61d95, 0x38c72dbd566e9788, 0xa5a1610e72fd18b5, 0x57bd43b5e52b7fe6},
		},
	} {
		if got := philox(c.counter, c.key); got != c.want {
			t.Errorf("philox(%x, %x) = %x, want %x", c.counter, c.key, got, c.want)
		}
	}
}

// TestDrawGolden freezes the keys and the draws. The values were computed by a
// second program, in Python, from the papers.
func TestDrawGolden(t *testing.T) {
	// FNV-1a of no bytes is its offset; of one part of no bytes, of eight zeros.
	for _, c := range []struct {
		got  Purpose
		want Purpose
	}{
		{PurposeOf(), 0xcbf29ce484222325},
		{PurposeOf(""), 0xa8c7f832281a39c5},
		{PurposeOf("life", "optic-dead"), 0x8bd0d302132b8aa7},
		{PurposeOf("repair", "optic-dead", "lead"), 0x61b032f47d882294},
	} {
		if c.got != c.want {
			t.Errorf("purpose %#x, want %#x", uint64(c.got), uint64(c.want))
		}
	}
	router, link := OwnerOf(1, 2, 7, 0, 0, 0, 0), OwnerOf(1, 2, 7, 2, 2, 3, 1)
	if router != 0x40fa00a369543c15 || link != 0x8b6eb6293ffece0f {
		t.Errorf("owners %#x %#x", uint64(router), uint64(link))
	}
	for _, c := range []struct{ got, want float64 }{
		{Stream{}.Uniform(0, 0, 0), 0x1.6554d9eca3630p-4},
		{NewStream(1, 0).Uniform(PurposeOf("life"), router, 0), 0x1.e28d14d647280p-3},
		{NewStream(1, 1).Uniform(PurposeOf("life"), router, 0), 0x1.d7cb4b1ef0a48p-3},
		{NewStream(1, 1).Uniform(PurposeOf("life"), link, 1), 0x1.8d9d2d1c51ca9p-1},
	} {
		if c.got != c.want {
			t.Errorf("draw %x, want %x", c.got, c.want)
		}
	}
}

// TestOpenUnit: never 0, never 1, 53 bits, and 1-u as good as u.
func TestOpenUnit(t *testing.T) {
	for _, c := range []struct {
		word uint64
		want float64
	}{
		{0, 0x1p-53}, {1<<11 - 1, 0x1p-53}, {1 << 11, 0x1p-53}, {2 << 11, 0x1p-52},
		{1 << 63, 0.5}, {math.MaxUint64, 1 - 0x1p-53},
	} {
		got := openUnit(c.word)
		if got != c.want || got <= 0 || got >= 1 || 1-(1-got) != got {
			t.Errorf("openUnit(%#x) = %v, want %v", c.word, got, c.want)
		}
	}
}

// lane is one way of going from a draw to its neighbour.
type lane struct {
	name string
	draw func(i uint64) float64
}

func lanes() []lane {
	stream, purpose, owner := NewStream(20, 3), PurposeOf("life"), OwnerOf(1, 2, 3, 0, 0, 0, 0)
	return []lane{
		{"index", func(i uint64) float64 { return stream.Uniform(purpose, owner, i) }},
		{"owner", func(i uint64) float64 {
			return stream.Uniform(purpose, OwnerOf(1, uint32(i>>10), uint32(i&1023), 0, 0, 0, 0), 0)
		}},
		{"parallel", func(i uint64) float64 { return stream.Uniform(purpose, OwnerOf(1, 2, 3, 2, 2, 3, uint32(i)), 0) }},
		{"owner number", func(i uint64) float64 { return stream.Uniform(purpose, Owner(i), 0) }},
		{"purpose number", func(i uint64) float64 { return stream.Uniform(Purpose(i), owner, 0) }},
		{"replication", func(i uint64) float64 { return NewStream(20, uint32(i)).Uniform(purpose, owner, 0) }},
		{"seed", func(i uint64) float64 { return NewStream(i, 3).Uniform(purpose, owner, 0) }},
	}
}

// TestDrawUniformity: chi-square over 1,000 cells, and mean and variance.
func TestDrawUniformity(t *testing.T) {
	const n, cells = 200_000, 1000
	law := distuv.ChiSquared{K: cells - 1}
	for _, lane := range lanes() {
		var counts [cells]float64
		sum, squares := 0.0, 0.0
		for i := range uint64(n) {
			u := lane.draw(i)
			counts[int(u*cells)]++
			sum += u
			squares += u * u
		}
		chi := 0.0
		for _, count := range counts {
			chi += (count - n/cells) * (count - n/cells) / (n / cells)
		}
		if p := law.Survival(chi); p < 1e-3 || p > 1-1e-3 {
			t.Errorf("%s: chi-square %v of %d cells, p = %v", lane.name, chi, cells, p)
		}
		zMean := (sum/n - 0.5) * math.Sqrt(12*n)
		zSquare := (squares/n - 1.0/3) * math.Sqrt(n*45.0/4)
		if math.Abs(zMean) > 3.5 || math.Abs(zSquare) > 3.5 {
			t.Errorf("%s: mean off by %.2f, mean square by %.2f standard errors", lane.name, zMean, zSquare)
		}
	}
}

// TestDrawNeighbours: no correlation between a draw and one 1, 2 or 64 places
// on, along every lane, and pairs fill the unit square evenly.
func TestDrawNeighbours(t *testing.T) {
	const n, side = 100_000, 20
	law := distuv.ChiSquared{K: side*side - 1}
	for _, lane := range lanes() {
		for _, distance := range []uint64{1, 2, 64} {
			var counts [side * side]float64
			sum := 0.0
			for i := range uint64(n) {
				// Pairs that do not overlap, as the chi-square asks for.
				first := i/distance*2*distance + i%distance
				u, v := lane.draw(first), lane.draw(first+distance)
				sum += (u - 0.5) * (v - 0.5)
				counts[int(u*side)*side+int(v*side)]++
			}
			if z := sum / n * 12 * math.Sqrt(n); math.Abs(z) > 3.5 {
				t.Errorf("%s: correlation at distance %d is %.2f standard errors", lane.name, distance, z)
			}
			chi := 0.0
			for _, count := range counts {
				const want = float64(n) / (side * side)
				chi += (count - want) * (count - want) / want
			}
			if p := law.Survival(chi); p < 1e-3 || p > 1-1e-3 {
				t.Errorf("%s: pairs at distance %d, chi-square %v, p = %v", lane.name, distance, chi, p)
			}
		}
	}
}

// TestDrawBits: each of the 53 bits is set half of the time.
func TestDrawBits(t *testing.T) {
	const n = 100_000
	for _, lane := range lanes() {
		var set [53]float64
		for i := range uint64(n) {
			word := uint64(lane.draw(i) * 0x1p53)
			for bit := range set {
				set[bit] += float64(word >> bit & 1)
			}
		}
		for bit, count := range set {
			if z := (count - n/2) / math.Sqrt(n/4); math.Abs(z) > 4.5 {
				t.Errorf("%s: bit %d is set %.0f times of %d (%.2f standard errors)", lane.name, bit, count, n, z)
			}
		}
	}
}

// TestDrawAvalanche: flipping any one bit of seed, replication, purpose, owner
// or index, or of the packed fields of an owner, flips half of the result's bits.
func TestDrawAvalanche(t *testing.T) {
	const trials = 400
	flip := func(name string, width int, f func(base, bit uint64) (a, b uint64), out float64) {
		for bit := range uint64(width) {
			flipped := 0
			for base := range uint64(trials) {
				a, b := f(base*0x9E3779B97F4A7C15, 1<<bit)
				flipped += bits.OnesCount64(a ^ b)
			}
			want := trials * out / 2
			if z := (float64(flipped) - want) / math.Sqrt(trials*out/4); math.Abs(z) > 4.5 {
				t.Errorf("%s bit %d: %d of %.0f bits flip (%.2f standard errors)", name, bit, flipped, trials*out, z)
			}
		}
	}
	word := func(u float64) uint64 { return uint64(u * 0x1p53) }
	flip("seed", 64, func(x, bit uint64) (uint64, uint64) {
		return word(NewStream(x, 1).Uniform(2, 3, 4)), word(NewStream(x^bit, 1).Uniform(2, 3, 4))
	}, 53)
	flip("replication", 32, func(x, bit uint64) (uint64, uint64) {
		return word(NewStream(1, uint32(x)).Uniform(2, 3, 4)), word(NewStream(1, uint32(x^bit)).Uniform(2, 3, 4))
	}, 53)
	s := NewStream(5, 6)
	flip("purpose", 64, func(x, bit uint64) (uint64, uint64) {
		return word(s.Uniform(Purpose(x), 3, 4)), word(s.Uniform(Purpose(x^bit), 3, 4))
	}, 53)
	flip("owner", 64, func(x, bit uint64) (uint64, uint64) {
		return word(s.Uniform(2, Owner(x), 4)), word(s.Uniform(2, Owner(x^bit), 4))
	}, 53)
	flip("index", 64, func(x, bit uint64) (uint64, uint64) {
		return word(s.Uniform(2, 3, x)), word(s.Uniform(2, 3, x^bit))
	}, 53)
	for field := range 3 { // of the third, the upper 16 bits are never used
		flip(fmt.Sprintf("owner field %d", field), 64-16*(field/2), func(x, bit uint64) (uint64, uint64) {
			var one, other [3]uint64
			one[field], other[field] = x, x^bit
			return uint64(ownerHash(one)), uint64(ownerHash(other))
		}, 64)
	}
}

// TestDrawNoDuplicates: a million keys that differ in small ways give a million
// draws (two of them alike would happen by chance once in 18,000 runs).
func TestDrawNoDuplicates(t *testing.T) {
	seen := make(map[float64]struct{}, 1<<20)
	for replication := range uint32(4) {
		stream := NewStream(9, replication)
		for purpose := range Purpose(8) {
			for owner := range Owner(1 << 10) {
				for index := range uint64(1 << 5) {
					seen[stream.Uniform(purpose, owner, index)] = struct{}{}
				}
			}
		}
	}
	if len(seen) != 1<<20 {
		t.Errorf("%d distinct draws of %d", len(seen), 1<<20)
	}
}

// TestOwnersNoDuplicates: all routers and directions of a large fabric, the
// numbers of every end beginning at 0.
func TestOwnersNoDuplicates(t *testing.T) {
	seen := make(map[Owner]struct{}, 1<<20)
	count := 0
	add := func(o Owner) { seen[o] = struct{}{}; count++ }
	for first := range uint32(64) {
		for second := range uint32(64) {
			add(OwnerOf(1, first, second, 0, 0, 0, 0))
			add(OwnerOf(2, first, second, 0, 0, 0, 0))
			for far := range uint32(64) {
				add(OwnerOf(1, first, second, 2, first, far, 0))
				add(OwnerOf(2, first, far, 1, first, second, 0))
				add(OwnerOf(1, first, second, 2, first, far, 1))
				add(OwnerOf(2, first, second, 3, second, far, 0))
			}
		}
	}
	if len(seen) != count {
		t.Errorf("%d distinct owners of %d", len(seen), count)
	}
	const message = "kernel: an owner without a class, or a far end without one"
	mustPanic(t, message, func() { OwnerOf(0, 1, 2, 3, 4, 5, 6) })
	mustPanic(t, message, func() { OwnerOf(1, 1, 2, 0, 4, 0, 0) })
	mustPanic(t, message, func() { OwnerOf(1, 1, 2, 0, 0, 0, 1) })
}

func TestPurposeParts(t *testing.T) {
	seen := map[Purpose]string{}
	for _, parts := range [][]string{
		{}, {""}, {"", ""}, {"a"}, {"a", ""}, {"", "a"}, {"ab"}, {"a", "b"}, {"ab", "c"}, {"a", "bc"}, {"abc"}, {"b", "a"},
	} {
		purpose := PurposeOf(parts...)
		if other, ok := seen[purpose]; ok {
			t.Errorf("%q and %s share a purpose", parts, other)
		}
		seen[purpose] = fmt.Sprintf("%q", parts)
	}
}

func BenchmarkUniform(b *testing.B) {
	stream, sum := NewStream(1, 1), 0.0
	b.ReportAllocs()
	for i := range uint64(b.N) {
		sum += stream.Uniform(2, 3, i)
	}
	if b.N > 1000 && math.Abs(sum/float64(b.N)-0.5) > 0.1 {
		b.Fatal("draws are not uniform")
	}
}
