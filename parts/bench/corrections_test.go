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

func TestTheLargestPileAtAStationComesFirst(t *testing.T) {
	s := openShop(t)
	ticket := s.ticket("Rail")
	first := s.mark("Rail 1")
	for _, line := range []string{"Rail 2", "Rail 3", "Rail 4"} {
		s.must(s.mark(line), "joint")
	}
	s.must(first, "crosscut")
	p, err := s.Look(context.Background(), ticket)
	require.NoError(t, err)
	offers, err := s.Offers(context.Background(), p, "rip")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(offers), 2)
	assert.Equal(t, "rip to width", offers[0].Step.Name)
	assert.Equal(t, 3, offers[0].Due)
	assert.Equal(t, "rough width", offers[1].Step.Name)
	assert.Equal(t, 1, offers[1].Due)
	a := s.must(ticket, "rip")
	assert.Equal(t, "rip to width", a.Did, "a scan without a step means the pile that lies there")
	assert.Equal(t, 3, a.Count)
}

func TestAWaitThatWasCutShortStaysVisible(t *testing.T) {
	s := openShop(t)
	stile := s.mark("Stile 1")
	s.must(stile, "rip")
	s.clock.Pass(time.Hour)
	_, err := s.scan(stile, "joint", func(r *bench.Request) { r.Override, r.Reason = true, "It has moved enough" })
	require.NoError(t, err)
	p, err := s.Look(context.Background(), stile)
	require.NoError(t, err)
	assert.Equal(t, parts.WasFilled, p.State.Past[2].How)
	assert.Equal(t, parts.DottedNotch, p.Strip.Notches[2].Shape)
	assert.Equal(t, "It has moved enough", p.Moments[0].Why)
	s.clock.Pass(0)
	other := s.mark("Stile 2")
	s.must(other, "rip")
	s.clock.Pass(24 * time.Hour)
	s.must(other, "joint")
	p, err = s.Look(context.Background(), other)
	require.NoError(t, err)
	assert.Equal(t, parts.WasDone, p.State.Past[2].How)
}

func TestStepsOfALineChangeBeforeWorkStarts(t *testing.T) {
	s := openShop(t)
	line := s.job.Lines[2] // the shelf
	change := func(steps string) error {
		return s.ChangeSteps(context.Background(), bench.JobRequest{ID: shoptest.NewID(), Job: s.job.Job.Code, Line: line.ID, Steps: steps})
	}
	require.NoError(t, change("panel"))
	p, err := s.Look(context.Background(), s.mark("Shelf"))
	require.NoError(t, err)
	assert.Equal(t, "rip to width", p.Next.Name)
	ticket, err := s.Look(context.Background(), string(line.Ticket))
	require.NoError(t, err)
	assert.Equal(t, "rip to width", ticket.Steps[0].Name, "the ticket follows its parts")
	assert.Equal(t, "steps-for", parts.CodeOf(change("frame")))
	assert.Equal(t, "steps-unknown", parts.CodeOf(change("none")))
	s.must(s.mark("Shelf"), "rip")
	assert.Equal(t, "under-way", parts.CodeOf(change("loose-part")))
}

func TestAJobIsTakenBackBeforeWorkStarts(t *testing.T) {
	s := openShop(t)
	other := shoptest.ListJob(t, s.Bench, "Tern Point benches", shoptest.FramesList, nil)
	back := func(job string) error {
		return s.TakeBackJob(context.Background(), bench.JobRequest{ID: shoptest.NewID(), Job: job})
	}
	require.NoError(t, back(other.Job.Code))
	board, err := s.Floor(context.Background())
	require.NoError(t, err)
	require.Len(t, board.Jobs, 1, "it is off the floor")
	_, err = s.scan(string(other.Lines[0].Ticket), "crosscut")
	assert.Error(t, err)
	s.must(s.mark("Shelf"), "crosscut")
	assert.Equal(t, "under-way", parts.CodeOf(back(s.job.Job.Code)))
}
