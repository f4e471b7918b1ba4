package bench_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/drying"
	"benchtally/parts/shoptest"
)

// reads tells the air of the shop at a time.
func (s *shop) reads(at time.Time, celsius, humidity float64, place ...string) {
	s.Helper()
	r := bench.Reading{At: at, Celsius: celsius, Humidity: humidity}
	if len(place) > 0 {
		r.Place = place[0]
	}
	_, err := s.AddReadings(context.Background(), "Ann", bench.FromPerson, []bench.Reading{r})
	require.NoError(s, err)
}

// coated takes the shelf to its first topcoat, which is put on at noon; until
// then nothing was read.
func coated(s *shop) (shelf string) {
	s.Helper()
	shelf = s.mark("Shelf")
	_, err := s.scan(shelf, "topcoat", func(r *bench.Request) { r.Override, r.Reason = true, "stained elsewhere" })
	require.NoError(s, err)
	return shelf
}

// wait is the wait that runs for a piece, judged by the readings.
func (s *shop) wait(mark string) parts.Wait {
	s.Helper()
	p, err := s.Look(context.Background(), mark)
	require.NoError(s, err)
	require.NotEmpty(s, p.State.Waits)
	return p.State.Waits[0]
}

func TestWithoutReadingsTheDataSheetHolds(t *testing.T) {
	s := openShop(t)
	w := s.wait(coated(s))
	assert.Equal(t, []any{"water-clear", 1, "coat it again", 240, parts.Station("topcoat")}, []any{w.Product, w.Version, w.Need, w.Needs, w.At})
	assert.Equal(t, shoptest.Noon.Add(4*time.Hour), w.Until)
	assert.Equal(t, w.Until, w.Ends())
	assert.Empty(t, w.Dry.Why)
}

// 16 °C and 50 % has a deficit of 909 Pa against 1169 Pa at 20 °C and 50 %
// (ASHRAE saturation pressures 1818 and 2339 Pa): an hour counts as 47 min.
func TestAReadingThatComesLateMovesTheForecast(t *testing.T) {
	s := openShop(t)
	shelf := coated(s)
	s.clock.Set(shoptest.Noon.Add(5 * time.Hour))
	assert.False(t, s.clock.Now().Before(s.wait(shelf).Ends()), "it would be dry")
	s.reads(shoptest.Noon.Add(time.Hour), 16, 50)
	s.reads(shoptest.Noon.Add(5*time.Hour), 20, 50)
	w := s.wait(shelf)
	assert.InDelta(t, 1+3*1169.0/909.0, w.Ends().Sub(shoptest.Noon).Hours(), 0.01)
	require.Len(t, w.Dry.Why, 1)
	assert.Equal(t, "cold: 3h52m0s counted as 3h0m0s", fmt.Sprintf(w.Dry.Why[0].In, w.Dry.Why[0].Few...))
	assert.Equal(t, shoptest.Noon.Add(4*time.Hour), w.Until, "the first forecast is a fact and stays")
}

func TestARefusalSaysHowLongAndWhy(t *testing.T) {
	s := openShop(t)
	shelf := coated(s)
	s.reads(shoptest.Noon, 16, 50)
	s.clock.Set(shoptest.Noon.Add(2 * time.Hour))
	_, err := s.scan(shelf, "topcoat")
	p := parts.AsProblem(err)
	require.NotNil(t, p)
	assert.Equal(t, "waiting", p.Code)
	assert.Contains(t, p.Error(), "3h8m")
	assert.Contains(t, p.Error(), "to go at 16 °C (61 °F), ready 2026-03-02 17:08")
	assert.Contains(t, p.Error(), "it was cold: 2h0m0s counted as 1h33m0s")

	s.reads(shoptest.Noon.Add(2*time.Hour), 5, 50)
	_, err = s.scan(shelf, "topcoat")
	p = parts.AsProblem(err)
	require.NotNil(t, p)
	assert.Contains(t, p.Error(), "at 5 °C (41 °F) it does not get any further")
	assert.NotContains(t, p.Facts, "ready_at")

	a, err := s.scan(shelf, "topcoat", func(r *bench.Request) { r.Override, r.Reason = true, "Dry by touch" })
	require.NoError(t, err)
	assert.Equal(t, "recorded", a.Outcome)
	piece, err := s.Look(context.Background(), shelf)
	require.NoError(t, err)
	assert.Equal(t, parts.WasFilled, piece.State.Past[13].How, "the wait was cut short, and that stays visible")
}

