package server

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// wetShelf is a shop with a shelf that got its first topcoat at noon.
func wetShelf(t *testing.T) *program {
	p := openProgram(t, false)
	job := shoptest.ListJob(t, p.bench, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	for _, st := range job.States {
		if job.LineOf(st).Name == "Shelf" && st.Kind != parts.Ticket {
			_, err := p.bench.Scan(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: string(st.Part), Station: "topcoat", Override: true})
			require.NoError(t, err)
		}
	}
	return p
}

// 12 °C and 70 % have a dew point of 6.7 °C; the Wood Handbook, table 4-2, gives
// 13.4 % at 50 °F (10 °C) and 13.3 % at 60 °F.
func TestASensorMovesWhatIsWet(t *testing.T) {
	p := wetShelf(t)
	var before, after wetBoardJSON
	p.get("/api/v1/drying").into(&before)
	require.Len(t, before.Rows, 1)
	assert.Equal(t, shoptest.Noon.Add(4*time.Hour), before.Rows[0].Ready)
	var kept readingsKept
	p.post("/api/v1/readings", map[string]any{"readings": []any{map[string]any{"celsius": 14, "humidity": 50}, map[string]any{"place": "topcoat", "celsius": 12, "humidity": 70}}}).is(201, "").into(&kept)
	assert.Equal(t, 2, kept.Kept)
	p.get("/api/v1/drying?place=topcoat").into(&after)
	require.Len(t, after.Rows, 1)
	assert.True(t, after.Rows[0].Still, "water-borne clear wants 13 °C, and the booth has its own reading")
	assert.Equal(t, []string{"It is colder than 55 °F: nothing happens until it is warmer. Warm the room and the parts."}, after.Rows[0].Why)
	require.Len(t, after.Air, 2)
	require.NotNil(t, after.Air[1].DewPoint)
	assert.InDelta(t, 6.7, *after.Air[1].DewPoint, 0.1)
	assert.InDelta(t, 13.4, after.Air[1].Moisture, 0.1)
	p.post("/api/v1/readings", map[string]any{"place": "topcoat", "celsius": 20, "humidity": 50}).is(201, "")
	p.get("/api/v1/drying?place=nowhere").into(&after)
	assert.Empty(t, after.Rows)
}

func TestNothingOfBadReadingsIsKept(t *testing.T) {
	p := wetShelf(t)
	for body, code := range map[string]string{
		`{"celsius":20,"humidity":140}`:              "reading-humidity",
		`{"celsius":20}`:                             "field-missing",
		`{"celsius":"20","humidity":50}`:             "field-wrong",
		`{"readings":[]}`:                            "readings-none",
		`{"celsius":20,"humidity":50,"readings":[]}`: "readings-twice",
		`{"readings":[{"celsius":20,"humidity":50},{"celsius":20,"humidity":140}]}`: "reading-humidity",
		`{"readings":[{"celsius":20,"humidity":50,"dew":1}]}`:                       "field-unknown",
		`{"readings":[7]}`: "body-no-object",
		`{"celsius":20,"humidity":50,"place":"nowhere"}`:                                        "place-unknown",
		`{"celsius":20,"humidity":50,"at":"2026-03-02T13:00:00Z"}`:                              "reading-ahead",
		`{"readings":[` + strings.Repeat(`{"celsius":20,"humidity":50},`, 10_000) + `{}` + `]}`: "body-large",
	} {
		r := p.send("POST", "/api/v1/readings", body)
		var problem struct{ Code string }
		r.into(&problem)
		assert.Equal(t, code, problem.Code)
	}
	all, err := p.bench.LastReadings(context.Background(), 5)
	require.NoError(t, err)
	assert.Empty(t, all)
}
