package store_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// born lists a part of line l for every mark, spares and then test pieces
// last, and a ticket for every line.
func born(lines []parts.Line, marks []parts.ID) []parts.Event {
	var events []parts.Event
	listed := func(id parts.ID, b parts.Birth) {
		events = append(events, parts.Event{Part: id, Kind: parts.Listed, Step: -1, Detail: parts.Detail{Birth: &b}})
	}
	for _, l := range lines {
		for n := range l.Pieces() {
			listed(marks[0], parts.Birth{Kind: l.Kind, Job: l.Job, Line: l.ID, Number: n + 1,
				Spare: n >= l.Quantity, Test: n >= l.Quantity+l.Spares, Steps: l.Steps})
			marks = marks[1:]
		}
		listed(l.Ticket, parts.Birth{Kind: parts.Ticket, Job: l.Job, Line: l.ID})
	}
	return events
}

// Everything that a line says comes back from the database, and so does what
// goes into what.
func TestLinesComeBack(t *testing.T) {
	s := openShop(t)
	size := func(n parts.Length) parts.Size { return parts.Size{Length: n * parts.Millimetre} }
	lines := []parts.Line{
		{Kind: parts.Single, Name: "Rung", Quantity: 16, Spares: 2, Tests: 1, PerBlank: 4, Length: size(330), Width: size(50), Thick: size(13),
			Material: "white oak", Notes: "ease the edges", Pattern: "rung-dowels", Hand: parts.Left, Grain: parts.GrainAcross, Into: 4, Each: 4, Steps: 1},
		{Kind: parts.Single, Name: "Crest rail", Quantity: 2, Length: parts.Size{Length: parts.Metre, ToSuit: true}, Into: 3, Each: 1, Steps: 1},
		{Kind: parts.Assembly, Name: "Bench back", Quantity: 2, Steps: 1},
		{Kind: parts.Assembly, Name: "Ladder", Quantity: 4, Into: 3, Each: 2, Steps: 1},
	}
	var given []parts.ID
	job, err := s.CreateJob(ctx, command("list"), store.NewJob{Name: "Benches", Code: "BENCHES", Lines: lines}, func(lines []parts.Line, marks []parts.ID) []parts.Event {
		given = slices.Clone(marks)
		return born(lines, marks)
	})
	require.NoError(t, err)
	require.Len(t, given, 19+2+2+4)
	back, err := s.Lines(ctx, job.ID)
	require.NoError(t, err)
	require.Len(t, back, 4)
	tickets := map[parts.ID]bool{}
	for i, l := range back {
		want := lines[i]
		want.ID, want.Job, want.Number, want.Ticket = l.ID, job.ID, i+1, l.Ticket
		if want.Into > 0 {
			want.Into = back[want.Into-1].ID
		}
		assert.Equal(t, want, l)
		assert.NotContains(t, given, l.Ticket)
		tickets[l.Ticket] = true
	}
	assert.Len(t, tickets, 4, "an assembly has a ticket too")
	_, blank := tickets[""]
	assert.False(t, blank)
	s.balanced()
}

// A job takes a mark for every piece and for the ticket of every line, and
// none twice.
func TestMarksOfAJob(t *testing.T) {
	shoptest.Cases(t, 20)
	s := openShop(t)
	seen := map[parts.ID]bool{}
	rapid.Check(t, func(rt *rapid.T) {
		var lines []parts.Line
		pieces, few := 0, rapid.IntRange(0, 4)
		for i := range rapid.IntRange(1, 6).Draw(rt, "lines") {
			l := parts.Line{Kind: parts.Single, Name: "Rail", Quantity: 1 + few.Draw(rt, "quantity"), Spares: few.Draw(rt, "spares"), Tests: few.Draw(rt, "tests"), Steps: 1}
			if i > 0 && rapid.Bool().Draw(rt, "assembly") {
				l = parts.Line{Kind: parts.Assembly, Name: "Front", Quantity: 1 + few.Draw(rt, "quantity"), Steps: 1}
			}
			pieces += l.Quantity + l.Spares + l.Tests
			lines = append(lines, l)
		}
		job, err := s.CreateJob(ctx, command("list"), store.NewJob{Name: "Lockers", Code: "LOCKERS", Lines: lines}, func(lines []parts.Line, marks []parts.ID) []parts.Event {
			require.Len(rt, marks, pieces)
			return born(lines, marks)
		})
		require.NoError(rt, err)
		states, err := s.StatesOfJob(ctx, job.ID)
		require.NoError(rt, err)
		require.Len(rt, states, pieces+len(lines))
		for _, st := range states {
			require.False(rt, seen[st.Part], st.Part)
			seen[st.Part] = true
		}
	})
	s.balanced()
}
