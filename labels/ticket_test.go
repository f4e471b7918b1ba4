package labels

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// boathouseSteps are the steps of a stile.
func boathouseSteps() []TicketStep {
	return []TicketStep{
		{Name: "Rip", Station: "at the saw"}, {Name: "Rest", Station: ""}, {Name: "Joint face", Station: "at the jointer"}, {Name: "Plane", Station: "at the planer"},
		{Name: "Crosscut", Station: "at the crosscut saw"}, {Name: "Bore", Station: "at the drill"}, {Name: "Glue", Station: "at the bench"}, {Name: "In clamps", Station: ""},
		{Name: "Sand", Station: "at the bench"}, {Name: "Stain", Station: "in the booth"}, {Name: "Drying", Station: ""}, {Name: "Topcoat", Station: "in the booth"},
	}
}

// oddTickets are tickets as usual and at the limits.
func oddTickets() []Ticket {
	var out []Ticket
	for i := range 6 {
		mark := fmt.Sprintf("1B%02dK", i)
		out = append(out, Ticket{
			Address: "http://192.168.1.20:8080/P/" + mark, Mark: mark, Name: "Stile", Size: `34 1/2" × 2 1/4" × 3/4"`,
			Material: "white oak", Assembly: "Locker front", Job: "Tern Point lockers",
			Count: 24, Spares: 2, Strip: strip(12, 3), Steps: boathouseSteps(),
		})
	}
	out[1].Mark, out[1].Address = "12A5KX", "http://192.168.100.100:8080/P/2/12A5KX"
	out[1].Strip, out[1].Steps = strip(30, 9), append(append(boathouseSteps(), boathouseSteps()...), boathouseSteps()[:6]...)
	out[2].Name = "Upper drawer front rail with a very long descriptive name running on to 80 chars"
	out[2].Count, out[2].Spares = 1, 1
	out[3].Count, out[3].Spares, out[3].Steps = 0, 0, nil
	for range 6 {
		out[4].Steps = append(out[4].Steps, boathouseSteps()...)
	}
	out[5].Steps = []TicketStep{{Name: strings.Repeat("Fit the brass plate and ", 4), Station: "at the bench under the north window"}}
	return out
}

func TestTicketsRefuse(t *testing.T) {
	good := oddTickets()[0]
	with := func(change func(*Ticket)) []Ticket {
		bad := good
		change(&bad)
		return []Ticket{good, bad}
	}
	tests := []struct {
		name, paper string
		tickets     []Ticket
		code        string
	}{
		{"unknown paper", "a7", []Ticket{good}, "paper-unknown"},
		{"nothing to print", "a4", nil, "tickets-none"},
		{"no address", "a4", with(func(t *Ticket) { t.Address = "" }), "address-empty"},
		{"no mark", "a4", with(func(t *Ticket) { t.Mark = "" }), "mark-empty"},
		{"fewer than none", "letter", with(func(t *Ticket) { t.Count = -1 }), "count-negative"},
		{"address too long", "letter", with(func(t *Ticket) { t.Address = strings.Repeat("k", 3000) }), "address-too-long"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var out bytes.Buffer
			err := WriteTickets(&out, tt.paper, tt.tickets)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			assert.NotContains(t, err.Error(), "%!")
			assert.Zero(t, out.Len())
		})
	}
}

func TestPlacardsRefuse(t *testing.T) {
	tests := []struct {
		name, paper string
		placards    []Placard
		code        string
	}{
		{"unknown paper", "", []Placard{{Address: "k", Title: "At the saw"}}, "paper-unknown"},
		{"nothing to print", "a4", nil, "placards-none"},
		{"no address", "a4", []Placard{{Title: "At the saw"}}, "address-empty"},
		{"a caution that would be cut", "a4", []Placard{{Address: "k", Title: "At the saw", Caution: strings.Repeat("Stop the cutter. ", 60)}}, "caution-long"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var out bytes.Buffer
			err := WritePlacards(&out, tt.paper, tt.placards)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			assert.NotContains(t, err.Error(), "%!")
			assert.Zero(t, out.Len())
		})
	}
}

// A code that is to be scanned from 1 m is at least 120 mm wide, whatever the
// length of its address (a tenth of the distance is common practice, no
// source).
func TestPlacardCodeIsLarge(t *testing.T) {
	for n := 1; n < 250; n += 3 {
		c, err := encode(strings.Repeat("k", n), placardCode, pagePress)
		require.NoError(t, err)
		assert.GreaterOrEqual(t, c.dark(), 120.0, "%d characters", n)
	}
}

func TestTicketsAreTheSameBytes(t *testing.T) {
	var a, b bytes.Buffer
	require.NoError(t, WriteTickets(&a, "letter", oddTickets()))
	require.NoError(t, WriteTickets(&b, "letter", oddTickets()))
	assert.True(t, bytes.Equal(a.Bytes(), b.Bytes()))
}
