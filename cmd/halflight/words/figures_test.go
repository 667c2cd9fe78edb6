package words

import "testing"

// Figures worked by hand.
func TestFigures(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{Figure(0, 3), "0"}, {Figure(1234567, 3), "1,234,567"}, {Figure(87.6, 4), "87.6"}, {Figure(999.96, 4), "1,000"},
		{Figure(0.0123456, 3), "0.0123"}, {Figure(0.000123456, 3), "1.23e-4"}, {Figure(-1234, 3), "-1,234"},
		{Figure(2.5e12, 3), "2.50e12"}, {Figure(9.999, 3), "10"},
		{Share(0.025), "2.5 %"}, {Share(1), "100 %"}, {Share(0), "0 %"}, {Share(1.0 / 3), "33.3 %"}, {Share(1.0 / 1800), "0.0556 %"},
		{Share(2e-7), "2.00e-5 %"}, {Share(0.9999), "100 %"},
		{Period(87.6), "87.6 h"}, {Period(5.475), "5.475 h"}, {Period(1.0 / 3600), "1 s"}, {Period(20 * 8760), "20 y"},
		{Period(100.0 / 3.6e6), "100 ms"}, {Period(240), "10 d"}, {Period(1.5), "90 min"},
		{Clock(10_030_000_000, false), "00:00:10.030"}, {Clock(90_061_000_000_001, true), "1d 01:01:01.000000001"},
		{Many(1, "link"), "1 link"}, {Many(1500, "link"), "1,500 links"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}
