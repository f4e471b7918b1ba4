package routing_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/routing"
)

// railTicket is the ticket of the rails.
var railTicket = parts.State{Part: "101S", Seq: 1, Kind: parts.Ticket, Line: rails}

func TestAdvanceATicket(t *testing.T) {
	at := func(st parts.Station, count int) parts.Scan { return parts.Scan{Station: st, Count: count, At: noon} }
	rest := waits(parts.Resting, 2, noon.Add(time.Minute))
	tests := []struct {
		name  string
		group []parts.State
		scan  parts.Scan
		code  string
		moved []int // the numbers of the parts that move
	}{
		{"all of them", []parts.State{piece(rails, 1, 0), piece(rails, 2, 0), piece(rails, 5, 0)}, at("crosscut", 0), "", []int{1, 2, 5}},
		{"two of three: spares stay behind", []parts.State{piece(rails, 5, 0), piece(rails, 2, 0), piece(rails, 1, 0)}, at("crosscut", 2), "", []int{1, 2}},
		{"more than there are", []parts.State{piece(rails, 1, 0), piece(rails, 2, 0)}, at("crosscut", 3), "count", nil},
		{"a count below nothing", []parts.State{piece(rails, 1, 0), piece(rails, 2, 0)}, at("crosscut", -1), "count", nil},
		{"those that stand right before the step go", []parts.State{piece(rails, 1, fpJoint), piece(rails, 2, fpPlane), piece(rails, 3, fpPlane)}, at("plane", 0), "", []int{2, 3}},
		{"three planed: two stood before it, one catches up", []parts.State{piece(rails, 1, fpJoint), piece(rails, 2, fpPlane), piece(rails, 3, fpPlane)}, at("plane", 3), "", []int{2, 3, 1}},
		{"the nearer catches up before the farther", []parts.State{piece(rails, 1, 0), piece(rails, 2, fpJoint), piece(rails, 3, fpWidth)}, at("plane", 2), "", []int{3, 2}},
		{"two stand before each ripping: the earlier one is meant", []parts.State{piece(rails, 1, fpWidth), piece(rails, 2, 1)}, at("rip", 0), "", []int{2}},
		{"the later ripping by its number", []parts.State{piece(rails, 1, fpWidth), piece(rails, 2, 1)}, parts.Scan{Station: "rip", Step: fpWidth + 1, At: noon}, "", []int{1}},
		{"the wet ones stop the whole", []parts.State{piece(rails, 1, fpJoint, rest), piece(rails, 2, fpJoint)}, at("joint", 0), "waiting", nil},
		{"as many as are dry: the dry ones go", []parts.State{piece(rails, 1, fpJoint, rest), piece(rails, 2, fpJoint)}, at("joint", 1), "", []int{2}},
		{"one more than is dry: none goes", []parts.State{piece(rails, 1, fpJoint, rest), piece(rails, 2, fpJoint)}, at("joint", 2), "waiting", nil},
		{"a spare that is dry before a part that is wet", []parts.State{piece(rails, 1, fpJoint, rest), piece(rails, 5, fpJoint)}, at("joint", 1), "", []int{5}},
		{"a late one stops the whole", []parts.State{piece(rails, 1, 0), piece(rails, 2, 0, func(s *parts.State) { s.LastAt = noon.Add(time.Minute) })}, at("crosscut", 0), "late", nil},
		{"held, scrapped and fitted ones stay", []parts.State{piece(rails, 1, 0, held), piece(rails, 2, 0, scrapped), piece(rails, 3, 0, inAssembly), piece(rails, 4, 0)}, at("crosscut", 0), "", []int{4}},
		{"none is left that could go", []parts.State{piece(rails, 1, 0, held), piece(rails, 2, 0, scrapped)}, at("crosscut", 0), "finished", nil},
		{"all were moved before", []parts.State{piece(rails, 1, 1), piece(rails, 2, 1)}, parts.Scan{Station: "crosscut", Step: 1, At: noon}, "done-already", nil},
		{"all are finished", []parts.State{piece(rails, 1, 8), piece(rails, 2, 8)}, at("bore", 0), "finished", nil},
		{"all need another station", []parts.State{piece(rails, 1, fpPlane), piece(rails, 2, fpPlane)}, at("joint", 0), "not-here", nil},
		{"a plugged one stays behind", []parts.State{piece(rails, 1, fpPlane), piece(rails, 2, fpPlane, mending(1))}, at("plane", 0), "", []int{1}},
		{"a plugged one cannot be counted along", []parts.State{piece(rails, 1, fpPlane), piece(rails, 2, fpPlane, mending(1))}, at("plane", 2), "count", nil},
		{"all are plugged", []parts.State{piece(rails, 1, fpPlane, mending(1)), piece(rails, 2, fpPlane, mending(1))}, at("plane", 0), "finished", nil},
		{"a repair goes before the common step", []parts.State{piece(rails, 1, fpBore), piece(rails, 2, 8, mending(1))}, at("bore", 0), "", []int{2}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			events, err := routing.Advance(view(railTicket, tt.group...), tt.scan)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code != "" {
				require.Empty(t, events, "all or none")
				return
			}
			var moved []int
			for _, e := range events {
				assert.Equal(t, railTicket.Part, e.Detail.Ticket)
				moved = append(moved, int(e.Part[1]-'0'))
			}
			assert.Equal(t, tt.moved, moved)
		})
	}
}

