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

// A label that a repair sands off is printed again; one on another face stays.
func TestARepairUnderTheLabelQueuesIt(t *testing.T) {
	ctx := context.Background()
	s := openShop(t)
	s.mill("Stile")
	due := func(name string) bool {
		p, err := s.Look(ctx, s.mark(name))
		require.NoError(t, err)
		return p.State.LabelDue
	}
	p, err := s.Look(ctx, s.mark("Stile 1"))
	require.NoError(t, err)
	require.Contains(t, p.Label.String(), "back", "that is where the label sits now")
	s.printed(bench.PrintRequest{What: "labels"})
	require.False(t, due("Stile 1"))
	mend := func(name, defect, spot string) {
		_, err := s.Mend(ctx, bench.Request{ID: shoptest.NewID(), Mark: s.mark(name), Defect: defect, Spot: spot, By: "Ann"})
		require.NoError(t, err)
	}
	repair := func(name string, step int) bench.Answer {
		a, err := s.Scan(ctx, bench.Request{ID: shoptest.NewID(), Mark: s.mark(name), Step: parts.StepNumber(step, true), By: "Ann"})
		require.NoError(t, err)
		return a
	}
	mend("Stile 1", "tear-out", "back")
	assert.False(t, due("Stile 1"), "not before it is sanded")
	repair("Stile 1", 0)
	assert.True(t, due("Stile 1"))
	mend("Stile 2", "tear-out", "show face")
	repair("Stile 2", 0)
	assert.False(t, due("Stile 2"))
	mend("Stile 3", "tear-out", "")
	repair("Stile 3", 0)
	assert.False(t, due("Stile 3"), "nobody said where")
	mend("Stile 4", "dent", "back")
	repair("Stile 4", 0)
	assert.False(t, due("Stile 4"), "steamed only")
	s.clock.Pass(24 * time.Hour)
	repair("Stile 4", 2)
	assert.True(t, due("Stile 4"))
}
