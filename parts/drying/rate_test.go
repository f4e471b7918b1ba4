package drying

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

// The source of each factor is in the file, beside it. Where it is below one
// the data sheet holds, unless it says itself that warm air helps.
func TestEvaporationFollowsTheDeficit(t *testing.T) {
	g := newGauge(t)
	fast := water
	fast.Faster = true
	for _, row := range readTable(t, "factors.csv") {
		reading, factor := Reading{Celsius: row[0], Humidity: row[1]}, row[2]
		assert.InDelta(t, max(1, factor), 1/g.Rate(water, reading).Share(), 0.005, "%v", row)
		assert.InDelta(t, max(1/1.5, factor), 1/g.Rate(fast, reading).Share(), 0.005, "%v", row)
	}
}

// A factor of two for each 10 °C is a rule of thumb, no source.
func TestReactionFollowsTheTemperature(t *testing.T) {
	g := newGauge(t)
	fast, threefold := varnish, varnish
	fast.Faster, threefold.Per10 = true, 3
	for _, tt := range []struct {
		p       Product
		celsius float64
		share   float64
	}{
		{varnish, 20, 1}, {varnish, 10, 0.5}, {varnish, 8, math.Pow(2, -1.2)}, {varnish, 7.9, 0}, {varnish, 40, 1},
		{fast, 25, math.Sqrt2}, {fast, 40, 1.5}, {threefold, 10, 1.0 / 3},
	} {
		for _, humidity := range []float64{0, 50, 100} {
			assert.InDelta(t, tt.share, g.Rate(tt.p, Reading{Celsius: tt.celsius, Humidity: humidity}).Share(), 1e-6, "%v °C", tt.celsius)
		}
	}
}

func TestTheBoundsHoldInAnyAir(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProduct(t)
		r := newGauge(t).Rate(p, drawAir(t, "air"))
		if r == 0 {
			return
		}
		require.GreaterOrEqual(t, r, Slowest)
		require.LessOrEqual(t, r, Fastest)
		if !p.Faster {
			require.LessOrEqual(t, r, Sheet)
		}
	})
}

// A product that was never checked may have a reference of full air.
func TestAReferenceThatCannotBeIsTheSlowest(t *testing.T) {
	p := water
	p.Humidity = 100
	g := newGauge(t)
	assert.Equal(t, Slowest, g.Rate(p, Reading{Celsius: 23, Humidity: 100}), "0/0")
	assert.Equal(t, Sheet, g.Rate(p, Reading{Celsius: 23, Humidity: 50}))
}

func TestTheModelIsSaid(t *testing.T) {
	for _, p := range ReadyMade() {
		for _, p.Faster = range []bool{false, true} {
			text := fmt.Sprintf(firstOf(p.Model()), secondOf(p.Model())...)
			assert.NotContains(t, text, "%!")
			assert.Contains(t, text, "An estimate")
			assert.Contains(t, text, "Check by touch on a test piece.")
		}
	}
}

func firstOf(s string, _ []any) string { return s }
func secondOf(_ string, a []any) []any { return a }

func TestBadReadingsAreRefusedAndNoneIsKept(t *testing.T) {
	good := airAt(noon, 0, 5, 50)
	for code, bad := range map[string]Reading{
		"reading-humidity":    airAt(noon, 1, 20, 140),
		"reading-temperature": airAt(noon, 1, 68, 50),
		"reading-time":        {At: time.Unix(0, 0), Celsius: 20, Humidity: 50},
	} {
		g := newGauge(t)
		err := g.Add(good, bad)
		assert.Equal(t, code, parts.CodeOf(err))
		assert.NotContains(t, err.Error(), "%!")
		_, ok := g.Air(noon.Add(time.Hour))
		assert.False(t, ok, "the good one is not kept alone")
	}
	assert.Error(t, Reading{At: noon, Celsius: math.NaN(), Humidity: 50}.Check())
	assert.Error(t, Reading{At: noon, Celsius: 20, Humidity: math.NaN()}.Check())
	_, err := NewGauge(deficit, Reading{Celsius: 20, Humidity: 140})
	assert.Equal(t, "reading-humidity", parts.CodeOf(err))
}
