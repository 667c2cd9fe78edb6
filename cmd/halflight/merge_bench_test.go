package main

import (
	"bytes"
	"context"
	"os"
	"runtime"
	"runtime/debug"
	"strconv"
	"strings"
	"testing"

	"halflight/cmd/halflight/shards"
	"halflight/results"
	"halflight/sim/replication"
)

// cheap is a study of many replications of an hour.
const cheap = `
name: cheap
horizon: 1h
warm_up: 0s
replications: 100000
fabric: {clos: {pods: 1, leaves: 2, spines: 2}}
failures: [{name: cut, on: link, kind: hard, life: {exponential: {mean: 1d}}, repair: {lead: 10min}}]
`

// BenchmarkMerge joins 100,000 replications from 8 shards, as the verb does, and
// tells the largest resident size of the process. At most 10 s and 500 MiB. A
// hundred replications are played, and stand in the shards again and again.
func BenchmarkMerge(b *testing.B) {
	b.Chdir(b.TempDir())
	l, err := parse("cheap.yaml", []byte(cheap), nil)
	if err != nil {
		b.Fatal(err)
	}
	const played, cuts = 100, 8
	r, err := replication.Run(context.Background(), l.world, replication.Options{Workers: 2, Seed: l.world.Seed, Count: played})
	if err != nil {
		b.Fatal(err)
	}
	made := manifestOf(l)
	study := made.study(l, uint32(l.world.Replications))
	folder, err := shards.Open("parts")
	if err != nil {
		b.Fatal(err)
	}
	for i := range cuts {
		set := &results.Set{Study: study, Part: shards.Cut{I: i, N: cuts}.Range(study), Header: r.Header, Shards: cuts, Scenario: string(l.Typed())}
		for n := set.Part.From; n < set.Part.To; n++ {
			one := r.Replications[n%played]
			one.Number = n
			set.Replications = append(set.Replications, one)
		}
		if err := set.Write(folder, shards.Name(set.Part)); err != nil {
			b.Fatal(err)
		}
	}
	r = nil
	debug.FreeOSMemory()
	b.ResetTimer()
	for b.Loop() {
		var out, errOut bytes.Buffer
		if code := run([]string{"merge", "parts"}, nil, &out, &errOut); code != 0 {
			b.Fatal(errOut.String())
		}
	}
	b.ReportMetric(peak(b)/(1<<20), "peak-MiB")
	runtime.KeepAlive(r)
}

// peak is the largest resident size of the process so far, in bytes.
func peak(b *testing.B) float64 {
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		b.Skip("no /proc: the size is not known")
	}
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kib, err := strconv.ParseFloat(strings.TrimSuffix(strings.TrimSpace(rest), " kB"), 64)
			if err != nil {
				b.Fatal(err)
			}
			return kib * 1024
		}
	}
	b.Fatal("no VmHWM")
	return 0
}