// The step that follows records what it relied on, and nothing that was
// computed is saved: shoptest replays the log when the test ends.
func TestTheNextStepRecordsWhatItReliedOn(t *testing.T) {
	s := openShop(t)
	shelf := coated(s)
	s.reads(shoptest.Noon, 16, 50)
	s.clock.Set(shoptest.Noon.Add(6 * time.Hour))
	s.must(shelf, "topcoat")
	events, err := s.Events(context.Background(), shelf)
	require.NoError(t, err)
	last := events[len(events)-1]
	require.Len(t, last.Detail.Relied, 1)
	assert.InDelta(t, 4*1169.0/909.0, last.Detail.Relied[0].Sub(shoptest.Noon).Hours(), 0.02)
	p, err := s.Look(context.Background(), shelf)
	require.NoError(t, err)
	assert.Equal(t, parts.WasDone, p.State.Past[13].How, "it was waited out")
	s.reads(shoptest.Noon.Add(time.Hour), 4, 50) // told too late: history does not move
	again, err := s.Events(context.Background(), shelf)
	require.NoError(t, err)
	assert.Equal(t, events, again)
}

// A cart with readings of its own goes by them from the first one on, and by
// those of the shop before.
func TestAPlaceHasItsOwnAir(t *testing.T) {
	s := openShop(t)
	ctx := context.Background()
	shelf := coated(s)
	cart, err := s.AddCart(ctx, shoptest.NewID(), "Cart 1", "Ann")
	require.NoError(t, err)
	s.reads(shoptest.Noon, 16, 50)
	s.clock.Set(shoptest.Noon.Add(time.Hour))
	s.reads(shoptest.Noon.Add(time.Hour), 20, 50, string(cart.Mark))
	cold := s.wait(shelf).Ends()
	_, err = s.Load(ctx, bench.Request{ID: shoptest.NewID(), Mark: shelf, Cart: string(cart.Mark)})
	require.NoError(t, err)
	warm := s.wait(shelf).Ends()
	assert.InDelta(t, 4*1169.0/909.0, cold.Sub(shoptest.Noon).Hours(), 0.02)
	assert.InDelta(t, 4+1-909.0/1169.0, warm.Sub(shoptest.Noon).Hours(), 0.02)
	s.reads(shoptest.Noon.Add(30*time.Minute), 20, 50, string(cart.Mark)) // an earlier one of the place
	assert.InDelta(t, 4+(1-909.0/1169.0)/2, s.wait(shelf).Ends().Sub(shoptest.Noon).Hours(), 0.02)
}

func TestBadReadingsAreRefusedAndNoneIsKept(t *testing.T) {
	s := openShop(t)
	ctx := context.Background()
	good := bench.Reading{Celsius: 20, Humidity: 50}
	for code, bad := range map[string]bench.Reading{
		"reading-humidity":    {Celsius: 20, Humidity: 140},
		"reading-temperature": {Celsius: 68, Humidity: 50},
		"reading-ahead":       {Celsius: 20, Humidity: 50, At: shoptest.Noon.Add(time.Hour)},
		"reading-time":        {Celsius: 20, Humidity: 50, At: time.Unix(0, 0)},
		"place-unknown":       {Celsius: 20, Humidity: 50, Place: "nowhere"},
	} {
		_, err := s.AddReadings(ctx, "", bench.FromSensor, []bench.Reading{good, bad})
		require.Equal(t, code, parts.CodeOf(err))
		assert.Equal(t, 2, parts.AsProblem(err).Facts["reading"])
	}
	all, err := s.LastReadings(ctx, 10)
	require.NoError(t, err)
	assert.Empty(t, all)
	_, err = s.AddReadings(ctx, "", bench.FromSensor, nil)
	assert.Equal(t, "readings-none", parts.CodeOf(err))
}

