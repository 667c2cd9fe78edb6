package kernel

// Mix spreads a number over all bits, so that sums of mixed numbers by exclusive or
// tell apart what they are of (the finaliser of SplitMix64: Steele, Lea and Flood,
// OOPSLA 2014).
func Mix(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}
