package model

import (
	"testing"

	"halflight/scenarios"
)

func BenchmarkBuild(b *testing.B) {
	for _, name := range scenarios.Shipped() {
		data, _ := scenarios.Source(name)
		s, p := scenarios.Parse(name, data)
		if p.Any() {
			b.Fatal(p)
		}
		b.Run("scenario="+name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Build(s)
			}
		})
	}
	b.Run("scenario=rich", func(b *testing.B) {
		s, _ := resolved(b, "rich", rich)
		for b.Loop() {
			Build(s)
		}
	})
}