// A sheet that changes is for what is put on from then on.
func TestWhatIsWetDriesOnByItsOwnSheet(t *testing.T) {
	s := openShop(t)
	ctx := context.Background()
	shelf := coated(s)
	all, err := s.Products(ctx)
	require.NoError(t, err)
	for _, p := range all {
		if p.Key == "water-clear" {
			p.Recoat, p.Sand = 600, 600
			_, err = s.SaveProduct(ctx, p)
			require.NoError(t, err)
		}
	}
	assert.Equal(t, shoptest.Noon.Add(4*time.Hour), s.wait(shelf).Ends())
	s.clock.Set(shoptest.Noon.Add(4 * time.Hour))
	s.must(shelf, "topcoat")
	w := s.wait(shelf)
	assert.Equal(t, []any{2, 24 * 60}, []any{w.Version, w.Needs})
}

func TestStepsNameProductsOfTheShop(t *testing.T) {
	s := openShop(t)
	ctx := context.Background()
	steps := func(w parts.Step) parts.Routing {
		w.Name = "dry"
		return parts.Routing{Name: "Own steps", For: parts.Single, Steps: []parts.Step{{Name: "brush", Station: "topcoat", Record: true, Coat: "varnish", Coats: parts.Faces}, w, {Name: "wrap", Station: "wrap"}}}
	}
	r, err := s.SaveRouting(ctx, steps(parts.Step{Clock: parts.Drying, Product: "oil-varnish"}))
	require.NoError(t, err)
	assert.Equal(t, []any{"coat it again", 24 * 60}, []any{r.Steps[1].Need, r.Steps[1].Minutes}, "what is expected comes from the data sheet")
	for _, bad := range []parts.Step{
		{Clock: parts.Drying, Minutes: 60, Product: "moonshine"},
		{Clock: parts.Drying, Minutes: 60, Product: "pva-glue"},
		{Clock: parts.Clamps, Minutes: 60, Product: "oil-varnish"},
		{Clock: parts.Drying, Minutes: 60, Product: "oil-varnish", Need: "take the clamps off"},
	} {
		_, err := s.SaveRouting(ctx, steps(bad))
		assert.Equal(t, "step-product", parts.CodeOf(err), "%+v", bad)
	}
}

