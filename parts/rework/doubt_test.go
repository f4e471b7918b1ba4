package rework_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/rework"
)

// bored is a stile whose holes were bored some hours before noon, or filled
// in by a scan then.
func bored(number int, how parts.PastHow, hours int, also ...func(*parts.State)) parts.State {
	return stile(number, append([]func(*parts.State){func(s *parts.State) {
		s.LastAt = noon.Add(-time.Duration(hours) * time.Hour)
		s.Past[7] = parts.Past{How: how}
		if how == parts.WasDone {
			s.Past[7].At = s.LastAt
		}
	}}, also...)...)
}

// off is the stile that showed that the setup was at fault.
func off(s *parts.State) { s.Nicks, s.Repair, s.Mend = []int{7}, steps[:1], 0 }

func TestDoubt(t *testing.T) {
	bad := bored(9, parts.WasDone, 1, off)
	checked := func(hours int) func(*parts.State) {
		return func(s *parts.State) {
			s.Checks = []parts.Check{{Step: 5, At: noon}, {Step: 7, At: noon.Add(-time.Duration(hours) * time.Hour)}}
		}
	}
	ticketOf := func(also ...func(*parts.State)) parts.State {
		s := stileTicket
		for _, change := range also {
			change(&s)
		}
		return s
	}
	tests := []struct {
		name   string
		ticket parts.State
		other  parts.State
		doubt  bool
	}{
		{"bored, and the setup was never checked", ticketOf(), bored(1, parts.WasDone, 5), true},
		{"bored after the last good one", ticketOf(checked(3)), bored(1, parts.WasDone, 2), true},
		{"bored at the moment of the check: it may be the piece after", ticketOf(checked(3)), bored(1, parts.WasDone, 3), true},
		{"bored before the last good one", ticketOf(checked(3)), bored(1, parts.WasDone, 4), false},
		{"another setup was checked since", ticketOf(func(s *parts.State) { s.Checks = []parts.Check{{Step: 5, At: noon}} }), bored(1, parts.WasDone, 4), true},
		{"bored without a scan, and seen after the last good one", ticketOf(checked(3)), bored(1, parts.WasFilled, 2), true},
		{"bored without a scan, and seen before it", ticketOf(checked(3)), bored(1, parts.WasFilled, 4), false},
		{"the boring was left out", ticketOf(), bored(1, parts.WasSkipped, 2), false},
		{"not bored yet", ticketOf(), at(1, 7), false},
		{"in an assembly: it holds", ticketOf(), bored(1, parts.WasDone, 2, inAssembly), false},
		{"scrapped", ticketOf(), bored(1, parts.WasDone, 2, scrapped), false},
		{"under repair itself", ticketOf(), bored(1, parts.WasDone, 2, mending), false},
		{"held, and to be looked at all the same", ticketOf(), bored(1, parts.WasDone, 2, held), true},
		{"in doubt already", ticketOf(), bored(1, parts.WasDone, 2, inDoubt), false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			events, err := rework.Doubt(shop(tt.ticket, bad, tt.other), bad.Part, by)
			require.NoError(t, err)
			after := happened(events, tt.ticket, bad, tt.other)
			for _, c := range after["T3"].Checks {
				assert.NotEqual(t, 7, c.Step, "the setup has to be checked again")
			}
			assert.Empty(t, after[bad.Part].Doubt, "it is repaired, not doubted")
			doubted := after[tt.other.Part].Doubt
			if tt.doubt {
				assert.Equal(t, "same setup as Stile 9 (spare), which was off", doubted)
			} else {
				assert.Equal(t, tt.other.Doubt, doubted)
				require.Len(t, events, 1)
			}
		})
	}
}

func TestDoubtNeedsADefect(t *testing.T) {
	_, err := rework.Doubt(shop(stileTicket, bored(1, parts.WasDone, 2)), "S1", by)
	assert.Equal(t, "no-defect", parts.CodeOf(err))
	_, err = rework.Doubt(shop(stileTicket, bored(1, parts.WasDone, 2, off)), "S2", by)
	assert.Equal(t, "no-defect", parts.CodeOf(err), "a piece of another ticket")
	_, err = rework.Doubt(shop(bored(1, parts.WasDone, 2, off)), "S1", by)
	assert.Equal(t, "not-a-ticket", parts.CodeOf(err))
}

func TestClear(t *testing.T) {
	doubted := bored(1, parts.WasDone, 2, inDoubt)
	tests := []struct {
		name    string
		subject parts.State
		group   []parts.State
		code    string
		cleared []parts.ID
	}{
		{"one piece", doubted, nil, "", []parts.ID{"S1"}},
		{"a piece that nobody doubts", bored(1, parts.WasDone, 2), nil, "not-in-doubt", nil},
		{"all of a ticket that are in doubt", stileTicket, []parts.State{doubted, bored(2, parts.WasDone, 2), bored(3, parts.WasDone, 2, inDoubt)}, "", []parts.ID{"S1", "S3"}},
		{"scrapped", bored(1, parts.WasDone, 2, inDoubt, scrapped), nil, "not-in-doubt", nil},
		{"a ticket of good ones", stileTicket, []parts.State{bored(2, parts.WasDone, 2)}, "not-in-doubt", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			events, err := rework.Clear(shop(tt.subject, tt.group...), by)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			var cleared []parts.ID
			for id, s := range happened(events, append(tt.group, tt.subject)...) {
				if len(events) > 0 {
					assert.Empty(t, s.Doubt, id)
				}
			}
			for _, e := range events {
				cleared = append(cleared, e.Part)
			}
			assert.Equal(t, tt.cleared, cleared)
		})
	}
}
