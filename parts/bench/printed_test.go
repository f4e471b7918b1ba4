package bench_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// waiting are the names of the labels that wait to be printed.
func (s *shop) waiting() (out []string) {
	s.Helper()
	queue, err := s.LabelQueue(context.Background())
	require.NoError(s, err)
	for _, j := range queue {
		for _, p := range j.Places {
			for _, l := range p.Labels {
				out = append(out, l.Name)
			}
		}
	}
	return out
}

// One bad label on a roll brings one back.
func TestSomeLabelsOfASheetAreSpoiled(t *testing.T) {
	ctx := context.Background()
	s := openShop(t)
	order := s.printed(bench.PrintRequest{What: "labels"})
	sheet, err := s.Sheet(ctx, order.id)
	require.NoError(t, err)
	require.Len(t, sheet.Labels, len(order.Labels))
	for i, l := range sheet.Labels {
		assert.Equal(t, order.Labels[i].Name, l.Name)
		assert.False(t, l.Waits || l.Void)
	}
	assert.Equal(t, s.job.Job.Code, sheet.Job.Code)
	require.Empty(t, s.waiting())
	spoil := func(id parts.CommandID, marks ...string) string {
		return parts.CodeOf(s.Spoil(ctx, id, order.id, marks, "Ann"))
	}
	id, stile := shoptest.NewID(), s.mark("Stile 2")
	for range 2 {
		require.Empty(t, spoil(id, stile, stile), "the same request again is the same")
	}
	assert.Equal(t, []string{"Stile 2"}, s.waiting())
	events, err := s.Events(ctx, stile)
	require.NoError(t, err)
	assert.Equal(t, parts.LabelWaits, events[len(events)-1].Kind)
	assert.Equal(t, parts.Printed, events[len(events)-2].Kind, "once")
	sheet, err = s.Sheet(ctx, order.id)
	require.NoError(t, err)
	for _, l := range sheet.Labels {
		assert.Equal(t, l.Name == "Stile 2", l.Waits, l.Name)
	}
	assert.False(t, sheet.Spoiled, "the rest of it is good")

	assert.Equal(t, "mark-off-sheet", spoil(shoptest.NewID(), s.mark("Rail 1"), s.ticket("Rail")))
	assert.NotEmpty(t, spoil(shoptest.NewID(), "no mark"))
	assert.Equal(t, []string{"Stile 2"}, s.waiting(), "all or none of a request")
	require.Empty(t, spoil(shoptest.NewID(), s.mark("Rail 1")), "another one later")
	require.Empty(t, spoil(shoptest.NewID()), "and then all")
	assert.Len(t, s.waiting(), len(order.Labels))
	assert.Equal(t, "spoiled-already", spoil(shoptest.NewID(), stile))
}

// The next order on a sheet begins where the last one ended; the format that
// was used last is the one that is offered.
func TestTheSheetInUseIsRemembered(t *testing.T) {
	ctx := context.Background()
	s := openShop(t)
	// papers gives the format that is offered, and the next free label of one.
	papers := func(of string) (offered string, next int) {
		t.Helper()
		all, err := s.Papers(ctx)
		require.NoError(t, err)
		for _, p := range all {
			if p.Chosen {
				require.Empty(t, offered, "one is offered")
				offered = p.Key
			}
			if p.Key == of {
				next = p.Next
			}
		}
		return offered, next
	}
	is := func(of, wantOffered string, wantNext int) {
		t.Helper()
		offered, next := papers(of)
		assert.Equal(t, wantOffered, offered)
		assert.Equal(t, wantNext, next)
	}
	is("letter-3x10", "letter-3x10", 1)
	n := len(s.printed(bench.PrintRequest{What: "labels"}).Labels)
	require.Less(t, n, 30)
	is("letter-3x10", "letter-3x10", n+1)
	s.printed(bench.PrintRequest{What: "labels", Sheet: "a4-3x8", First: 10})
	is("a4-3x8", "a4-3x8", (9+n)%24+1)
	is("letter-3x10", "a4-3x8", n+1)
	s.printed(bench.PrintRequest{What: "tickets"})
	is("a4-3x8", "a4-3x8", (9+n)%24+1)
	s.printed(bench.PrintRequest{What: "labels", Sheet: "roll-57x32"})
	is("roll-57x32", "roll-57x32", 1)
	s.printed(bench.PrintRequest{What: "labels", Sheet: "letter-tag-3x2"})
	is("letter-tag-3x2", "letter-tag-3x2", 1)

	// What is full is a new sheet next, and so is one that was thrown away; one
	// bad label does not throw it away.
	marks := func(n int) (out []string) {
		for _, st := range s.job.States {
			if st.Kind == parts.Single && len(out) < n {
				out = append(out, string(st.Part))
			}
		}
		return out
	}
	full := s.printed(bench.PrintRequest{What: "labels", Sheet: "letter-2x5", First: 9, Marks: marks(2)})
	is("letter-2x5", "letter-2x5", 1)
	require.NoError(t, s.Spoil(ctx, shoptest.NewID(), full.id, nil, ""))
	half := s.printed(bench.PrintRequest{What: "labels", Sheet: "letter-2x5", Marks: marks(3)})
	is("letter-2x5", "letter-2x5", 4)
	require.NoError(t, s.Spoil(ctx, shoptest.NewID(), half.id, marks(1), ""))
	is("letter-2x5", "letter-2x5", 4)
	require.NoError(t, s.Spoil(ctx, shoptest.NewID(), half.id, nil, ""))
	is("letter-2x5", "letter-2x5", 1)
}
