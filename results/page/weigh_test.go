package page

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"unicode/utf8"

	"halflight/results/weighing"
	"halflight/sim/record"
)

// weighed is a weighing of three instruments with long names, huge and tiny sums.
func weighed() *weighing.Weighing {
	q := &weighing.Question{Scenario: "harbour", Seed: 7, Asked: 20, Horizon: 90 * day, WarmUp: 90 * day, Level: 0.95,
		Instruments: []string{"counters", "a-name-that-is-much-too-long", "mirrors"}, Complaints: []float64{86400, 14400, 604800},
		Bundles: []weighing.Bundle{{Name: "pair", Bits: 3}}}
	e := weighing.Evidence{}
	for len(q.Next(e))+len(missing(q, e)) > 0 {
		for _, s := range append(missing(q, e), q.Next(e)...) {
			e[s] = weighedSet(s)
		}
	}
	return weighing.Weigh(q, e)
}

func missing(q *weighing.Question, e weighing.Evidence) (list []weighing.Subset) {
	for _, s := range q.First() {
		if e[s] == nil {
			list = append(list, s)
		}
	}
	return list
}

func weighedSet(s weighing.Subset) *weighing.Played {
	cost, left := 0.0, 1.0
	for i, c := range []float64{2e3, 4e5, 1.3e7} {
		if s.Bits&(1<<i) != 0 {
			cost, left = cost+c, left*[]float64{0.6, 0.05, 0.999}[i]
		}
	}
	patience := []float64{1, 0.2, 6}[s.Complaint]
	p := &weighing.Played{Header: record.Header{Modes: []record.Mode{{Name: "dirt", Kind: "lossy", Gray: true}},
		Classes:     []record.Class{{Name: "calls", Budget: 1e-4, LeafHour: 40}},
		Instruments: []record.Instrument{{YearlyCost: cost}}, Prices: record.Prices{Currency: "shells", TechnicianHour: 90}}}
	for i := range uint32(20) {
		wave := float64(i%5)/4 + float64(i%3)/7
		hours := 5000 * left * patience * (0.6 + wave/2)
		sighted := int64(wave*left*4e13) + 5e8
		r := &record.Replication{Number: i, From: 90 * day, To: 180 * day, HandsOn: 0.07 + wave*left/100, FalseDrains: int64(s.Bits % 4),
			Applications: []record.Application{{SlowShare: hours / 1e7, DegradedLeafHours: hours}}}
		for k := range 8 {
			f := record.Fault{Sighted: sighted * int64(1+k), Mitigated: sighted*int64(1+k) + 2e12}
			if left > 0.9 && k > 5 {
				f.Sighted, f.Mitigated = record.None, record.None
			}
			r.Faults = append(r.Faults, f)
		}
		p.Replications = append(p.Replications, r)
	}
	return p
}

func TestWeighing(t *testing.T) {
	var b bytes.Buffer
	if err := Weighing(&b, weighed()); err != nil {
		t.Fatal(err)
	}
	for i, line := range strings.Split(b.String(), "\n") {
		if n := utf8.RuneCountInString(line); n > 100 {
			t.Errorf("line %d has %d characters: %s", i+1, n, line)
		}
	}
	const golden = "testdata/weighing.golden"
	if *rewrite {
		if err := os.WriteFile(golden, b.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if b.String() != string(want) {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
}
