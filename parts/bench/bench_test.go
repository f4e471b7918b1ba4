package bench_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// shop is a shop under test with a clock set by hand.
type shop struct {
	*testing.T
	*bench.Bench
	clock *shoptest.Clock
	job   bench.JobPieces
}

func openShop(t *testing.T) *shop {
	clock := shoptest.NewClock()
	b := shoptest.Open(t, clock)
	return &shop{T: t, Bench: b, clock: clock, job: shoptest.ListJob(t, b, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})}
}

// mark gives the mark of a piece by its name.
func (s *shop) mark(name string) string {
	s.Helper()
	for _, st := range s.job.States {
		if parts.PieceName(s.job.LineOf(st), st) == name && st.Kind != parts.Ticket {
			return string(st.Part)
		}
	}
	s.Fatalf("no piece %q", name)
	return ""
}

func (s *shop) ticket(line string) string {
	s.Helper()
	for _, l := range s.job.Lines {
		if l.Name == line {
			return string(l.Ticket)
		}
	}
	s.Fatalf("no line %q", line)
	return ""
}

// scan records a step and lets the time pass that it makes the part wait.
func (s *shop) scan(mark string, at parts.Station, also ...func(*bench.Request)) (bench.Answer, error) {
	r := bench.Request{ID: shoptest.NewID(), Mark: mark, Station: at, By: "Ann"}
	for _, f := range also {
		f(&r)
	}
	return s.Scan(context.Background(), r)
}

func (s *shop) must(mark string, at parts.Station) bench.Answer {
	s.Helper()
	a, err := s.scan(mark, at)
	require.NoError(s, err)
	require.Equal(s, "recorded", a.Outcome)
	return a
}

func TestTheMainJob(t *testing.T) {
	s := openShop(t)
	for _, line := range []string{"Stile", "Rail"} {
		ticket := s.ticket(line)
		s.must(ticket, "crosscut")
		s.must(ticket, "rip")
		_, err := s.scan(ticket, "joint")
		require.Equal(t, "waiting", parts.CodeOf(err))
	}
	s.clock.Pass(24 * time.Hour)
	for _, line := range []string{"Stile", "Rail"} {
		ticket := s.ticket(line)
		for _, at := range []parts.Station{"joint", "rip", "plane", "crosscut"} {
			s.must(ticket, at)
		}
		require.NotZero(t, s.must(ticket, "bore").Count)
	}
	frame := s.mark("Locker front 1")
	require.Equal(t, "dry fit", s.must(frame, "glue").Did)
	require.Equal(t, "glue up, clamps on", s.must(frame, "glue").Did)
	_, err := s.scan(frame, "sand")
	require.Equal(t, "waiting", parts.CodeOf(err))
	for _, at := range []parts.Station{"sand", "stain", "stain", "topcoat", "topcoat", "wrap"} {
		s.clock.Pass(25 * time.Hour)
		s.must(frame, at)
	}
	p, err := s.Look(context.Background(), frame)
	require.NoError(t, err)
	require.Equal(t, "finished", p.Stands)
	require.Len(t, p.State.Parts, 4)
	board, err := s.Floor(context.Background())
	require.NoError(t, err)
	require.Equal(t, 1, board.Jobs[0].Finished)
}
