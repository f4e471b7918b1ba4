package drying

import (
	"math"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func drawProduct(t *rapid.T) Product {
	return Product{Key: "drawn", Name: "Drawn", Kind: Clear, Celsius: rapid.Float64Range(15, 30).Draw(t, "sheet celsius"),
		Humidity: rapid.Float64Range(10, 80).Draw(t, "sheet humidity"), Lowest: rapid.Float64Range(-5, 12).Draw(t, "lowest"),
		Evaporates: rapid.Bool().Draw(t, "evaporates"), Faster: rapid.Bool().Draw(t, "faster"),
		Recoat: rapid.IntRange(1, 3000).Draw(t, "recoat"), Cure: 5000}
}

func drawAir(t *rapid.T, name string) Reading {
	return Reading{Celsius: rapid.Float64Range(-30, 60).Draw(t, name+" celsius"), Humidity: rapid.Float64Range(0, 100).Draw(t, name+" humidity")}
}

// drawReadings are up to 12 within four days, in no order, some of one time.
func drawReadings(t *rapid.T) []Reading {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Reading {
		r := drawAir(t, "reading")
		r.At = drawTime(t, "at")
		return r
	}), 0, 12).Draw(t, "readings")
}

func drawTime(t *rapid.T, name string) time.Time {
	if rapid.Bool().Draw(t, name+" on the hour") {
		return noon.Add(time.Duration(rapid.IntRange(-48, 48).Draw(t, name)) * time.Hour)
	}
	return noon.Add(time.Duration(rapid.Int64Range(int64(-48*time.Hour), int64(48*time.Hour)).Draw(t, name)))
}

// slowly is the integral the obvious way, from the beginning, in floats.
func slowly(p Product, readings []Reading, from, to time.Time) float64 {
	rate := func(r Reading) float64 {
		share := math.Pow(2, (r.Celsius-p.Celsius)/10)
		if p.Evaporates {
			share = deficit(r.Celsius, r.Humidity) / deficit(p.Celsius, p.Humidity)
		}
		most := 1.0
		if p.Faster {
			most = 1.5
		}
		switch {
		case r.Celsius < p.Lowest:
			return 0
		case share < 0.2:
			return 0.2
		}
		return min(share, most)
	}
	// The last of one millisecond wins, as it does when they come one by one.
	byTime := map[int64]Reading{}
	for _, r := range slices.SortedStableFunc(slices.Values(readings), func(a, b Reading) int { return a.At.Compare(b.At) }) {
		byTime[r.At.UnixMilli()] = r
	}
	sorted := []Reading{}
	for ms, r := range byTime {
		r.At = time.UnixMilli(ms)
		sorted = append(sorted, r)
	}
	slices.SortFunc(sorted, func(a, b Reading) int { return a.At.Compare(b.At) })
	done, holds := 0.0, fair
	at := from
	for _, r := range sorted {
		if r.At.After(at) && r.At.Before(to) {
			done += rate(holds) * r.At.Sub(at).Seconds()
			at = r.At
		}
		if r.At.Before(to) {
			holds = r
		}
	}
	if to.After(at) {
		done += rate(holds) * to.Sub(at).Seconds()
	}
	return done
}

func TestProgressIsTheIntegral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, readings := drawProduct(t), drawReadings(t)
		from, to := drawTime(t, "from"), drawTime(t, "to")
		got := newGauge(t, readings...).Progress(p, from, to)
		require.InDelta(t, slowly(p, readings, from, to), got.Seconds(), 2.0, "a millionth of four days, and milliseconds")
	})
}

func TestSplittingAnIntervalAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, g := drawProduct(t), newGauge(t, drawReadings(t)...)
		times := []time.Time{drawTime(t, "a"), drawTime(t, "b"), drawTime(t, "c")}
		for i := range times {
			times[i] = times[i].Truncate(time.Millisecond)
		}
		slices.SortFunc(times, time.Time.Compare)
		a, b, c := times[0], times[1], times[2]
		require.Equal(t, g.Progress(p, a, c), g.Progress(p, a, b)+g.Progress(p, b, c), "to the nanosecond")
	})
}

func TestAReadingThatChangesNothingChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, readings := drawProduct(t), drawReadings(t)
		g, with := newGauge(t, readings...), newGauge(t, readings...)
		at := drawTime(t, "inserted")
		same, _ := g.Air(at)
		same.At = at
		from, to, now, ahead := drawTime(t, "from"), drawTime(t, "to"), drawTime(t, "now"), drawAir(t, "ahead")
		with.Progress(p, from, to) // so that sums are there already
		require.NoError(t, with.Add(same))
		require.Equal(t, g.Progress(p, from, to), with.Progress(p, from, to))
		require.Equal(t, g.Forecast(p, p.Takes(Recoat), from, now, ahead), with.Forecast(p, p.Takes(Recoat), from, now, ahead))
	})
}

func TestReadingsMayComeInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, readings := drawProduct(t), drawReadings(t)
		seen := map[int64]bool{}
		readings = slices.DeleteFunc(readings, func(r Reading) bool {
			again := seen[r.At.UnixMilli()]
			seen[r.At.UnixMilli()] = true
			return again
		})
		from, to := drawTime(t, "from"), drawTime(t, "to")
		oneByOne := newGauge(t)
		for _, r := range rapid.Permutation(readings).Draw(t, "order") {
			require.NoError(t, oneByOne.Add(r))
			oneByOne.Progress(p, from, to) // asked in between
		}
		require.Equal(t, newGauge(t, readings...).Progress(p, from, to), oneByOne.Progress(p, from, to))
	})
}

func TestProgressNeverFalls(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, g := drawProduct(t), newGauge(t, drawReadings(t)...)
		from, to := drawTime(t, "from"), drawTime(t, "to")
		later := to.Add(time.Duration(rapid.Int64Range(0, int64(48*time.Hour)).Draw(t, "later")))
		require.GreaterOrEqual(t, g.Progress(p, from, later), g.Progress(p, from, to))
		require.GreaterOrEqual(t, g.Progress(p, from, to), time.Duration(0))
	})
}

func TestHalvingEveryRateHalvesTheProgress(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, readings, halved := halvable(t)
		from, to := drawTime(t, "from"), drawTime(t, "to")
		whole, half := newGauge(t, readings...).Progress(p, from, to), newGauge(t, halved...).Progress(p, from, to)
		require.InDelta(t, whole.Seconds(), 2*half.Seconds(), 2e-6*time.Duration(96*time.Hour).Seconds())
	})
}

// halvable is a product that reacts, with readings that cover all of the
// time, and the same ones 10 °C colder: that halves each rate.
func halvable(t *rapid.T) (Product, []Reading, []Reading) {
	p := Product{Kind: Clear, Celsius: 25, Humidity: 50, Lowest: 0, Recoat: rapid.IntRange(1, 1000).Draw(t, "recoat"), Cure: 5000}
	readings := append(drawReadings(t), Reading{At: noon.Add(-49 * time.Hour)})
	for i := range readings {
		readings[i].Celsius = rapid.Float64Range(13, 25).Draw(t, "warm")
	}
	halved := slices.Clone(readings)
	for i := range halved {
		halved[i].Celsius -= 10
	}
	return p, readings, halved
}

func TestAReadingOfTheSameTimeReplacesTheOther(t *testing.T) {
	g := newGauge(t, airAt(noon, 0, 20, 50))
	assert.Equal(t, time.Hour, g.Progress(varnish, noon, noon.Add(time.Hour)))
	require.NoError(t, g.Add(airAt(noon, 0, 10, 50)))
	assert.Equal(t, 30*time.Minute, g.Progress(varnish, noon, noon.Add(time.Hour)))
}

func TestAir(t *testing.T) {
	g := newGauge(t, airAt(noon, 0, 10, 40), airAt(noon, 2, 12, 45))
	for hours, want := range map[float64]float64{-1: 20, 0: 10, 1.9: 10, 2: 12, 100: 12} {
		got, measured := g.Air(airAt(noon, hours, 0, 0).At)
		assert.InDelta(t, want, got.Celsius, 0, "%v h", hours)
		assert.Equal(t, hours >= 0, measured)
	}
}

// Far-off times are kept to the years of readings and break nothing.
func TestTimesOutOfReach(t *testing.T) {
	g := newGauge(t, airAt(noon, 0, 20, 50))
	assert.Zero(t, g.Progress(varnish, time.Time{}, time.Time{}))
	assert.Positive(t, g.Progress(varnish, time.Time{}, noon))
	assert.Zero(t, g.Progress(varnish, noon.AddDate(500, 0, 0), noon.AddDate(600, 0, 0)))
	f := g.Forecast(varnish, varnish.Takes(Recoat), time.Time{}, time.Time{}, fair)
	assert.False(t, f.Ready.IsZero())
	g.Window(varnish, noon.AddDate(500, 0, 0), time.Time{}, fair)
}

func TestAGaugeIsSharedByManyPages(t *testing.T) {
	g := newGauge(t)
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			for j := range 50 {
				if i == 0 {
					assert.NoError(t, g.Add(airAt(noon, float64(j), 20, 50)))
				}
				assert.Equal(t, 10*time.Hour, g.Progress(varnish, noon, noon.Add(10*time.Hour)))
			}
		})
	}
	wg.Wait()
}
