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

const twelveFrames = `qty,part,length,width,thickness,material,assembly
24,Stile,34 1/2,2 1/4,3/4,white oak,Locker front
12,Top rail,11 3/8,2 1/4,3/4,white oak,Locker front
12,Bottom rail,11 3/8,3,3/4,white oak,Locker front
`

// mostTaps is what 48 parts in 12 frames may cost from the rack to wrapped,
// exceptions apart: about a tap a part would be a pencil mark too many.
const mostTaps = 55

// TestTheSmallestHabit takes 48 parts in 12 frames from the rack to wrapped
// and counts the taps: each one is the first button that the page offers.
func TestTheSmallestHabit(t *testing.T) {
	clock := shoptest.NewClock()
	b := shoptest.Open(t, clock)
	job := shoptest.ListJob(t, b, "Tern Point lockers", twelveFrames, nil)
	taps := 0
	tap := func(mark parts.ID, at parts.Station, step string) {
		t.Helper()
		p, err := b.Look(context.Background(), string(mark))
		require.NoError(t, err)
		offers, err := b.Offers(context.Background(), p, at)
		require.NoError(t, err)
		for _, o := range offers {
			if o.Step.Name != step {
				continue
			}
			a, err := b.Scan(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: string(mark), Station: at, Step: o.Number, Count: o.Due})
			require.NoError(t, err)
			require.Nil(t, a.Problem)
			taps++
			return
		}
		t.Fatalf("%s offers no %q at %s", mark, step, at)
	}
	for _, s := range []struct {
		at   parts.Station
		step string
	}{{"crosscut", "rough length"}, {"rip", "rough width"}, {"joint", "joint a face and an edge"}, {"rip", "rip to width"},
		{"plane", "plane"}, {"crosscut", "cut to length"}, {"bore", "bore"}} {
		for _, l := range job.Lines[:3] {
			tap(l.Ticket, s.at, s.step)
		}
		clock.Pass(25 * time.Hour)
	}
	for _, s := range job.States {
		if s.Kind == parts.Assembly {
			tap(s.Part, "glue", "glue up, clamps on")
		}
	}
	frames := job.Lines[3].Ticket
	for _, s := range []struct {
		at   parts.Station
		step string
	}{{"sand", "sand"}, {"stain", "stain, first coat"}, {"stain", "stain, second coat"},
		{"topcoat", "topcoat, first coat"}, {"topcoat", "topcoat, second coat"}, {"wrap", "wrap"}} {
		clock.Pass(25 * time.Hour)
		tap(frames, s.at, s.step)
	}
	done, err := b.Job(context.Background(), job.Job.Code)
	require.NoError(t, err)
	wrapped := 0
	for _, s := range done.States {
		if s.Kind == parts.Assembly && s.Finished {
			wrapped++
		}
	}
	assert.Equal(t, 12, wrapped)
	assert.LessOrEqual(t, taps, mostTaps)
	t.Logf("%d taps for 48 parts in 12 frames", taps)
}
