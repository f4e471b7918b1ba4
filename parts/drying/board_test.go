package drying

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

// boardSteps coat, dry, coat again.
var boardSteps = parts.Routing{ID: 1, Steps: []parts.Step{{Name: "stain", Station: "stain"}, {Name: "dry", Clock: parts.Drying, Minutes: 60},
	{Name: "topcoat", Station: "topcoat"}}}

// wet is piece n of the line, under a clock until a time.
func wet(n int, clock parts.Clock, until time.Time, also ...func(*parts.State)) parts.State {
	s := parts.State{Part: parts.ID(fmt.Sprintf("P%03d", n)), Kind: parts.Single, Line: 1, Number: n, Steps: 1, Next: 2,
		Waits: []parts.Wait{{Clock: clock, Step: 1, From: noon.Add(-time.Hour), Until: until}}}
	for _, change := range also {
		change(&s)
	}
	return s
}

func onCart(s *parts.State) { s.Cart = "CART" }

func boardOf(states ...parts.State) Board {
	return Count(Shop{States: states, Lines: map[int64]parts.Line{1: {ID: 1, Number: 1, Name: "Front", Quantity: 500}}, Routings: map[int64]parts.Routing{1: boardSteps},
		Stations: []parts.StationRow{{Key: "stain", Name: "at the staining bench"}, {Key: "topcoat", Name: "in the booth"}},
		Carts:    map[parts.ID]string{"CART": "Cart 1"}, Zone: time.UTC, Now: noon})
}

func TestWhatIsOnTheBoard(t *testing.T) {
	soon := noon.Add(time.Hour)
	for _, tt := range []struct {
		name   string
		s      parts.State
		pieces int
	}{
		{"drying", wet(1, parts.Drying, soon), 1},
		{"in clamps", wet(1, parts.Clamps, soon), 1},
		{"wood at rest is not wet", wet(1, parts.Resting, soon), 0},
		{"dry and nobody went on with it", wet(1, parts.Drying, noon), 1},
		{"nothing ever wetted it", parts.State{Part: "P1", Line: 1, Steps: 1}, 0},
		{"scrapped", wet(1, parts.Drying, soon, func(s *parts.State) { s.Scrapped = true }), 0},
		{"inside an assembly", wet(1, parts.Drying, soon, func(s *parts.State) { s.In = "A" }), 0},
		{"delivered", wet(1, parts.Drying, soon, func(s *parts.State) { s.Delivered = noon }), 0},
		{"the last coat, still wet", wet(1, parts.Drying, soon, func(s *parts.State) { s.Next = 3; s.Finished = true }), 1},
		{"the last coat, dry: there is nothing to do", wet(1, parts.Drying, noon, func(s *parts.State) { s.Next = 3; s.Finished = true }), 0},
	} {
		assert.Equal(t, tt.pieces, Pieces(boardOf(tt.s).Rows), tt.name)
	}
}

func TestWhenPeoplePlanByIt(t *testing.T) {
	for _, tt := range []struct {
		hours float64
		when  When
	}{{-30, IsReady}, {0, IsReady}, {0.02, NextHour}, {1, NextHour}, {1.02, Tonight}, {10, Tonight}, {10.02, Tomorrow}, {21, Tomorrow}, {21.02, Later}, {200, Later}} {
		rows := boardOf(wet(1, parts.Drying, noon.Add(time.Duration(tt.hours*float64(time.Hour))))).Rows
		require.Len(t, rows, 1)
		assert.Equal(t, tt.when, rows[0].When, "%v h from noon", tt.hours)
	}
	still := wet(1, parts.Drying, noon)
	still.Waits[0].Product, still.Waits[0].Dry = "x", &parts.Dry{Ready: parts.Never}
	assert.Equal(t, NotAtAll, boardOf(still).Rows[0].When)
}

