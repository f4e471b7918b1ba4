package rework_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/rework"
	"benchtally/parts/shoptest"
)

var noon = shoptest.Noon

var by = rework.By{Person: 3, Station: "bore", At: noon}

// steps bore twice, the second time between a coat and its drying.
var steps = []parts.Step{
	{Name: "plane", Station: "plane"},
	{Name: "bore", Station: "bore", Bores: true},
	{Name: "stain", Station: "stain", Record: true, Coat: "stain", Coats: []parts.Face{parts.ShowFace, parts.Edges}},
	{Name: "dry", Clock: parts.Drying, Minutes: 720},
	{Name: "bore for the hinges", Station: "drillpress", Bores: true},
	{Name: "wrap", Station: "wrap"},
}

func view(subject parts.State, group ...parts.State) parts.View {
	return parts.View{
		Subject: subject, Group: group, Now: noon,
		Lines:    map[int64]parts.Line{1: {ID: 1, Kind: parts.Single, Name: "Rail", Quantity: 4, Spares: 2, Steps: 1}},
		Routings: map[int64]parts.Routing{1: {ID: 1, Steps: steps}},
	}
}

func rail(number, next int, also ...func(*parts.State)) parts.State {
	s := parts.State{Part: parts.ID("R" + string(rune('0'+number))), Seq: 1, Kind: parts.Single, Line: 1, Number: number,
		Spare: number > 4, Steps: 1, Next: next, Finished: next == len(steps), LastAt: noon.Add(-time.Hour)}
	for _, change := range also {
		change(&s)
	}
	return s
}

func held(s *parts.State)       { s.Held = "a knot" }
func scrapped(s *parts.State)   { s.Scrapped = true }
func inAssembly(s *parts.State) { s.In = "F1" }
func ticket(s *parts.State)     { s.Kind = parts.Ticket }
func assembly(s *parts.State)   { s.Kind = parts.Assembly }
func mending(s *parts.State)    { s.Repair, s.Mend = steps[:1], 0 }
func wet(s *parts.State) {
	s.Waits = []parts.Wait{{Clock: parts.Drying, Step: 3, From: noon.Add(-time.Hour), Until: noon.Add(11 * time.Hour)}}
}

func TestPlug(t *testing.T) {
	tests := []struct {
		name  string
		state parts.State
		note  string
		code  string
		bored int    // index of the step that made the hole
		again string // what the last repair step is called
	}{
		{"bored", rail(1, 2), "", "", 1, "trim flush, bore again"},
		{"bored and stained since", rail(1, 5), "", "", 4, "trim flush, bore for the hinges again"},
		{"bored once, not yet for the hinges", rail(1, 4), "1/16 off", "", 1, "trim flush, bore again"},
		{"finished", rail(1, 6), "", "", 4, "trim flush, bore for the hinges again"},
		{"held", rail(1, 2, held), "", "", 1, "trim flush, bore again"},
		{"an assembly with holes", rail(1, 2, assembly), "", "", 1, "trim flush, bore again"},
		{"not bored yet", rail(1, 1), "", "not-bored", 0, ""},
		{"a plug in it already", rail(1, 2, mending), "", "plugged-already", 0, ""},
		{"scrapped", rail(1, 2, scrapped), "", "scrapped", 0, ""},
		{"in an assembly", rail(1, 2, inAssembly), "", "in-assembly", 0, ""},
		{"a ticket", rail(1, 2, ticket), "", "not-a-part", 0, ""},
		{"a note of 200 letters", rail(1, 2), strings.Repeat("ß", 200), "", 1, "trim flush, bore again"},
		{"a note of 201 letters", rail(1, 2), strings.Repeat("ß", 201), "reason-long", 0, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			events, err := rework.Plug(view(tt.state), plug(tt.note), by)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code != "" {
				return
			}
			require.Len(t, events, 1)
			after := parts.Apply(tt.state, events[0])
			assert.Equal(t, tt.state.Next, after.Next, "it goes on from where it was")
			assert.Equal(t, []int{tt.bored}, after.Nicks)
			last := after.Repair[len(after.Repair)-1]
			assert.Equal(t, tt.again, last.Name)
			assert.True(t, last.Record, "boring again is never taken for granted")
			assert.Equal(t, steps[tt.bored].Station, last.Station)
			assert.Equal(t, 1, after.Mend, "the waiting is nothing to record")
			assert.Equal(t, tt.note, events[0].Detail.Note)
		})
	}
}

