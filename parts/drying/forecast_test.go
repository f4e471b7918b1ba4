package drying

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// An hour that counts as 56 min is not called cold: it costs less than a tenth.
func TestALittleLossIsNoAlarm(t *testing.T) {
	for _, tt := range []struct {
		r            Reason
		slight       bool
		say, inShort string
	}{
		{Reason{Cause: Cold, Took: time.Hour, Counted: 56 * time.Minute}, true, "The air is nearly as the data sheet has it: an hour counts as 56m0s.", "a little slower: an hour counts as 56m0s"},
		{Reason{Cause: Damp, Took: time.Hour, Counted: 55 * time.Minute}, true, "The air is nearly as the data sheet has it: an hour counts as 55m0s.", "a little slower: an hour counts as 55m0s"},
		{Reason{Cause: Cold, Took: time.Hour, Counted: 54 * time.Minute}, false, "It is cold: an hour counts as 54m0s.", "cold: an hour counts as 54m0s"},
		{Reason{Cause: TooCold, Took: time.Hour, Counted: time.Hour}, false, "It is colder than 0 °C (32 °F): nothing happens until it is warmer. Warm the room and the parts.", "too cold: stands still"},
	} {
		short, args := tt.r.Short()
		assert.Equal(t, []any{tt.slight, tt.say, tt.inShort}, []any{tt.r.Slight(), tt.r.Text(), fmt.Sprintf(short, args...)})
	}
	past := Reason{Cause: Cold, Since: noon, Until: noon.Add(4 * time.Hour), Took: 4 * time.Hour, Counted: 4*time.Hour - 20*time.Minute}
	assert.True(t, past.Slight())
	assert.Contains(t, past.Text(), "the air was nearly as the data sheet has it: 4h0m0s counted as 3h40m0s")
	past.Counted = 3 * time.Hour
	assert.Contains(t, past.Text(), "it was cold: 4h0m0s counted as 3h0m0s")
}

// The night is worked by hand beside its readings.
func TestAColdNight(t *testing.T) {
	evening := time.Date(2024, 3, 4, 18, 0, 0, 0, time.UTC)
	var readings []Reading
	for _, row := range readTable(t, "cold_night.csv") {
		readings = append(readings, airAt(evening, row[0], row[1], row[2]))
	}
	g := newGauge(t, readings...)
	for _, row := range readTable(t, "cold_night.csv") {
		at := airAt(evening, row[0], 0, 0).At
		assert.InDelta(t, row[3], g.Progress(varnish, evening, at).Minutes(), 1e-9)
	}
	morning := evening.Add(13 * time.Hour)
	f := g.Forecast(varnish, varnish.Takes(Recoat), evening, morning, fair)
	assert.Equal(t, evening.Add(19*time.Hour), f.Ready)
	assert.Equal(t, 6*time.Hour, f.Counted)
	require.Len(t, f.Reasons, 2)
	assert.Equal(t, Reason{Cause: TooCold, Since: evening.Add(8 * time.Hour), Until: evening.Add(12 * time.Hour), Took: 4 * time.Hour, Lowest: 8}, f.Reasons[0])
	assert.Equal(t, Reason{Cause: Cold, Since: evening.Add(2 * time.Hour), Until: evening.Add(8 * time.Hour), Took: 6 * time.Hour, Counted: 3 * time.Hour, Lowest: 8}, f.Reasons[1])
	assert.Equal(t, "Between 2024-03-04 20:00:00 +0000 UTC and 2024-03-05 02:00:00 +0000 UTC it was cold: 6h0m0s counted as 3h0m0s.", f.Reasons[1].Text())
	short, args := f.Reasons[1].Short()
	assert.Equal(t, "%s: %s counted as %s", short)
	assert.Equal(t, []any{"cold", 6 * time.Hour, 3 * time.Hour}, args)

	// Told late that the heating stayed on, the forecast moves.
	require.NoError(t, g.Add(airAt(evening, 2, 20, 50), airAt(evening, 8, 20, 50)))
	f = g.Forecast(varnish, varnish.Takes(Recoat), evening, morning, fair)
	assert.Equal(t, evening.Add(12*time.Hour), f.Ready)
	assert.Equal(t, 12*time.Hour, f.Counted)
	assert.Empty(t, f.Reasons)
}