// The window is the product's: warm air closes it sooner, and what its sheet
// says is said.
func TestTheRecoatWindowMovesWithTheAir(t *testing.T) {
	s := openShop(t)
	ctx := context.Background()
	p, err := s.SaveProduct(ctx, bench.Product{Product: drying.Product{Name: "Two-hour varnish", Kind: drying.Clear, Celsius: 20, Humidity: 50, Lowest: 5,
		Recoat: 60, Latest: 240, Cure: 1440, Missed: "Scuff it and wipe off the dust."}})
	require.NoError(t, err)
	require.Equal(t, "two-hour-varnish", p.Key)
	r, err := s.SaveRouting(ctx, parts.Routing{Name: "Own steps", For: parts.Single, Steps: []parts.Step{
		{Name: "varnish, first coat", Station: "topcoat", Record: true, Coat: "varnish", Coats: parts.Faces},
		{Name: "dry", Clock: parts.Drying, Product: p.Key, Need: string(drying.Recoat)},
		{Name: "varnish, second coat", Station: "topcoat", Record: true, Coat: "varnish", Coats: parts.Faces}}})
	require.NoError(t, err)
	shelf := s.mark("Shelf")
	line := s.job.LineOf(s.job.States[len(s.job.States)-1]).ID
	for _, st := range s.job.States {
		if string(st.Part) == shelf {
			line = st.Line
		}
	}
	require.NoError(t, s.ChangeSteps(ctx, bench.JobRequest{ID: shoptest.NewID(), Job: s.job.Job.Code, Line: line, Steps: r.Key}))
	s.must(shelf, "topcoat")
	assert.Equal(t, shoptest.Noon.Add(4*time.Hour), s.wait(shelf).Closes())
	s.reads(shoptest.Noon, 30, 50)
	closes := shoptest.Noon.Add(160 * time.Minute) // half as fast again is the most
	assert.Equal(t, closes, s.wait(shelf).Closes().Round(time.Second))
	s.clock.Set(closes.Add(time.Minute))
	_, err = s.scan(shelf, "topcoat")
	require.Equal(t, "window-missed", parts.CodeOf(err))
	assert.Contains(t, err.Error(), "Scuff it and wipe off the dust.")
	board, err := s.Drying(ctx)
	require.NoError(t, err)
	require.Len(t, board.Windows(), 1)
	assert.True(t, board.Windows()[0].TooLate(board.Now))
}

// From the readings to the refusal: with every hour counting half, a step has
// to wait for twice as long. A factor of two for 10 °C is a rule of thumb, no
// source.
func TestHalvingTheRateDoublesTheWaitFromEndToEnd(t *testing.T) {
	shoptest.Cases(t, 15)
	rapid.Check(t, func(rt *rapid.T) {
		clock := shoptest.NewClock()
		b := shoptest.Open(t, clock)
		s := &shop{T: t, Bench: b, clock: clock, job: shoptest.ListJob(t, b, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})}
		warm := rapid.Float64Range(20, 40).Draw(rt, "warm")
		halved := rapid.Bool().Draw(rt, "halved")
		shelf := s.mark("Shelf")
		_, err := s.scan(shelf, "stain", func(r *bench.Request) { r.Override = true })
		require.NoError(rt, err)
		hours := 12.0
		if s.reads(shoptest.Noon, warm, 50); halved {
			s.reads(shoptest.Noon, 10, 50)
			hours = 24
		}
		for _, nothing := range rapid.SliceOfN(rapid.Float64Range(1, 20), 0, 3).Draw(rt, "the same again") {
			celsius := warm
			if halved {
				celsius = 10
			}
			clock.Set(later(clock.Now(), shoptest.Noon.Add(time.Duration(nothing*float64(time.Hour))/2)))
			s.reads(shoptest.Noon.Add(time.Duration(nothing*float64(time.Hour))/2), celsius, 50)
		}
		ends := s.wait(shelf).Ends()
		require.InDelta(rt, hours, ends.Sub(shoptest.Noon).Hours(), 0.001)
		clock.Set(ends.Add(-time.Second))
		_, err = s.scan(shelf, "stain")
		require.Equal(rt, "waiting", parts.CodeOf(err))
		clock.Set(ends.Add(time.Millisecond))
		_, err = s.scan(shelf, "stain")
		require.NoError(rt, err)
	})
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// A server judges by what another one of the same shop was told.
func TestTwoServersJudgeAlike(t *testing.T) {
	if !shoptest.OnPostgres() {
		t.Skip("a SQLite file has one server")
	}
	ctx, clock, dsn := context.Background(), shoptest.NewClock(), shoptest.DSN(t)
	var both []*bench.Bench
	for range 2 {
		b, err := bench.Open(ctx, dsn, bench.Options{Clock: clock.Now})
		require.NoError(t, err)
		defer b.Close()
		both = append(both, b)
	}
	s := &shop{T: t, Bench: both[0], clock: clock, job: shoptest.ListJob(t, both[0], "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})}
	other := &shop{T: t, Bench: both[1], clock: clock, job: s.job}
	shelf := coated(s)
	other.reads(shoptest.Noon, 16, 50)
	clock.Set(shoptest.Noon.Add(4*time.Hour + time.Minute))
	_, err := s.scan(shelf, "topcoat")
	require.Equal(t, "waiting", parts.CodeOf(err))
	other.reads(shoptest.Noon, 20, 50)
	assert.Equal(t, shoptest.Noon.Add(4*time.Hour), s.wait(shelf).Ends())
	s.must(shelf, "topcoat")
}

// What is computed is in no saved state and in no event.
func TestForecastsDoNotLeakIntoTheLog(t *testing.T) {
	s := openShop(t)
	shelf := coated(s)
	s.reads(shoptest.Noon, 5, 50)
	s.clock.Pass(time.Hour)
	_, err := s.Hold(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: shelf, Reason: "a sag", Note: "a sag"})
	require.NoError(t, err)
	_, err = s.Release(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: shelf})
	require.NoError(t, err)
	events, err := s.Events(context.Background(), shelf)
	require.NoError(t, err)
	for _, e := range events {
		data, err := json.Marshal(e)
		require.NoError(t, err)
		assert.NotContains(t, string(data), `"Dry"`)
	}
	assert.Equal(t, parts.Never, s.wait(shelf).Ends())
	assert.Equal(t, shoptest.Noon.Add(4*time.Hour), parts.Fold(events).Waits[0].Until)
}

