package bench_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// Whatever is ticked and whenever it is said to have been: what was recorded
// is the beginning of what was signed, nothing is overruled, and the page sent
// again records nothing twice.
func TestWhatIsSignedIsRecordedOnce(t *testing.T) {
	shoptest.Cases(t, 20)
	ctx := context.Background()
	clock := shoptest.NewClock()
	b := shoptest.Open(t, clock)
	job := shoptest.ListJob(t, b, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	rapid.Check(t, func(t *rapid.T) {
		clock.Pass(7 * 24 * time.Hour)
		var marks []string
		for _, s := range job.States {
			marks = append(marks, string(s.Part))
		}
		r := bench.SignedRequest{ID: shoptest.NewID(), Mark: rapid.SampledFrom(marks).Draw(t, "mark")}
		at := clock.Now().Add(-7 * 24 * time.Hour)
		for step := range 15 {
			if rapid.Bool().Draw(t, "ticked") {
				at = at.Add(time.Duration(rapid.IntRange(0, 16).Draw(t, "hours")) * time.Hour)
				r.Signatures = append(r.Signatures, bench.Signature{Step: step + 1, By: "Rosa", At: at})
			}
		}
		if len(r.Signatures) == 0 {
			return
		}
		first, err := b.Sign(ctx, r)
		require.NoError(t, err)
		require.Len(t, first.Left, len(r.Signatures)-len(first.Recorded))
		require.Equal(t, first.Problem == nil, len(first.Left) == 0)
		for i, s := range first.Recorded {
			require.Equal(t, r.Signatures[i], s.Signature)
		}
		events, err := b.Events(ctx, r.Mark)
		require.NoError(t, err)
		for _, e := range events {
			require.Empty(t, e.Detail.Override)
		}
		again, err := b.Sign(ctx, r)
		require.NoError(t, err)
		require.Equal(t, len(first.Recorded), len(again.Recorded))
		require.Equal(t, parts.CodeOf(first.Problem), parts.CodeOf(again.Problem))
		since, err := b.Events(ctx, r.Mark)
		require.NoError(t, err)
		require.Equal(t, events, since)
	})
}
