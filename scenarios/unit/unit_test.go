package unit

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"halflight/scenarios/wording"
)

// Durations in nanoseconds, by hand. A year is 365 days, 8,760 h.
func TestDurations(t *testing.T) {
	const h = int64(3600e9)
	for text, want := range map[string]int64{
		"0s": 0, "1ns": 1, "1us": 1000, "50ms": 50e6, "1s": 1e9, "1min": 60e9, "1h": h, "1d": 24 * h, "1w": 168 * h, "1y": 8760 * h,
		"90d": 2160 * h, "1.5h": h + h/2, "1h30min": h + h/2, "1h 30min": h + h/2, "2 h": 2 * h, "1e3s": 1000e9, "1e-4s": 100_000,
		"2.5us": 2500, "1d12h": 36 * h, "0.1y": 876 * h, "292y": 292 * 8760 * h, "1s500ms": 1_500_000_000, "0.000000001s": 1,
		"1y1w1d1h1min1s1ms1us1ns": 8760*h + 168*h + 24*h + h + 60e9 + 1e9 + 1e6 + 1e3 + 1,
	} {
		if got, err := ParseDuration(text); err != nil || int64(got) != want {
			t.Errorf("%s is %d ns, want %d (%v)", text, int64(got), want, err)
		}
	}
	for _, text := range []string{"", " ", "5", "5m", "5M", "h", "1 h 30", "1h1h", "1min1h", "-1s", "+1s", "1_000s", "0x10s", "1,5h",
		"1e400s", ".5s", "5.s", "1sec", "infs", "nan", "293y", "1.5ns", "1h-5min", "١s"} {
		if got, err := ParseDuration(text); err == nil {
			t.Errorf("%q was read as %v", text, got)
		}
	}
	if _, err := ParseDuration("5m"); !strings.Contains(err.Error(), "minutes or months") {
		t.Errorf("the hint for 5m: %v", err)
	}
}

// What String writes, ParseDuration reads.
func TestDurationRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := Duration(rapid.Int64Range(0, math.MaxInt64).Draw(t, "ns"))
		if got, err := ParseDuration(want.String()); err != nil || got != want {
			t.Fatalf("%d ns is written %s and read %d (%v)", want, want, got, err)
		}
	})
	for d, want := range map[Duration]string{0: "0s", 5400e9: "1h30min", 250_000: "250us", 90 * 86400e9: "90d",
		math.MinInt64: "-292y171d23h47min16s854ms775us808ns"} {
		if d.String() != want {
			t.Errorf("%d ns is written %s, want %s", d, d, want)
		}
	}
}

// Rates per second, shares, speeds and sizes, by hand; the nearest float64 is demanded.
func TestOtherUnits(t *testing.T) {
	for _, c := range []struct {
		kind  string
		parse func(string) (float64, *wording.Fault)
		text  string
		want  float64
	}{
		{"rate", ParseRate, "10/s", 10}, {"rate", ParseRate, "2e-4/d", 2e-4 / 86400}, {"rate", ParseRate, "1/24h", 1.0 / 86400},
		{"rate", ParseRate, "1/30min", 1.0 / 1800}, {"rate", ParseRate, "3 / y", 3.0 / 31_536_000}, {"rate", ParseRate, "1/1h30min", 1.0 / 5400},
		{"share", ParseShare, "0.025", 0.025}, {"share", ParseShare, "2.5%", 0.025}, {"share", ParseShare, "100%", 1},
		{"share", ParseShare, "1e-4", 1e-4}, {"share", ParseShare, "0", 0}, {"share", ParseShare, "0.7%", 0.007},
		{"speed", ParseSpeed, "400Gb/s", 4e11}, {"speed", ParseSpeed, "1.6 Tb/s", 1.6e12}, {"speed", ParseSpeed, "9600b/s", 9600},
		{"size", ParseBytes, "1500", 1500}, {"size", ParseBytes, "1500B", 1500}, {"size", ParseBytes, "9kB", 9000},
		{"size", ParseBytes, "8KiB", 8192}, {"number", ParseNumber, "1e-4", 1e-4}, {"number", ParseNumber, "12.5", 12.5},
		{"time", ParseTime, "300y", 9.4608e18}, {"time", ParseTime, "1e6y", 3.1536e22},
	} {
		if got, f := c.parse(c.text); f != nil || got != c.want {
			t.Errorf("%s %s is %v, want %v (%v)", c.kind, c.text, got, c.want, f)
		}
	}
	for _, c := range []struct {
		parse func(string) (float64, *wording.Fault)
		texts string
	}{
		{ParseRate, "10 /s/s 1/0s 10/m 10/month 10% -1/s"}, {ParseShare, "1.1 101% -1% 5pct % 0.5.5 1e-4%%"},
		{ParseSpeed, "400 400G 400Gbps 400GB/s -1Gb/s 0b/s 1e9Tb/s"}, {ParseBytes, "1k 1kb 1MB -1"}, {ParseNumber, "1e 0x1 08 1_0 inf nan"},
	} {
		for _, text := range strings.Fields(c.texts) {
			if got, f := c.parse(text); f == nil {
				t.Errorf("%q was read as %v", text, got)
			}
		}
	}
}