func TestWhatIsAheadIsSaid(t *testing.T) {
	g := newGauge(t)
	for _, tt := range []struct {
		p     Product
		ahead Reading
		hours float64 // until ready; 0 for never
		text  string
	}{
		{varnish, fair, 12, ""},
		{varnish, Reading{Celsius: 10, Humidity: 50}, 24, "It is cold: an hour counts as 30m0s."},
		{varnish, Reading{Celsius: 5, Humidity: 50}, 0, "It is colder than 8 °C (46 °F): nothing happens until it is warmer. Warm the room and the parts."},
		{water, Reading{Celsius: 23, Humidity: 75}, 8, "The air is damp: an hour counts as 30m0s."},
		{water, Reading{Celsius: 23, Humidity: 100}, 20, "The air is so damp that an hour counts as 12m0s or less: check by touch, and air the room."},
		{water, Reading{Celsius: 12, Humidity: 50}, 8.02, "It is cold: an hour counts as 30m0s."},
	} {
		f := g.Forecast(tt.p, tt.p.Takes(Recoat), noon, noon, tt.ahead)
		if tt.hours == 0 {
			assert.True(t, f.Ready.IsZero())
		} else {
			assert.InDelta(t, tt.hours, f.Ready.Sub(noon).Hours(), 0.02)
		}
		if tt.text == "" {
			assert.Empty(t, f.Reasons)
			continue
		}
		require.Len(t, f.Reasons, 1)
		assert.Equal(t, tt.text, f.Reasons[0].Text())
		assert.True(t, f.Reasons[0].Ahead())
	}
}

func TestEveryReasonIsASentence(t *testing.T) {
	for _, cause := range causes {
		for _, until := range []time.Time{{}, noon} {
			r := Reason{Cause: cause, Since: noon, Until: until, Took: time.Hour, Counted: time.Minute}
			assert.NotContains(t, r.Text(), "%!")
			format, args := r.Short()
			assert.Len(t, args, countVerbs(format))
		}
	}
}

func countVerbs(format string) int {
	n := 0
	for i := range format {
		if format[i] == '%' {
			n++
		}
	}
	return n
}

// Where the sheet does not say that warmth helps, its time is the least, and
// with it, two thirds of that.
func TestNeverReadyBeforeTheSheetSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, g := drawProduct(t), newGauge(t, drawReadings(t)...)
		from, now, ahead := drawTime(t, "from"), drawTime(t, "now"), drawAir(t, "ahead")
		f := g.Forecast(p, p.Takes(Recoat), from, now, ahead)
		if f.Ready.IsZero() {
			return
		}
		least := p.Takes(Recoat)
		if p.Faster {
			least = least * 2 / 3
		}
		require.GreaterOrEqual(t, f.Ready.Sub(from), least)
	})
}

// By the ready time exactly the need has been gone through, whichever part of
// it was measured.
func TestTheReadyTimeIsWhenTheIntegralIsFull(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, readings := drawProduct(t), drawReadings(t)
		from, now, ahead := drawTime(t, "from"), drawTime(t, "now").Truncate(time.Millisecond), drawAir(t, "ahead")
		f := newGauge(t, readings...).Forecast(p, p.Takes(Recoat), from, now, ahead)
		// The same air for good: what was read until now, and then ahead.
		readings = slices.DeleteFunc(readings, func(r Reading) bool { return r.At.UnixMilli() >= now.UnixMilli() })
		ahead.At = now
		if from.After(now) {
			ahead.At = from
		}
		g := newGauge(t, append(readings, ahead)...)
		if f.Ready.IsZero() {
			require.Less(t, g.Progress(p, from, now.AddDate(1, 0, 0)), p.Takes(Recoat))
			return
		}
		require.GreaterOrEqual(t, g.Progress(p, from, f.Ready), p.Takes(Recoat)-3*time.Millisecond)
		require.Less(t, g.Progress(p, from, f.Ready.Add(-5*time.Millisecond)), p.Takes(Recoat))
	})
}

// A part that is told later is ready later; one that needs more, too.
func TestForecastsAreMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, g := drawProduct(t), newGauge(t, drawReadings(t)...)
		from, now, ahead := drawTime(t, "from"), drawTime(t, "now"), drawAir(t, "ahead")
		f := g.Forecast(p, p.Takes(Recoat), from, now, ahead)
		later := g.Forecast(p, p.Takes(Recoat), from.Add(rapidWait(t, "later")), now, ahead)
		more := g.Forecast(p, p.Takes(Recoat)+rapidWait(t, "more"), from, now, ahead)
		for _, o := range []Forecast{later, more} {
			if f.Ready.IsZero() {
				require.True(t, o.Ready.IsZero())
			} else if !o.Ready.IsZero() {
				require.False(t, o.Ready.Before(f.Ready))
			}
		}
		require.LessOrEqual(t, f.Counted, f.Needs)
	})
}

