package rework_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/rework"
)

var stileTicket = parts.State{Part: "T3", Seq: 1, Kind: parts.Ticket, Line: 3}

// at is a stile that stands before a step of its list.
func at(number, next int, also ...func(*parts.State)) parts.State {
	s := stile(number, also...)
	s.Next, s.Past, s.Finished = next, s.Past[:next], false
	return s
}

// happened gives the states after events, by mark.
func happened(events []parts.Event, before ...parts.State) map[parts.ID]parts.State {
	after := map[parts.ID]parts.State{}
	for _, s := range before {
		after[s.Part] = s
	}
	for _, e := range events {
		e.Seq = after[e.Part].Seq + 1
		after[e.Part] = parts.Apply(after[e.Part], e)
	}
	return after
}

// Pieces of a ticket are alike, so the books say which are gone: of the parts
// the last, and of the spares none before a part unless spares make up for it.
func TestLost(t *testing.T) {
	const bore, number = 7, 8
	test := func(s *parts.State) { s.Test = true }
	four := []parts.State{at(1, bore), at(2, bore), at(3, bore), at(4, 3)}
	spares := []parts.State{at(5, 3), at(6, 5)}
	tests := []struct {
		name    string
		group   []parts.State
		count   int
		instead rework.Instead
		code    string
		gone    map[parts.ID]parts.ID // what takes the place of each
	}{
		{"one, and nothing is done about it", four, 1, rework.DoWithout, "", map[parts.ID]parts.ID{"S3": ""}},
		{"two, made anew", four, 2, rework.MakeNew, "", map[parts.ID]parts.ID{"S3": "NEW1", "S2": "NEW1X"}},
		{"one, and the spare that is furthest along", append(spares, four...), 1, rework.UseSpares, "", map[parts.ID]parts.ID{"S3": "S6"}},
		{"two, and both spares", append(spares, four...), 2, rework.UseSpares, "", map[parts.ID]parts.ID{"S3": "S6", "S2": "S5"}},
		{"a test piece goes after the spares", append([]parts.State{at(5, 3), at(6, 5, test)}, four...), 1, rework.UseSpares, "", map[parts.ID]parts.ID{"S3": "S5"}},
		{"three, and two spares", append(spares, four...), 3, rework.UseSpares, "spare-gone", nil},
		{"one, and no spare", four, 1, rework.UseSpares, "spare-gone", nil},
		{"the spare is held", append([]parts.State{at(5, 3, held)}, four...), 1, rework.UseSpares, "spare-gone", nil},
		{"the spare is in doubt", append([]parts.State{at(5, 3, inDoubt)}, four...), 1, rework.UseSpares, "spare-gone", nil},
		{"a spare that stands there is the one that is gone", append([]parts.State{at(5, bore)}, four...), 1, rework.UseSpares, "", map[parts.ID]parts.ID{"S5": ""}},
		{"two, and one spare stands there", append([]parts.State{at(5, bore), at(6, 5)}, four...), 2, rework.UseSpares, "", map[parts.ID]parts.ID{"S5": "", "S3": "S6"}},
		{"made anew: parts before spares", append([]parts.State{at(5, bore)}, four...), 1, rework.MakeNew, "", map[parts.ID]parts.ID{"S3": "NEW1"}},
		{"all that stand there", four, 3, rework.DoWithout, "", map[parts.ID]parts.ID{"S1": "", "S2": "", "S3": ""}},
		{"more than stand there", four, 4, rework.DoWithout, "count", nil},
		{"none", four, 0, rework.DoWithout, "count", nil},
		{"less than none", four, -1, rework.DoWithout, "count", nil},
		{"held, scrapped, fitted and plugged ones are not lost", []parts.State{at(1, bore, held), at(2, bore, scrapped), at(3, bore, inAssembly), at(4, bore, mending)}, 1, rework.DoWithout, "count", nil},
		{"something else", four, 1, "lunch", "instead", nil},
		{"a later scan", []parts.State{at(1, bore, func(s *parts.State) { s.LastAt = noon.Add(time.Minute) })}, 1, rework.DoWithout, "late", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			events, err := rework.Lost(shop(stileTicket, tt.group...), number, tt.count, tt.instead, fresh("NEW1"), "split at the saw", by)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code != "" {
				require.Empty(t, events, "all or none")
				return
			}
			after := happened(events, tt.group...)
			gone := map[parts.ID]parts.ID{}
			for _, was := range tt.group {
				s := after[was.Part]
				if !s.Scrapped {
					continue
				}
				gone[s.Part] = s.ReplacedBy
				assert.Equal(t, s.ReplacedBy == "" && !s.Spare, s.Short(), "a shortage stays to be seen, and a lost spare is none")
				if s.ReplacedBy == "" {
					continue
				}
				stands := after[s.ReplacedBy]
				assert.Equal(t, []any{s.Part, true, false}, []any{stands.Replaces, stands.LabelDue, stands.Spare})
				if tt.instead == rework.MakeNew {
					assert.Equal(t, []any{s.Line, s.Number, 0}, []any{stands.Line, stands.Number, stands.Next}, "it starts over")
				}
			}
			assert.Equal(t, tt.gone, gone)
		})
	}
}

func TestLostIsCountedWithATicket(t *testing.T) {
	lost := func(s parts.State, number int, reason string) error {
		_, err := rework.Lost(shop(s, at(1, 7)), number, 1, rework.DoWithout, fresh("NEW1"), reason, by)
		return err
	}
	assert.NoError(t, lost(stileTicket, 8, "split"))
	assert.Equal(t, "not-a-ticket", parts.CodeOf(lost(at(1, 7), 8, "split")))
	assert.Equal(t, "reason-missing", parts.CodeOf(lost(stileTicket, 8, " ")))
	assert.Equal(t, "step-unknown", parts.CodeOf(lost(stileTicket, 1001, "split")), "the step of a repair is no step of a ticket")
	assert.Equal(t, "step-unknown", parts.CodeOf(lost(stileTicket, 0, "split")))
}
