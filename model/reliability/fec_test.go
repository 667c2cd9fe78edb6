package reliability

import (
	"fmt"
	"math/big"
	"testing"
)

// Codeword failure under independent bit errors, a calculation printed to two digits; IEEE 802.3 clause 91 codes. At 7e-4
// the print says 2.3e-6, 2.246e-6 rounded twice: corrected here, the exact sum below agrees.
func TestCodewordFailure(t *testing.T) {
	if RS544.Corrects() != 15 || RS528.Corrects() != 7 {
		t.Fatalf("corrected symbols %d and %d, want 15 and 7", RS544.Corrects(), RS528.Corrects())
	}
	for _, c := range []struct {
		code BlockCode
		ber  float64
		want string
	}{
		{RS544, 2.4e-4, "8e-13"}, {RS544, 3e-4, "2e-11"}, {RS544, 4e-4, "1.3e-09"}, {RS544, 5e-4, "2.8e-08"}, {RS544, 7e-4, "2.2e-06"},
		{RS544, 1e-3, "1.5e-04"}, {RS528, 1e-4, "8.9e-08"}, {RS528, 2e-4, "1.4e-05"}, {RS528, 3e-4, "2.3e-04"},
	} {
		digits := 0
		if len(c.want) == 7 {
			digits = 1
		}
		if got := fmt.Sprintf("%.*e", digits, c.code.CodewordFailure(c.ber)); got != c.want {
			t.Errorf("%+v at %g: %s, want %s", c.code, c.ber, got, c.want)
		}
	}
	// A bit error rate of 1e-12 loses 1.2e-8 of frames of 1,500 bytes (closed form: 1 - (1 - 1e-12)^12,000).
	if got := fmt.Sprintf("%.1e", TailAmplification(1e-12, 8*1500)); got != "1.2e-08" {
		t.Errorf("frame loss %s, want 1.2e-08", got)
	}
}

// Second method: the sum in 300 bits, the symbol's probability too.
func TestCodewordFailureExact(t *testing.T) {
	for _, c := range []BlockCode{RS544, RS528, {Symbols: 15, Data: 11, Bits: 4}} {
		for _, ber := range []float64{1e-7, 2.4e-4, 1e-3, 0.01} {
			one := big.NewFloat(1).SetPrec(300)
			right := powers(new(big.Float).SetPrec(300).Sub(one, big.NewFloat(ber)), c.Bits, 300)[c.Bits]
			wrong := powers(new(big.Float).SetPrec(300).Sub(one, right), c.Symbols, 300)
			kept := powers(right, c.Symbols, 300)
			sum := new(big.Float).SetPrec(300)
			for x := c.Corrects() + 1; x <= c.Symbols; x++ {
				term := new(big.Float).SetPrec(300).SetInt(new(big.Int).Binomial(int64(c.Symbols), int64(x)))
				term.Mul(term, wrong[x])
				sum.Add(sum, term.Mul(term, kept[c.Symbols-x]))
			}
			want, _ := sum.Float64()
			within(t, fmt.Sprintf("%+v at %g", c, ber), c.CodewordFailure(ber), want, 1e-11)
		}
	}
}