func TestAPlugSetsForTwoHours(t *testing.T) { // common practice, no source
	s := rail(1, 2)
	events, err := rework.Plug(view(s), plug(""), by)
	require.NoError(t, err)
	after := parts.Apply(s, events[0])
	assert.Equal(t, noon.Add(2*time.Hour), after.Ready())
	_, waits := after.Waiting(noon.Add(2*time.Hour - time.Minute))
	assert.True(t, waits)
	_, waits = after.Waiting(noon.Add(2 * time.Hour))
	assert.False(t, waits)
}

func TestAPlugDriesNoCoat(t *testing.T) {
	s := rail(1, 4, wet)
	events, err := rework.Plug(view(s), plug(""), by)
	require.NoError(t, err)
	after := parts.Apply(s, events[0])
	assert.Equal(t, noon.Add(11*time.Hour), after.Ready())
	wait, waits := after.Waiting(noon)
	assert.True(t, waits)
	assert.Equal(t, parts.Drying, wait.Clock)

	late := rework.By{At: noon.Add(11 * time.Hour)}
	events, err = rework.Plug(view(s), plug(""), late)
	require.NoError(t, err)
	assert.Len(t, events[0].Detail.Waits, 1, "a clock that has run out is not kept")
}

func TestASecondPlugComesAfterTheFirst(t *testing.T) {
	s := rail(1, 2)
	for n := range 2 {
		events, err := rework.Plug(view(s), plug(""), rework.By{At: noon.Add(time.Duration(n) * 3 * time.Hour)})
		require.NoError(t, err)
		s = parts.Apply(s, events[0])
		s.Mend = len(s.Repair) // bored again
	}
	assert.Equal(t, []int{1, 1}, s.Nicks)
	assert.Equal(t, len(s.Repair)/2, s.Waits[0].Step, "the wait is the one of the second plug")
}

// plug is what a person says of a hole that is off.
func plug(note string) rework.Flaw {
	i := slices.IndexFunc(rework.Catalogue(), func(d parts.Defect) bool { return d.Key == rework.HoleOff })
	return rework.Flaw{Defect: rework.Catalogue()[i], Note: note}
}

// fresh gives new marks: this one first.
func fresh(id parts.ID) func() parts.ID {
	return func() parts.ID {
		now := id
		id += "X"
		return now
	}
}

