package reliability

import "math"

// BlockCode is a Reed-Solomon code: blocks of Symbols symbols of Bits bits each, Data of them payload.
type BlockCode struct{ Symbols, Data, Bits int }

// The two codes of IEEE 802.3 clause 91: 15 and 7 symbols corrected.
var (
	RS544 = BlockCode{Symbols: 544, Data: 514, Bits: 10}
	RS528 = BlockCode{Symbols: 528, Data: 514, Bits: 10}
)

// Corrects is the number of wrong symbols in one block that the code mends.
func (c BlockCode) Corrects() int { return (c.Symbols - c.Data) / 2 }

// CodewordFailure is the probability that a block has more wrong symbols than the code mends, bits wrong independently
// with probability ber (the error rate before correction). Real links with error bursts do worse.
func (c BlockCode) CodewordFailure(ber float64) float64 {
	require(c.Bits >= 1 && c.Data >= 1 && c.Symbols >= c.Data, "a block code needs bits and data of at least 1 and symbols for its data")
	require(ber >= 0 && ber <= 1, "a bit error rate lies from 0 to 1")
	wrong := TailAmplification(ber, c.Bits)
	right := math.Exp(float64(c.Bits) * math.Log1p(-ber))
	return binomialTail(c.Corrects()+1, c.Symbols, wrong, right)
}
