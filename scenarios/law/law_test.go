package law

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"halflight/scenarios/outline"
)

// Laws, each in its families and forms.
func TestLaws(t *testing.T) {
	day := 86400e9
	for _, c := range []struct {
		q    *Quantity
		text string
		want Distribution
	}{
		{&Lifetimes, "{exponential: {mean: 300y}}", Distribution{Family: Exponential, Mean: 300 * 365 * day}},
		{&Lifetimes, "{weibull: {shape: 0.7, mean: 1d}}", Distribution{Family: Weibull, Shape: 0.7, Mean: day}},
		{&Lifetimes, "{weibull: {shape: 2, scale: 1d}}", Distribution{Family: Weibull, Shape: 2, Scale: day}},
		{&Durations, "{lognormal: {median: 2d, sigma: 0.75}}", Distribution{Family: Lognormal, Median: 2 * day, Sigma: 0.75}},
		{&Durations, "{lognormal: {mean: 2d, sigma: 1}}", Distribution{Family: Lognormal, Mean: 2 * day, Sigma: 1}},
		{&Durations, "60s", Distribution{Low: 60e9, High: 60e9}},
		{&Durations, "{fixed: 0s}", Distribution{}},
		{&Durations, "{uniform: {low: 0s, high: 1d}}", Distribution{Family: Uniform, High: day}},
		{&Shares, "{loguniform: {low: 1e-5, high: 5%}}", Distribution{Family: Loguniform, Low: 1e-5, High: 0.05}},
		{&Shares, "2%", Distribution{Low: 0.02, High: 0.02}},
		{&Shares, "{table: [1%, 3%]}", Distribution{Family: Table, Bins: []Bin{{0.5, 0.01, 0.01}, {0.5, 0.03, 0.03}}}},
		{&Shares, "{table: [{share: 60%, low: 1e-8, high: 1e-5}, {share: 0.4, value: 1}]}",
			Distribution{Family: Table, Bins: []Bin{{0.6, 1e-8, 1e-5}, {0.4, 1, 1}}}},
		{&Counts, "{geometric: {mean: 5.5}}", Distribution{Family: Geometric, Mean: 5.5}},
		{&Sizes, "{uniform: {low: 500, high: 1500B}}", Distribution{Family: Uniform, Low: 500, High: 1500}},
	} {
		text := outline.Read("x.yaml", []byte("law: "+c.text), nil, &outline.Grammar{})
		var d *Distribution
		if Read(text.Root(), "law", &d, c.q); d == nil || text.Problems.Any() {
			t.Errorf("%s: %s", c.text, text.Problems)
		} else if diff := cmp.Diff(c.want, *d); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.text, diff)
		}
	}
}
