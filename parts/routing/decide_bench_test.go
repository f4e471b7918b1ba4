package routing_test

import (
	"testing"
	"time"

	"benchtally/parts"
	"benchtally/parts/routing"
)

// BenchmarkDecideApply is the arithmetic of one scan of one part: no
// database, no JSON. One part goes through all its steps, then the next.
func BenchmarkDecideApply(b *testing.B) {
	fresh := piece(rails, 1, 0)
	steps := testRoutings()[framePart].Steps
	v := view(fresh)
	v.Subject = fresh
	at := noon
	b.ReportAllocs()
	for b.Loop() {
		at = at.Add(25 * time.Hour)
		events, err := routing.Advance(v, parts.Scan{Station: steps[v.Subject.Next].Station, At: at, By: 1})
		if err != nil {
			b.Fatal(err)
		}
		v.Subject = parts.Apply(v.Subject, events[0])
		if v.Subject.Finished {
			v.Subject = fresh
		}
	}
}