func rapidWait(t *rapid.T, name string) time.Duration {
	return time.Duration(rapid.Int64Range(0, int64(24*time.Hour)).Draw(t, name))
}

// With every rate halved, and the readings twice as far apart, each part of
// the wait takes twice as long.
func TestHalvingEveryRateDoublesTheTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, readings, halved := halvable(t)
		from := noon
		for i := range halved {
			halved[i].At = from.Add(2 * halved[i].At.Sub(from))
		}
		now := from.Add(30 * 24 * time.Hour)
		whole := newGauge(t, readings...).Forecast(p, p.Takes(Recoat), from, now, fair)
		half := newGauge(t, halved...).Forecast(p, p.Takes(Recoat), from, now, fair)
		require.InDelta(t, 2*whole.Ready.Sub(from).Seconds(), half.Ready.Sub(from).Seconds(), 2e-5*whole.Ready.Sub(from).Seconds()+0.1)
	})
}

// What the reasons say was lost is what is missing from the time by the clock.
func TestReasonsAccountForTheLoss(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, g := drawProduct(t), newGauge(t, drawReadings(t)...)
		p.Faster = false
		from, now := drawTime(t, "from"), drawTime(t, "now")
		f := g.Forecast(p, p.Takes(Recoat), from, now, drawAir(t, "ahead"))
		end := now
		if !f.Ready.IsZero() && f.Ready.Before(now) {
			end = f.Ready
		}
		lost := max(0, end.Sub(from)) - f.Counted
		for _, r := range f.Reasons {
			require.False(t, r.Cause == NoCause)
			if r.Ahead() {
				continue
			}
			lost -= r.Took - r.Counted
			require.False(t, r.Since.Before(from.Add(-time.Millisecond)))
			require.False(t, r.Until.After(end.Add(time.Millisecond)))
			require.LessOrEqual(t, r.Took, r.Until.Sub(r.Since))
		}
		// Each of the causes may be left out for being too little to say.
		require.InDelta(t, 0, lost.Seconds(), 3*worthSaying.Seconds()+1)
		require.GreaterOrEqual(t, lost, -time.Second)
	})
}

func TestRecoatWindow(t *testing.T) {
	p := varnish
	p.Latest, p.Missed = 1440, "Scuff it and wipe off the dust."
	require.NoError(t, Check(p))
	for _, tt := range []struct {
		name          string
		ahead         Reading
		opens, closes float64 // hours; opens 0 for never
		shut          bool
	}{
		{"as on the sheet", fair, 12, 24, false},
		{"warm air closes it sooner and opens it no sooner", Reading{Celsius: 30, Humidity: 50}, 12, 16, false},
		{"cold air opens it later and does not keep it open", Reading{Celsius: 15, Humidity: 50}, 16.97, 24, false},
		{"so cold that it is never both", Reading{Celsius: 10, Humidity: 50}, 24, 24, true},
		{"too cold to dry at all", Reading{Celsius: 0, Humidity: 50}, 0, 24, true},
	} {
		w := newGauge(t).Window(p, noon, noon, tt.ahead)
		if tt.opens == 0 {
			assert.True(t, w.Ready.IsZero(), tt.name)
		} else {
			assert.InDelta(t, tt.opens, w.Ready.Sub(noon).Hours(), 0.01, tt.name)
		}
		assert.InDelta(t, tt.closes, w.Closes.Sub(noon).Hours(), 0.01, tt.name)
		assert.Equal(t, tt.shut, w.Shut, tt.name)
	}
	w := newGauge(t).Window(varnish, noon, noon, fair)
	assert.True(t, w.Closes.IsZero(), "no end on the sheet")
	assert.False(t, w.Shut)
}

func TestTheWindowIsNeverLongerThanTheSheets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, g := drawProduct(t), newGauge(t, drawReadings(t)...)
		p.Latest = p.Recoat + rapid.IntRange(1, 2000).Draw(t, "window")
		from, now, ahead := drawTime(t, "from"), drawTime(t, "now"), drawAir(t, "ahead")
		w := g.Window(p, from, now, ahead)
		require.LessOrEqual(t, w.Closes.Sub(from), time.Duration(p.Latest)*time.Minute+time.Millisecond)
	})
}