func TestRowsSayWhereAndWhatNext(t *testing.T) {
	rows := boardOf(wet(1, parts.Drying, noon.Add(time.Hour)), wet(2, parts.Drying, noon.Add(time.Hour), onCart), wet(3, parts.Drying, noon.Add(75*time.Minute), onCart),
		wet(4, parts.Drying, noon.Add(3*time.Hour), onCart)).Rows
	require.Len(t, rows, 3)
	assert.Equal(t, []any{"Front 1", parts.ID("P001"), "at the staining bench", "stain", "topcoat", "in the booth"},
		[]any{rows[0].Name, rows[0].Mark, rows[0].Where, rows[0].Place, rows[0].Next, rows[0].NextAt}, "it dries where it was coated")
	assert.Equal(t, []any{"Front", parts.ID("CART"), "Cart 1", 2, noon.Add(time.Hour), noon.Add(75 * time.Minute)},
		[]any{rows[1].Name, rows[1].Mark, rows[1].Where, len(rows[1].Marks), rows[1].First, rows[1].Ready}, "one row for what is ready at nearly the same time")
	assert.Len(t, rows[2].Marks, 1)
}

// A row has one window: pieces that were coated hours apart are two rows, and
// the few of a row are named.
func TestARowHasOneWindow(t *testing.T) {
	closing := func(n int, hours float64) parts.State {
		return wet(n, parts.Drying, noon, func(s *parts.State) {
			s.Waits[0].Product, s.Waits[0].Dry = "x", &parts.Dry{Ready: parts.Never, Closes: noon.Add(time.Duration(hours * float64(time.Hour)))}
		})
	}
	told := func(b Board) (out []string) {
		for _, r := range b.Rows {
			out = append(out, r.Pieces()+" "+r.Closes.Format("15:04"))
		}
		return out
	}
	steps := boardSteps
	steps.Steps = append([]parts.Step{}, boardSteps.Steps...)
	steps.Steps[0].Coat, steps.Steps[2].Coat = "stain", "topcoat"
	of := func(states ...parts.State) Board {
		shop := Shop{States: states, Lines: map[int64]parts.Line{1: {ID: 1, Name: "Front", Quantity: 500}}, Routings: map[int64]parts.Routing{1: steps}, Zone: time.UTC, Now: noon}
		return Count(shop)
	}
	assert.Equal(t, []string{"Front 3, 5 17:00", "Front 4 21:00"}, told(of(closing(3, 5), closing(4, 9), closing(5, 5.25))))
	assert.Equal(t, []string{"Front 1, 2 17:00", "Front 3 17:18"}, told(of(closing(1, 5.1), closing(2, 5), closing(3, 5.3))), "near to all of the row")
	assert.Equal(t, []string{"Front 1, 2, 3 17:00"}, told(of(closing(1, 5), closing(2, 5), closing(3, 5))))
	assert.Equal(t, []string{"4 × Front 17:00"}, told(of(closing(1, 5), closing(2, 5), closing(3, 5), closing(4, 5))))
	steps.Steps[2].Coat = ""
	assert.Zero(t, of(closing(1, 5)).Rows[0].Closes, "no coat comes after the last")
}

// However the pieces are wetted, no piece is lost or there twice, rows are in
// order, and those that share one are near each other.
func TestEveryWetPieceIsInOneRow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var states []parts.State
		n := rapid.IntRange(0, 40).Draw(t, "pieces")
		for i := range n {
			s := wet(i, rapid.SampledFrom([]parts.Clock{parts.Clamps, parts.Setting, parts.Drying}).Draw(t, "clock"),
				noon.Add(time.Duration(rapid.IntRange(-600, 3000).Draw(t, "until"))*time.Minute))
			if rapid.Bool().Draw(t, "on a cart") {
				s.Cart = "CART"
			}
			states = append(states, s)
		}
		seen := map[parts.ID]bool{}
		rows := boardOf(states...).Rows
		for i, r := range rows {
			require.False(t, r.Ready.Before(r.First))
			require.LessOrEqual(t, r.Ready.Sub(r.First), near)
			for _, m := range r.Marks {
				require.False(t, seen[m])
				seen[m] = true
			}
			require.True(t, i == 0 || !r.Ready.Before(rows[i-1].Ready))
		}
		require.Len(t, seen, n)
	})
}

func TestFiveHundredAlikeAreOneRow(t *testing.T) {
	var states []parts.State
	for i := range 500 {
		states = append(states, wet(i, parts.Drying, noon.Add(time.Hour), onCart))
	}
	rows := boardOf(states...).Rows
	require.Len(t, rows, 1)
	assert.Len(t, rows[0].Marks, 500)
}
