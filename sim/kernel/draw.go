package kernel

// Stream gives the random draws of one replication. It has no state: a draw is
// a function of (study seed, replication, purpose, owner, index) and of nothing
// else, so it does not matter who draws first, or whether others draw at all.
// That is what keeps every other draw the same when one thing is changed.
//
// The zero Stream is that of seed 0, replication 0.
type Stream struct {
	key [2]uint64
}

// NewStream returns the stream of a replication of a study. Streams of
// different (seed, replication) have different generator keys.
func NewStream(seed uint64, replication uint32) Stream {
	return Stream{key: [2]uint64{seed, uint64(replication)}}
}

// Uniform returns a number of the open interval (0, 1): a multiple of 2^-53,
// never 0 and never 1, so that 1-u is exact as well.
//
// Purpose, owner and index are the counter of the generator; draws of one
// stream at different triples are different outputs of a bijection.
func (s Stream) Uniform(purpose Purpose, owner Owner, index uint64) float64 {
	words := philox([4]uint64{index, uint64(owner), uint64(purpose), 0}, s.key)
	return openUnit(words[0])
}

// openUnit maps the upper 53 bits of a word into (0, 1). The one word in 2^53
// that would give 0 gives the least value instead.
func openUnit(word uint64) float64 {
	return float64(max(word>>11, 1)) * 0x1p-53
}

// Purpose says what a draw is for, such as the life of a named failure.
type Purpose uint64

// PurposeOf hashes the parts of a purpose, each with its length before it so
// that ("ab", "c") and ("a", "bc") differ: FNV-1a of 64 bits (RFC 9923) over,
// for each part, its length as eight bytes, least significant first, and its
// bytes. The values are frozen: changing them changes every result.
func PurposeOf(parts ...string) Purpose {
	const offset, prime = 0xcbf29ce484222325, 0x100000001b3
	hash := uint64(offset)
	for _, part := range parts {
		for shift := 0; shift < 64; shift += 8 {
			hash = (hash ^ uint64(len(part))>>shift&0xff) * prime
		}
		for i := range len(part) {
			hash = (hash ^ uint64(part[i])) * prime
		}
	}
	return Purpose(hash)
}

// Owner says whose draw it is: a part of the fabric by what it is, not by its
// place in an array nor by its padded name, so that adding parts leaves the
// draws of the others.
type Owner uint64

// ownerKey sets owners apart from draws: the first bits of pi, as in the known
// answers of the generator's authors.
var ownerKey = [2]uint64{0x243f6a8885a308d3, 0x13198a2e03707344}

// OwnerOf hashes what a part is: its class and two numbers, and for a link or
// a direction those of its far end and the index among parallel ones. Classes
// begin at 1; class 0 stands for "no far end", with zeros beside it, so that a
// part is never taken for a link to the first part of some class. It panics if
// that is not so.
//
// Two of n parts share an owner with probability n^2/2^65: below 3e-9 for
// 300,000 links. The values are frozen.
func OwnerOf(class uint8, first, second uint32, farClass uint8, farFirst, farSecond, parallel uint32) Owner {
	if class == 0 || farClass == 0 && (farFirst|farSecond|parallel) != 0 {
		panic("kernel: an owner without a class, or a far end without one")
	}
	return ownerHash([3]uint64{
		uint64(first)<<32 | uint64(second),
		uint64(farFirst)<<32 | uint64(farSecond),
		uint64(class)<<40 | uint64(farClass)<<32 | uint64(parallel),
	})
}

// ownerHash scrambles the packed fields of an owner.
func ownerHash(fields [3]uint64) Owner {
	return Owner(philox([4]uint64{fields[0], fields[1], fields[2], 0}, ownerKey)[0])
}
