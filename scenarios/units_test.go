package scenarios

import (
	"math"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"
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
		parse func(string) (float64, *fault)
		text  string
		want  float64
	}{
		{"rate", parseRate, "10/s", 10}, {"rate", parseRate, "2e-4/d", 2e-4 / 86400}, {"rate", parseRate, "1/24h", 1.0 / 86400},
		{"rate", parseRate, "1/30min", 1.0 / 1800}, {"rate", parseRate, "3 / y", 3.0 / 31_536_000}, {"rate", parseRate, "1/1h30min", 1.0 / 5400},
		{"share", parseShare, "0.025", 0.025}, {"share", parseShare, "2.5%", 0.025}, {"share", parseShare, "100%", 1},
		{"share", parseShare, "1e-4", 1e-4}, {"share", parseShare, "0", 0}, {"share", parseShare, "0.7%", 0.007},
		{"speed", parseSpeed, "400Gb/s", 4e11}, {"speed", parseSpeed, "1.6 Tb/s", 1.6e12}, {"speed", parseSpeed, "9600b/s", 9600},
		{"size", parseBytes, "1500", 1500}, {"size", parseBytes, "1500B", 1500}, {"size", parseBytes, "9kB", 9000},
		{"size", parseBytes, "8KiB", 8192}, {"number", parsePlain, "1e-4", 1e-4}, {"number", parsePlain, "12.5", 12.5},
		{"time", parseTimeFloat, "300y", 9.4608e18}, {"time", parseTimeFloat, "1e6y", 3.1536e22},
	} {
		if got, f := c.parse(c.text); f != nil || got != c.want {
			t.Errorf("%s %s is %v, want %v (%v)", c.kind, c.text, got, c.want, f)
		}
	}
	for _, c := range []struct {
		parse func(string) (float64, *fault)
		texts string
	}{
		{parseRate, "10 /s/s 1/0s 10/m 10/month 10% -1/s"}, {parseShare, "1.1 101% -1% 5pct % 0.5.5 1e-4%%"},
		{parseSpeed, "400 400G 400Gbps 400GB/s -1Gb/s 0b/s 1e9Tb/s"}, {parseBytes, "1k 1kb 1MB -1"}, {parsePlain, "1e 0x1 08 1_0 inf nan"},
	} {
		for _, text := range strings.Fields(c.texts) {
			if got, f := c.parse(text); f == nil {
				t.Errorf("%q was read as %v", text, got)
			}
		}
	}
}

// Laws, each in its families and forms.
func TestLaws(t *testing.T) {
	day := 86400e9
	for _, c := range []struct {
		q    *quantity
		text string
		want Distribution
	}{
		{&lifetimes, "{exponential: {mean: 300y}}", Distribution{Family: Exponential, Mean: 300 * 365 * day}},
		{&lifetimes, "{weibull: {shape: 0.7, mean: 1d}}", Distribution{Family: Weibull, Shape: 0.7, Mean: day}},
		{&lifetimes, "{weibull: {shape: 2, scale: 1d}}", Distribution{Family: Weibull, Shape: 2, Scale: day}},
		{&durations, "{lognormal: {median: 2d, sigma: 0.75}}", Distribution{Family: Lognormal, Median: 2 * day, Sigma: 0.75}},
		{&durations, "{lognormal: {mean: 2d, sigma: 1}}", Distribution{Family: Lognormal, Mean: 2 * day, Sigma: 1}},
		{&durations, "60s", Distribution{Low: 60e9, High: 60e9}},
		{&durations, "{fixed: 0s}", Distribution{}},
		{&durations, "{uniform: {low: 0s, high: 1d}}", Distribution{Family: Uniform, High: day}},
		{&shares, "{loguniform: {low: 1e-5, high: 5%}}", Distribution{Family: Loguniform, Low: 1e-5, High: 0.05}},
		{&shares, "2%", Distribution{Low: 0.02, High: 0.02}},
		{&shares, "{table: [1%, 3%]}", Distribution{Family: Table, Bins: []Bin{{0.5, 0.01, 0.01}, {0.5, 0.03, 0.03}}}},
		{&shares, "{table: [{share: 60%, low: 1e-8, high: 1e-5}, {share: 0.4, value: 1}]}",
			Distribution{Family: Table, Bins: []Bin{{0.6, 1e-8, 1e-5}, {0.4, 1, 1}}}},
		{&counts, "{geometric: {mean: 5.5}}", Distribution{Family: Geometric, Mean: 5.5}},
		{&sizes, "{uniform: {low: 500, high: 1500B}}", Distribution{Family: Uniform, Low: 500, High: 1500}},
	} {
		w := &walker{s: &Scenario{places: places{}}, p: &Problems{}, tree: &tree{}}
		d, ok := w.law(node(t, c.text), "x", c.q)
		if !ok || w.p.Any() || !same(d, c.want) {
			t.Errorf("%s is %+v, want %+v\n%s", c.text, d, c.want, w.p)
		}
	}
}

// node parses one value.
func node(t *testing.T, text string) *yaml.Node {
	t.Helper()
	doc, err := decode([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return doc.Content[0]
}

// same compares laws.
func same(a, b Distribution) bool {
	if len(a.Bins) != len(b.Bins) {
		return false
	}
	for i := range a.Bins {
		if a.Bins[i] != b.Bins[i] {
			return false
		}
	}
	a.Bins, b.Bins = nil, nil
	return a.Family == b.Family && a.Mean == b.Mean && a.Median == b.Median && a.Scale == b.Scale && a.Shape == b.Shape &&
		a.Sigma == b.Sigma && a.Low == b.Low && a.High == b.High
}