// Of half a ticket that is wet and half that is not, a station is offered what
// can be done there now.
func TestWhatCanBeDoneNowGoesBeforeWhatIsWet(t *testing.T) {
	ticket := parts.State{Part: "102Q", Seq: 1, Kind: parts.Ticket, Line: shelves}
	const width, sand, stain1, stain2, top2 = 4, 7, 8, 10, 14
	wet := func(number, next int) parts.State {
		return piece(shelves, number, next, waits(parts.Drying, next-1, noon.Add(time.Hour)))
	}
	for _, tt := range []struct {
		name        string
		group       []parts.State
		at          parts.Station
		number, due int
	}{
		{"the first coat of the others, filled from far off", []parts.State{wet(1, stain2), wet(2, stain2), piece(shelves, 3, width), piece(shelves, 4, width)}, "stain", stain1 + 1, 2},
		{"of those that are nearest", []parts.State{wet(1, stain2), piece(shelves, 3, width), piece(shelves, 4, sand)}, "stain", stain1 + 1, 1},
		{"what is dry goes on", []parts.State{piece(shelves, 1, stain2), piece(shelves, 3, width)}, "stain", stain2 + 1, 1},
		{"some of it is dry", []parts.State{wet(1, stain2), piece(shelves, 2, stain2), piece(shelves, 3, width)}, "stain", stain2 + 1, 1},
		{"all are wet", []parts.State{wet(1, stain2), wet(2, stain2)}, "stain", stain2 + 1, 2},
		{"nothing that would be refused", []parts.State{wet(1, top2), piece(shelves, 3, sand)}, "topcoat", top2 + 1, 1},
	} {
		o, err := routing.OfferAt(view(ticket, tt.group...), tt.at, 0)
		require.NoError(t, err, tt.name)
		assert.Equal(t, []int{tt.number, tt.due}, []int{o.Number, o.Due}, tt.name)
	}
	events, err := routing.Advance(view(ticket, wet(1, stain2), piece(shelves, 3, width)), parts.Scan{Station: "stain", At: noon})
	require.NoError(t, err)
	require.Len(t, events, 1)
	assert.Equal(t, []any{parts.ID("E3"), stain1}, []any{events[0].Part, events[0].Step}, "a scan does what was offered")
}

func TestACoatNobodyRecordedStopsATicket(t *testing.T) {
	ticket := parts.State{Part: "102Q", Seq: 1, Kind: parts.Ticket, Line: shelves}
	v := view(ticket, piece(shelves, 1, 8), piece(shelves, 2, 12))
	events, err := routing.Advance(v, parts.Scan{Station: "topcoat", At: noon})
	require.NoError(t, err, "the one that has its stain goes")
	require.Len(t, events, 1)
	_, err = routing.Advance(v, parts.Scan{Station: "topcoat", Count: 2, At: noon})
	assert.Equal(t, "must-record", parts.CodeOf(err))
}

func TestAHeldTicketStaysWhereItIs(t *testing.T) {
	ticket := railTicket
	ticket.Held = "wrong oak"
	_, err := routing.Advance(view(ticket, piece(rails, 1, 0)), parts.Scan{Station: "crosscut", At: noon})
	assert.Equal(t, "held", parts.CodeOf(err))
}

func TestOfferAt(t *testing.T) {
	rest := waits(parts.Resting, 2, noon.Add(time.Minute))
	tests := []struct {
		name                string
		group               []parts.State
		at                  parts.Station
		code                string
		number, due, at2, n int // number of the step, counted at first, at most, number of the first part
	}{
		{"all stand before it", []parts.State{piece(rails, 1, 0), piece(rails, 2, 0)}, "crosscut", "", 1, 2, 2, 1},
		{"some could catch up", []parts.State{piece(rails, 1, 0), piece(rails, 2, fpPlane)}, "plane", "", fpPlane + 1, 1, 2, 2},
		{"some are wet", []parts.State{piece(rails, 1, fpJoint, rest), piece(rails, 2, fpJoint), piece(rails, 3, fpJoint)}, "joint", "", fpJoint + 1, 2, 3, 2},
		{"all are wet", []parts.State{piece(rails, 1, fpJoint, rest), piece(rails, 2, fpJoint, rest)}, "joint", "", fpJoint + 1, 2, 2, 1},
		{"waits that are over are none", []parts.State{piece(rails, 1, fpJoint, waits(parts.Resting, 2, noon)), piece(rails, 2, fpJoint)}, "joint", "", fpJoint + 1, 2, 2, 1},
		{"nothing to do there", []parts.State{piece(rails, 1, 0)}, "wrap", "not-here", 0, 0, 0, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			o, err := routing.OfferAt(view(railTicket, tt.group...), tt.at, 0)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			assert.Equal(t, []int{tt.number, tt.due, tt.at2, tt.n}, []int{o.Number, o.Due, o.Most, o.State.Number})
		})
	}
	o, err := routing.OfferAt(view(piece(rails, 1, fpJoint)), "plane", 0)
	require.NoError(t, err)
	assert.Equal(t, []string{"joint a face and an edge", "rip to width"}, o.Filled)
	_, err = routing.OfferAt(view(piece(rails, 1, 0, held)), "crosscut", 0)
	assert.Equal(t, "held", parts.CodeOf(err))
}
