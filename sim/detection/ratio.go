package detection

import "halflight/sim/kernel"

// ratios are bit error ratios before correction and what share of frames of
// 1,500 bytes they lose: a frame lies on 1 + 12000/5140 codewords of RS(544,514)
// on average, the code of IEEE 802.3 for 100 Gb/s and more over optics; bits are
// wrong independently, which bursts make worse. By the exact sum that
// model/reliability has.
var ratios = [...]struct{ ratio, lost float64 }{
	{2e-4, 1.79733e-13}, {3e-4, 7.14684e-11}, {4e-4, 4.32104e-09}, {5e-4, 9.31223e-08}, {7e-4, 7.48811e-06},
	{1e-3, 5.10194e-4}, {1.5e-3, 2.87883e-2}, {2e-3, 0.241065}, {3e-3, 0.927582},
}

// healthyRatio is the error ratio before correction of a sound receiver:
// assumed, four decades below what the correction is made for.
const healthyRatio = 1e-8

// ratio returns the error ratio before correction of a receiver that loses this
// share of its frames, above 0: between the rows of the table by interpolation of
// logarithms, the last row beyond it.
func ratio(lost float64) float64 {
	if lost <= ratios[0].lost {
		return ratios[0].ratio
	}
	for i := 1; i < len(ratios); i++ {
		if a, b := ratios[i-1], ratios[i]; lost <= b.lost {
			t := kernel.Log(lost/a.lost) / kernel.Log(b.lost/a.lost)
			return float64(a.ratio * kernel.Exp(float64(t*kernel.Log(b.ratio/a.ratio))))
		}
	}
	return ratios[len(ratios)-1].ratio
}