func TestTheBoardSaysWhatIsWetAndUntilWhen(t *testing.T) {
	s := openShop(t)
	ctx := context.Background()
	shelf := coated(s)
	s.reads(shoptest.Noon, 16, 50)
	s.clock.Set(shoptest.Noon.Add(time.Hour))
	board, err := s.Drying(ctx)
	require.NoError(t, err)
	require.Len(t, board.Rows, 1)
	row := board.Rows[0]
	assert.Equal(t, []any{parts.ID(shelf), "topcoat", "in the booth", parts.Drying, drying.Recoat, "Water-borne clear coat", "topcoat, second coat", drying.Tonight},
		[]any{row.Mark, row.Place, row.Where, row.Clock, row.Need, row.Product, row.Next, row.When})
	assert.InDelta(t, 909.0/1169/4, row.Share, 0.001)
	require.Len(t, board.Airs, 1)
	assert.InDelta(t, 5.6, board.Airs[0].DewPoint, 0.1, "dew point of 16 °C and 50 %, by the formula")
	assert.Empty(t, board.In("glue").Rows)
	floor, err := s.Floor(ctx)
	require.NoError(t, err)
	require.Len(t, floor.Jobs[0].Waits, 1)
	assert.Equal(t, row.Ready, floor.Jobs[0].Waits[0].Until, "the floor shows the same forecast")

	plot, err := s.DryingPlot(ctx, "")
	require.NoError(t, err)
	require.Len(t, plot.Lines, 1)
	for i, at := range plot.Times {
		switch hours := at.Sub(shoptest.Noon).Hours(); {
		case hours < 0:
			assert.Negative(t, plot.Lines[0].Percent[i])
		default:
			assert.InDelta(t, math.Min(100, 25*hours*909/1169), plot.Lines[0].Percent[i], 0.1)
		}
	}
	s.clock.Set(row.Ready.Add(time.Minute))
	board, err = s.Drying(ctx)
	require.NoError(t, err)
	require.Len(t, board.By(drying.IsReady), 1)
}

