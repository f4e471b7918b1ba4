package bench

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"benchtally/labels"
	"benchtally/parts"
)

func TestInitials(t *testing.T) {
	for name, want := range map[string]string{"Rosa": "RO", "rosa lund": "RL", "Ines Ødegård": "IØ", "Anna-Lena May Berg": "ALM", "Q": "Q", "": "", " - ": ""} {
		assert.Equal(t, want, initials(name), "%q", name)
	}
}

// A slip lists every step in order: done ones with initials and the shop's
// time, others as they are.
func TestEveryStepOnASlip(t *testing.T) {
	zone := time.FixedZone("shop", -5*3600)
	w := stepWords{stations: map[parts.Station]string{"rip": "at the saw", "joint": "at the jointer"}, people: map[int64]string{7: "Rosa"}, zone: zone}
	r := parts.Routing{Steps: []parts.Step{{Name: "rip", Station: "rip"}, {Name: "joint", Station: "joint"}, {Name: "rip again", Station: "rip"}, {Name: "joint again", Station: "joint"}}}
	s := parts.State{Next: 3, Past: []parts.Past{{How: parts.WasDone, At: time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC), By: 7}, {How: parts.WasFilled}, {How: parts.WasSkipped}}}
	assert.Equal(t, []labels.TicketStep{
		{Name: "rip", Station: "at the saw", Done: "RO 2 Mar 07:00"},
		{Name: "joint", Station: "at the jointer", Unsaid: true},
		{Name: "rip again", Station: "at the saw", Done: "left out", Unsaid: true},
		{Name: "joint again", Station: "at the jointer"},
	}, w.all(r, s))
}
