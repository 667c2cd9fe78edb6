package stat

import "math/bits"

// draw is a counter-based stream: value k of seed s is the same however many
// other values were asked for, on any machine. The mixing function is that of
// SplitMix64 (Steele, Lea and Flood, OOPSLA 2014, with Stafford's variant 13),
// whose k-th output this is.
type draw struct{ seed uint64 }

// at returns 64 random bits for counter k, from 0.
func (d draw) at(k uint64) uint64 {
	z := d.seed + (k+1)*0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// below returns a whole number from 0 to n-1 for counter k. The bias of the
// multiplication, at most n/2^64, is far below anything a bootstrap can see.
func (d draw) below(k uint64, n int) int {
	high, _ := bits.Mul64(d.at(k), uint64(n))
	return int(high)
}
