package kernel

import "math/bits"

// Constants of Philox4x64-10: multipliers and key increments (the golden ratio
// and the square root of three less one), from Salmon, Moraes, Dror and Shaw,
// "Parallel random numbers: as easy as 1, 2, 3", SC11, 2011,
// doi:10.1145/2063384.2063405. Ten rounds are the authors' choice; seven are
// the fewest that pass their battery.
const (
	philoxMultiplier0 = 0xD2E7470EE14C6C93
	philoxMultiplier1 = 0xCA5A826395121157
	philoxWeyl0       = 0x9E3779B97F4A7C15
	philoxWeyl1       = 0xBB67AE8584CAA73B
	philoxRounds      = 10
)

// philox scrambles a counter of four words under a key of two. For one key it
// is a bijection of counters, so distinct counters never meet.
func philox(counter [4]uint64, key [2]uint64) [4]uint64 {
	a, b, c, d := counter[0], counter[1], counter[2], counter[3]
	k, l := key[0], key[1]
	for range philoxRounds {
		highA, lowA := bits.Mul64(philoxMultiplier0, a)
		highC, lowC := bits.Mul64(philoxMultiplier1, c)
		a, b, c, d = highC^b^k, lowC, highA^d^l, lowA
		k += philoxWeyl0
		l += philoxWeyl1
	}
	return [4]uint64{a, b, c, d}
}
