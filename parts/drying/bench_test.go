package drying

import (
	"fmt"
	"math"
	"testing"
	"time"
)

// manyReadings are one each ten minutes, warmer by day.
func manyReadings(n int) []Reading {
	out := make([]Reading, n)
	for i := range out {
		hours := float64(i) / 6
		out[i] = airAt(noon, hours, 16+6*math.Cos(hours/24*2*math.Pi), 55+10*math.Sin(hours/24*2*math.Pi))
	}
	return out
}

// wetParts asks for the forecast of each of n parts, put on at all times
// under the readings, of four ways of drying.
func wetParts(b *testing.B, g *Gauge, products []Product, n int, now time.Time) {
	b.Helper()
	span := now.Sub(noon)
	for i := range n {
		p := products[i%len(products)]
		from := noon.Add(span * time.Duration(i) / time.Duration(n))
		if f := g.Forecast(p, p.Takes(Cure), from, now, fair); f.Ready.IsZero() {
			b.Fatal("never ready in fair air")
		}
	}
}

// BenchmarkPage is what a page of all wet parts costs once the sums are there.
func BenchmarkPage(b *testing.B) {
	for _, readings := range []int{100, 1_000, 10_000, 100_000} {
		b.Run(fmt.Sprintf("parts=5000/readings=%d", readings), func(b *testing.B) {
			g := newGauge(b, manyReadings(readings)...)
			now := noon.Add(time.Duration(readings) * 10 * time.Minute)
			wetParts(b, g, ReadyMade(), 5_000, now)
			for b.Loop() {
				wetParts(b, g, ReadyMade(), 5_000, now)
			}
		})
	}
}

// BenchmarkFirstPage makes the sums too, as after a start.
func BenchmarkFirstPage(b *testing.B) {
	readings := manyReadings(10_000)
	for b.Loop() {
		wetParts(b, newGauge(b, readings...), ReadyMade(), 5_000, noon.Add(10_000*10*time.Minute))
	}
}

// BenchmarkReading puts a reading at the end and asks one question.
func BenchmarkReading(b *testing.B) {
	g := newGauge(b, manyReadings(10_000)...)
	at := noon.Add(10_000 * 10 * time.Minute)
	for b.Loop() {
		at = at.Add(time.Minute)
		if err := g.Add(Reading{At: at, Celsius: 18, Humidity: 50}); err != nil {
			b.Fatal(err)
		}
		g.Progress(varnish, noon, at)
	}
}

// BenchmarkFromTheBeginning is the integral without sums for a single part,
// by the plain code of the tests, which sorts the readings too.
func BenchmarkFromTheBeginning(b *testing.B) {
	readings := manyReadings(10_000)
	for b.Loop() {
		slowly(varnish, readings, noon, noon.Add(10_000*10*time.Minute))
	}
}