func TestRemake(t *testing.T) {
	spares := []parts.State{rail(5, 3), rail(6, 1)}
	tests := []struct {
		name   string
		state  parts.State
		group  []parts.State
		spare  parts.ID
		reason string
		code   string
	}{
		{"a fresh one", rail(1, 5), spares, "", "split", ""},
		{"a fresh spare", rail(5, 5), nil, "", "split", ""},
		{"of a held one", rail(1, 5, held), spares, "", "split", ""},
		{"with a plug in it", rail(1, 5, mending), spares, "", "split", ""},
		{"a spare takes its place", rail(1, 5), spares, "R6", "split", ""},
		{"no such spare", rail(1, 5), spares, "R7", "split", "spare-gone"},
		{"the spare is no spare any more", rail(1, 5), []parts.State{rail(5, 3, func(s *parts.State) { s.Spare = false })}, "R5", "split", "spare-gone"},
		{"the spare is held", rail(1, 5), []parts.State{rail(5, 3, held)}, "R5", "split", "spare-gone"},
		{"the spare is scrapped", rail(1, 5), []parts.State{rail(5, 3, scrapped)}, "R5", "split", "spare-gone"},
		{"itself", rail(5, 5), nil, "R5", "split", "spare-gone"},
		{"no reason", rail(1, 5), spares, "", " ", "reason-missing"},
		{"a reason of 201 letters", rail(1, 5), spares, "", strings.Repeat("a", 201), "reason-long"},
		{"scrapped and replaced already", rail(1, 5, scrapped, func(s *parts.State) { s.ReplacedBy = "R9" }), spares, "", "split", "scrapped"},
		{"in an assembly", rail(1, 5, inAssembly), spares, "", "split", "in-assembly"},
		{"an assembly", rail(1, 5, assembly), spares, "", "split", ""},
		{"a ticket", rail(1, 5, ticket), spares, "", "split", "not-a-part"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			events, err := rework.Remake(view(tt.state, tt.group...), tt.spare, fresh("NEW1"), tt.reason, by)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code != "" {
				require.Empty(t, events)
				return
			}
			after := map[parts.ID]parts.State{tt.state.Part: tt.state}
			for _, s := range tt.group {
				after[s.Part] = s
			}
			for _, e := range events {
				after[e.Part] = parts.Apply(after[e.Part], e)
			}
			old, new := after[tt.state.Part], after[after[tt.state.Part].ReplacedBy]
			assert.True(t, old.Scrapped)
			assert.Empty(t, old.Held)
			assert.False(t, old.LabelDue, "nobody prints a label of what is scrapped")
			assert.Equal(t, old.Part, new.Replaces)
			assert.True(t, new.LabelDue)
			if tt.spare == "" {
				assert.Equal(t, []any{parts.ID("NEW1"), tt.state.Number, tt.state.Spare, 0}, []any{new.Part, new.Number, new.Spare, new.Next})
				return
			}
			assert.Equal(t, []any{tt.spare, false, 1}, []any{new.Part, new.Spare, new.Next}, "a spare stands where it stood")
		})
	}
}

func TestAFreshPartBeginsWithWork(t *testing.T) {
	v := view(rail(1, 5))
	v.Routings[1] = parts.Routing{ID: 1, Steps: append([]parts.Step{{Name: "rest", Clock: parts.Resting, Minutes: 60}}, steps...)}
	events, err := rework.Remake(v, "", fresh("NEW1"), "split", by)
	require.NoError(t, err)
	assert.Equal(t, 1, parts.Apply(parts.State{}, events[1]).Next)
}

func TestASpareWithALaterScanTakesThePlaceLater(t *testing.T) {
	spare := rail(5, 3, func(s *parts.State) { s.LastAt = noon.Add(time.Hour) })
	events, err := rework.Remake(view(rail(1, 5), spare), "R5", fresh("NEW1"), "split", by)
	require.NoError(t, err)
	assert.Equal(t, noon, events[0].At)
	assert.Equal(t, noon.Add(time.Hour), events[1].At)
}

func TestHoldAndRelease(t *testing.T) {
	tests := []struct {
		name   string
		verb   string
		state  parts.State
		reason string
		code   string
		held   string
	}{
		{"held", "hold", rail(1, 2), "a knot", "", "a knot"},
		{"a ticket is held", "hold", rail(1, 2, ticket), "wrong oak", "", "wrong oak"},
		{"in an assembly and held", "hold", rail(1, 2, inAssembly), "loose", "", "loose"},
		{"held without a reason", "hold", rail(1, 2), "", "reason-missing", ""},
		{"held twice", "hold", rail(1, 2, held), "again", "held", ""},
		{"scrapped", "hold", rail(1, 2, scrapped), "a knot", "scrapped", ""},
		{"released", "release", rail(1, 2, held), "", "", ""},
		{"released and not held", "release", rail(1, 2), "", "not-held", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			hold := func() ([]parts.Event, error) { return rework.Hold(view(tt.state), tt.reason, by) }
			if tt.verb == "release" {
				hold = func() ([]parts.Event, error) { return rework.Release(view(tt.state), by) }
			}
			events, err := hold()
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code == "" {
				assert.Equal(t, tt.held, parts.Apply(tt.state, events[0]).Held)
			}
		})
	}
}
