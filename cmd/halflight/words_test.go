package main

import "testing"

// Figures worked by hand.
func TestFigures(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{figure(0, 3), "0"}, {figure(1234567, 3), "1,234,567"}, {figure(87.6, 4), "87.6"}, {figure(999.96, 4), "1,000"},
		{figure(0.0123456, 3), "0.0123"}, {figure(0.000123456, 3), "1.23e-4"}, {figure(-1234, 3), "-1,234"},
		{figure(2.5e12, 3), "2.50e12"}, {figure(9.999, 3), "10"},
		{share(0.025), "2.5 %"}, {share(1), "100 %"}, {share(0), "0 %"}, {share(1.0 / 3), "33.3 %"}, {share(1.0 / 1800), "0.0556 %"},
		{share(2e-7), "2.00e-5 %"}, {share(0.9999), "100 %"},
		{period(87.6), "87.6 h"}, {period(5.475), "5.475 h"}, {period(1.0 / 3600), "1 s"}, {period(20 * 8760), "20 y"},
		{period(100.0 / 3.6e6), "100 ms"}, {period(240), "10 d"}, {period(1.5), "90 min"},
		{clock(10_030_000_000, false), "00:00:10.030"}, {clock(90_061_000_000_001, true), "1d 01:01:01.000000001"},
		{many(1, "link"), "1 link"}, {many(1500, "link"), "1,500 links"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}
