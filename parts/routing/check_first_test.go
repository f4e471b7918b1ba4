package routing_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/routing"
)

func TestTheCheckOfAFirstPieceHolds(t *testing.T) { // for 12 hours: common practice, no source
	checked := func(step int, ago time.Duration) func(*parts.State) {
		return func(s *parts.State) { s.Checks = append(s.Checks, parts.Check{Step: step, At: noon.Add(-ago)}) }
	}
	fell := func(s *parts.State) {
		*s = parts.Apply(*s, parts.Event{Part: s.Part, Kind: parts.CheckFell, Step: fpBore, At: noon})
	}
	tests := []struct {
		name   string
		ticket parts.State
		holds  bool
	}{
		{"never checked", railTicket, false},
		{"just now", as(railTicket, checked(fpBore, 0)), true},
		{"a minute less than 12 hours ago", as(railTicket, checked(fpBore, 12*time.Hour-time.Minute)), true},
		{"12 hours ago", as(railTicket, checked(fpBore, 12*time.Hour)), false},
		{"another step", as(railTicket, checked(fpWidth, 0)), false},
		{"this one and another", as(railTicket, checked(fpWidth, 13*time.Hour), checked(fpBore, time.Hour)), true},
		{"the setup was at fault since", as(railTicket, checked(fpBore, time.Hour), fell), false},
		{"the setup of another step was at fault", as(railTicket, checked(fpWidth, time.Hour), checked(fpBore, time.Hour), func(s *parts.State) {
			*s = parts.Apply(*s, parts.Event{Part: s.Part, Kind: parts.CheckFell, Step: fpWidth, At: noon})
		}), true},
		{"checked again since", as(railTicket, checked(fpBore, 30*time.Hour), fell, checked(fpBore, 0)), true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.holds, routing.ChecksHold(tt.ticket, fpBore, noon))
			o, err := routing.OfferAt(view(tt.ticket, piece(rails, 1, fpBore)), "bore", 0)
			require.NoError(t, err)
			if tt.holds {
				assert.Empty(t, o.Check)
			} else {
				assert.Equal(t, "holes of the first piece, against its mate", o.Check, "it is asked for")
			}
		})
	}
}

func TestCheckFirst(t *testing.T) {
	boring := []parts.State{piece(rails, 1, fpBore), piece(rails, 2, fpBore)}
	tests := []struct {
		name    string
		subject parts.State
		group   []parts.State
		scan    parts.Scan
		code    string
		step    int
	}{
		{"where they stand", railTicket, boring, parts.Scan{Station: "bore"}, "", fpBore},
		{"by its number, after all", railTicket, []parts.State{done(rails, 1), done(rails, 2)}, parts.Scan{Step: fpBore + 1}, "", fpBore},
		{"a step that needs none", railTicket, boring, parts.Scan{Step: fpPlane + 1}, "no-check", 0},
		{"a wait", railTicket, boring, parts.Scan{Step: 3}, "no-check", 0},
		{"a step that is none", railTicket, boring, parts.Scan{Step: 9}, "step-unknown", 0},
		{"a step of a repair", railTicket, boring, parts.Scan{Step: 1001}, "step-unknown", 0},
		{"a step below the first", railTicket, boring, parts.Scan{Step: -1}, "step-unknown", 0},
		{"a station where nothing is to do", railTicket, boring, parts.Scan{Station: "wrap"}, "not-here", 0},
		{"a part", piece(rails, 1, fpBore), nil, parts.Scan{Station: "bore"}, "not-a-ticket", 0},
		{"a cart", cart, boring, parts.Scan{Station: "bore"}, "not-a-ticket", 0},
		{"a ticket of nothing", railTicket, nil, parts.Scan{Station: "bore"}, "not-a-ticket", 0},
		{"from before the setup was found at fault", as(railTicket, func(s *parts.State) { s.LastAt = noon.Add(time.Minute) }), boring, parts.Scan{Station: "bore"}, "late", 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.scan.At, tt.scan.By = noon, 3
			events, err := routing.CheckFirst(view(tt.subject, tt.group...), tt.scan)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code != "" {
				return
			}
			require.Len(t, events, 1)
			after := parts.Apply(tt.subject, events[0])
			assert.Equal(t, []parts.Check{{Step: tt.step, At: noon}}, after.Checks)
			assert.True(t, routing.ChecksHold(after, tt.step, noon))
		})
	}
}

func TestAScanMaySayThatTheFirstPieceIsGood(t *testing.T) {
	tests := []struct {
		name  string
		v     parts.View
		scan  parts.Scan
		check int // index of the step that was checked, -1 for none
	}{
		{"with the first of a ticket", view(railTicket, piece(rails, 1, fpBore), piece(rails, 2, fpBore)), parts.Scan{Station: "bore", Count: 1, Checked: true}, fpBore},
		{"not said", view(railTicket, piece(rails, 1, fpBore)), parts.Scan{Station: "bore"}, -1},
		{"with a part: its line's ticket remembers it", view(piece(rails, 1, fpBore)), parts.Scan{Station: "bore", Checked: true}, fpBore},
		{"with a part that has no ticket", view(piece(stiles, 1, fpBore)), parts.Scan{Station: "bore", Checked: true}, -1},
		{"where nothing is checked", view(railTicket, piece(rails, 1, fpPlane)), parts.Scan{Station: "plane", Checked: true}, -1},
		{"boring one plugged hole again", view(railTicket, piece(rails, 1, 8, mending(2))), parts.Scan{Station: "bore", Checked: true}, -1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.scan.At = noon
			events, err := routing.Advance(tt.v, tt.scan)
			require.NoError(t, err)
			last := events[len(events)-1]
			if tt.check < 0 {
				assert.NotEqual(t, parts.Checked, last.Kind)
				return
			}
			assert.Equal(t, []any{parts.Checked, railTicket.Part, tt.check}, []any{last.Kind, last.Part, last.Step})
		})
	}
}
