package bench_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// milled takes the tickets of both lines of a frame to the end of the mill.
func milled(s *shop) {
	for _, line := range []string{"Stile", "Rail"} {
		s.must(s.ticket(line), "bore")
	}
}

func TestAStepTakenForGrantedIsRecordedLate(t *testing.T) {
	s := openShop(t)
	stile := s.mark("Stile 1")
	s.clock.Pass(2 * time.Hour)
	s.must(stile, "plane") // fills in what comes before
	early := shoptest.Noon.Add(time.Hour)
	a, err := s.scan(stile, "joint", func(r *bench.Request) { r.At = early })
	require.NoError(t, err)
	assert.Equal(t, "recorded", a.Outcome)
	assert.Equal(t, "joint a face and an edge", a.Did)
	p, err := s.Look(context.Background(), stile)
	require.NoError(t, err)
	assert.Equal(t, parts.WasDone, p.State.Past[3].How)
	assert.Equal(t, early, p.State.Past[3].At)
	assert.Equal(t, "cut to length", p.Next.Name, "nothing moves by it")
	a, err = s.scan(stile, "joint", func(r *bench.Request) { r.At = early })
	require.NoError(t, err)
	assert.Equal(t, "parked", a.Outcome, "a second one is for a person to look at")
}

func TestAPersonSaysThatAStepWasDone(t *testing.T) {
	s := openShop(t)
	stile := s.mark("Stile 1")
	s.must(stile, "plane")
	a, err := s.scan(stile, "", func(r *bench.Request) { r.Step = 2 })
	require.NoError(t, err)
	assert.Equal(t, "rough width", a.Did)
	a, err = s.scan(stile, "", func(r *bench.Request) { r.Step = 2 })
	require.NoError(t, err)
	assert.Equal(t, "already", a.Outcome)
	a, err = s.scan(stile, "", func(r *bench.Request) { r.Step = 6 })
	require.NoError(t, err)
	assert.Equal(t, "already", a.Outcome, "a recorded step is not recorded twice")
}

func TestALateScanIsSettledByAPerson(t *testing.T) {
	s := openShop(t)
	stile := s.mark("Stile 1")
	s.clock.Pass(2 * time.Hour)
	s.must(stile, "bore")
	frame := s.mark("Locker front 1")
	s.must(s.ticket("Stile"), "bore")
	s.must(s.ticket("Rail"), "bore")
	s.must(frame, "glue")
	a, err := s.scan(frame, "glue", func(r *bench.Request) { r.At = shoptest.Noon.Add(time.Hour) })
	require.NoError(t, err)
	require.Equal(t, "parked", a.Outcome)
	late, err := s.LateScans(context.Background())
	require.NoError(t, err)
	require.Len(t, late, 1)
	a, err = s.RecordLate(context.Background(), shoptest.NewID(), late[0].Command)
	require.NoError(t, err)
	assert.Equal(t, "glue up, clamps on", a.Did)
	assert.Equal(t, s.clock.Now(), a.At, "as of now")
	require.NoError(t, s.Settle(context.Background(), late[0].Command))
	late, err = s.LateScans(context.Background())
	require.NoError(t, err)
	assert.Empty(t, late)
	_, err = s.RecordLate(context.Background(), shoptest.NewID(), shoptest.NewID())
	assert.Equal(t, "late-gone", parts.CodeOf(err))
}

func TestADryFitComesApartAndAGlueUpDoesNot(t *testing.T) {
	s := openShop(t)
	milled(s)
	frame := s.mark("Locker front 1")
	apart := func() (bench.Answer, error) {
		return s.TakeApart(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: frame})
	}
	a, err := apart()
	require.NoError(t, err)
	assert.Equal(t, "already", a.Outcome)
	s.must(frame, "glue")
	before, err := s.Look(context.Background(), frame)
	require.NoError(t, err)
	a, err = apart()
	require.NoError(t, err)
	assert.Equal(t, "dry fit", a.Next.Name)
	for _, id := range before.State.Parts {
		p, err := s.Look(context.Background(), string(id))
		require.NoError(t, err)
		assert.Equal(t, "finished", p.Stands, "each part has its own life back")
	}
	s.must(s.mark("Locker front 2"), "glue")
	s.must(frame, "glue")
	s.must(frame, "glue")
	_, err = apart()
	assert.Equal(t, "glued", parts.CodeOf(err))
	_, err = s.TakeApart(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: s.mark("Shelf")})
	assert.Equal(t, "not-an-assembly", parts.CodeOf(err))
}

func TestTakingBackLaterWantsAReason(t *testing.T) {
	s := openShop(t)
	rail := s.mark("Rail 1")
	a := s.must(rail, "crosscut")
	command, err := parts.ParseCommandID(a.Command)
	require.NoError(t, err)
	s.clock.Pass(bench.Freely + time.Second)
	_, err = s.Undo(context.Background(), bench.UndoRequest{ID: shoptest.NewID(), Command: command})
	require.Equal(t, "undo-reason", parts.CodeOf(err))
	back, err := s.Undo(context.Background(), bench.UndoRequest{ID: shoptest.NewID(), Command: command, Reason: "wrong ticket"})
	require.NoError(t, err)
	assert.Equal(t, "undone", back.Did)
	p, err := s.Look(context.Background(), rail)
	require.NoError(t, err)
	assert.Equal(t, "wrong ticket", p.Moments[0].Why)
}
