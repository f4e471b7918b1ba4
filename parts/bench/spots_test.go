package bench_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// A ticket of frames says what the floor says of them.
func TestATicketOfFramesSaysHowManyLackParts(t *testing.T) {
	ctx := context.Background()
	s := openShop(t)
	short := func() int {
		p, err := s.Look(ctx, s.ticket("Locker front"))
		require.NoError(t, err)
		spots, err := s.Spots(ctx, p)
		require.NoError(t, err)
		require.Len(t, spots, 1)
		require.Equal(t, 2, spots[0].Count)
		f, err := s.Floor(ctx)
		require.NoError(t, err)
		ready := 0
		for _, at := range f.Jobs[0].Stations {
			for _, g := range at.Groups {
				if g.Line.Kind == parts.Assembly {
					ready += g.Ready
				}
			}
		}
		assert.Equal(t, ready, spots[0].Count-spots[0].Short, "the floor")
		return spots[0].Short
	}
	assert.Equal(t, 2, short())
	s.mill("Stile")
	assert.Equal(t, 2, short(), "no rail yet")
	s.mill("Rail")
	assert.Zero(t, short())
	for i, want := range []int{0, 1} { // there is one spare
		_, err := s.Hold(ctx, bench.Request{ID: shoptest.NewID(), Mark: s.mark(fmt.Sprintf("Rail %d", i+1)), Reason: "a knot"})
		require.NoError(t, err)
		assert.Equal(t, want, short(), "%d rails are held", i+1)
	}
}