// Six of twelve doors got their first coat straight from the rip saw. At the
// staining bench that coat is offered to the other six first; after it comes
// what would be too early for the wet ones.
func TestAHalfCoatedTicketOffersTheOtherHalf(t *testing.T) {
	s := openShop(t)
	ctx := context.Background()
	job := shoptest.ListJob(t, s.Bench, "Doors", "qty,part,length,width,thickness,material\n12,Door,30,10,3/4,white oak\n", nil)
	ticket := string(job.Lines[0].Ticket)
	offered := func(at parts.Station) (out []string) {
		p, err := s.Look(ctx, ticket)
		require.NoError(t, err)
		offers, err := s.Offers(ctx, p, at)
		require.NoError(t, err)
		for _, o := range offers {
			say := fmt.Sprintf("%d × %s", o.Due, o.Step.Name)
			if o.Wait != nil {
				say = fmt.Sprintf("%s: %s", o.Reason, say)
			}
			out = append(out, say)
		}
		return out
	}
	for _, at := range []parts.Station{"crosscut", "rip", "joint"} {
		s.must(ticket, at)
		s.clock.Pass(25 * time.Hour)
	}
	before := offered("stain")
	require.Contains(t, before, "12 × stain, first coat")
	_, err := s.scan(ticket, "stain", func(r *bench.Request) { r.Count = 6 })
	require.NoError(t, err)
	assert.Equal(t, []string{"6 × stain, first coat", "Dry by touch: 6 × stain, second coat", "6 × rip to width"}, offered("stain"))
	assert.Equal(t, "6 × rip to width", offered("rip")[0])
	assert.Equal(t, "6 × rip to width", offered("")[0], "what need not wait comes first everywhere")
	a := s.must(ticket, "stain")
	assert.Equal(t, []any{"stain, first coat", 6}, []any{a.Did, a.Count})
	assert.Equal(t, []string{"Dry by touch: 12 × stain, second coat"}, offered("stain"))
}

// After the last coat nobody is told to hurry with another one, and touch-dry
// is not called hard.
func TestTheLastCoatGetsNoOther(t *testing.T) {
	s := openShop(t)
	ctx := context.Background()
	p, err := s.SaveProduct(ctx, bench.Product{Product: drying.Product{Name: "Hall varnish", Kind: drying.Clear, Celsius: 20, Humidity: 50, Lowest: 5,
		Recoat: 60, Latest: 240, Wrap: 1440, Cure: 1440, Missed: "Scuff it."}})
	require.NoError(t, err)
	coat := func(name string) parts.Step {
		return parts.Step{Name: name, Station: "topcoat", Record: true, Coat: "varnish", Coats: parts.Faces}
	}
	r, err := s.SaveRouting(ctx, parts.Routing{Name: "Varnished", For: parts.Single, Steps: []parts.Step{
		coat("varnish, first coat"), {Name: "dry", Clock: parts.Drying, Product: p.Key, Need: string(drying.Recoat)},
		coat("varnish, second coat"), {Name: "dry", Clock: parts.Drying, Product: p.Key, Need: string(drying.Wrap)}, {Name: "wrap", Station: "wrap"}}})
	require.NoError(t, err)
	shelf := s.mark("Shelf")
	look := func() bench.Piece {
		piece, err := s.Look(ctx, shelf)
		require.NoError(t, err)
		return piece
	}
	require.NoError(t, s.ChangeSteps(ctx, bench.JobRequest{ID: shoptest.NewID(), Job: s.job.Job.Code, Line: look().State.Line, Steps: r.Key}))
	windows := func() int {
		d, err := s.Drying(ctx)
		require.NoError(t, err)
		return len(d.Windows())
	}
	s.must(shelf, "topcoat")
	assert.Equal(t, []any{shoptest.Noon.Add(4 * time.Hour), 1}, []any{look().Closes, windows()})
	s.clock.Pass(2 * time.Hour)
	s.must(shelf, "topcoat")
	assert.Equal(t, []any{time.Time{}, 0}, []any{look().Closes, windows()})
	offers, err := s.Offers(ctx, look(), "wrap")
	require.NoError(t, err)
	require.Len(t, offers, 1)
	assert.Equal(t, "Hard: a thumbnail leaves no mark", offers[0].Reason)
}
