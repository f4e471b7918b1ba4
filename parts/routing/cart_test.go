package routing_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/routing"
)

var cart = parts.State{Part: "CART1", Seq: 1, Kind: parts.Cart, Number: 1}

func onCart(s *parts.State) { s.Cart = cart.Part }

// marks are what events are about.
func marks(events []parts.Event) []parts.ID {
	var out []parts.ID
	for _, e := range events {
		out = append(out, e.Part)
	}
	return out
}

// Shelves (loose parts) and frames have lists of steps of their own, and both
// have the same first and second coats: what lies on the cart gets its coat
// with one tap.
func TestACartOfMixedLists(t *testing.T) {
	const lpStain1, lpStain2 = 8, 10 // of a shelf
	fitted := func(s *parts.State) { s.Parts = []parts.ID{"B1"} }
	frame1, frame2 := piece(frames, 1, frStain1, fitted, onCart), piece(frames, 2, frStain2, fitted, onCart)
	shelf1, shelf2 := piece(shelves, 1, lpStain1, onCart), piece(shelves, 2, lpStain2, onCart)
	wet := as(shelf1, waits(parts.Drying, 7, noon.Add(time.Hour)))
	tests := []struct {
		name  string
		group []parts.State
		scan  parts.Scan
		code  string
		moved []parts.ID
	}{
		{"the first coat of two lists", []parts.State{frame1, shelf1}, parts.Scan{Station: "stain"}, "", []parts.ID{"D1", "E1"}},
		{"the second coat of two lists", []parts.State{frame2, shelf2}, parts.Scan{Station: "stain"}, "", []parts.ID{"D2", "E2"}},
		{"first and second coats are two taps: the larger pile first", []parts.State{frame1, shelf2, frame2}, parts.Scan{Station: "stain"}, "", []parts.ID{"D2", "E2"}},
		{"two of one list and one of another", []parts.State{frame1, shelf1, as(shelf1, func(s *parts.State) { s.Part, s.Number = "E3", 3 })}, parts.Scan{Station: "stain"}, "", []parts.ID{"D1", "E1", "E3"}},
		{"one of them by the count", []parts.State{frame1, shelf1}, parts.Scan{Station: "stain", Count: 1}, "", []parts.ID{"D1"}},
		{"more than lie there", []parts.State{frame1, shelf1}, parts.Scan{Station: "stain", Count: 3}, "count", nil},
		{"one is wet: none gets its coat", []parts.State{frame1, wet}, parts.Scan{Station: "stain"}, "waiting", nil},
		{"one is wet, and the dry one is counted", []parts.State{frame1, wet}, parts.Scan{Station: "stain", Count: 1}, "", []parts.ID{"D1"}},
		{"held ones stay as they are", []parts.State{as(frame1, held), shelf1}, parts.Scan{Station: "stain"}, "", []parts.ID{"E1"}},
		{"nothing lies on it", nil, parts.Scan{Station: "stain"}, "finished", nil},
		{"nothing there wants that", []parts.State{frame1, shelf1}, parts.Scan{Station: "bore"}, "finished", nil},
		{"a step by its number, which is of one list", []parts.State{frame1}, parts.Scan{Station: "stain", Step: frStain1 + 1}, "step-unknown", nil},
		{"blanks", []parts.State{frame1, shelf1}, parts.Scan{Station: "stain", Blanks: 1}, "count", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.scan.At = noon
			events, err := routing.Advance(view(cart, tt.group...), tt.scan)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			assert.Equal(t, tt.moved, marks(events))
			for _, e := range events {
				assert.Equal(t, cart.Part, e.Detail.Ticket)
			}
		})
	}
	// Two coats of one name are two steps: the first and the second time.
	oil := parts.Step{Name: "oil", Station: "stain", Record: true, Coat: "oil", Coats: parts.Faces}
	dry := parts.Step{Name: "dry", Clock: parts.Drying, Minutes: 60}
	oiled := func(s parts.State, id int64, next int) parts.State {
		s.Steps, s.Next, s.Past = id, next, s.Past[:next]
		return s
	}
	v := view(cart, oiled(frame1, 60, 0), oiled(shelf1, 61, 3), oiled(shelf2, 61, 1))
	v.Routings[60] = parts.Routing{ID: 60, Steps: []parts.Step{oil, dry, oil}}
	v.Routings[61] = parts.Routing{ID: 61, Steps: []parts.Step{{Name: "sand", Station: "sand"}, oil, dry, oil}}
	events, err := routing.Advance(v, parts.Scan{Station: "stain", At: noon})
	require.NoError(t, err)
	assert.Equal(t, []parts.ID{"D1", "E2"}, marks(events))

	o, err := routing.OfferAt(view(cart, frame1, shelf1, frame2), "stain", 0)
	require.NoError(t, err)
	assert.Equal(t, []int{0, 2, 2}, []int{o.Number, o.Due, o.Most}, "a cart's steps have no number")
}

func TestLoad(t *testing.T) {
	none := parts.ID("")
	other := func(s *parts.State) { s.Cart = "CART2" }
	r1, r2, r3, spare := piece(rails, 1, 1), piece(rails, 2, fpPlane), piece(rails, 3, fpPlane), piece(rails, 5, fpBore)
	tests := []struct {
		name    string
		subject parts.State
		group   []parts.State
		cart    parts.ID
		count   int
		code    string
		moved   []parts.ID
	}{
		{"a piece", r1, nil, cart.Part, 0, "", []parts.ID{"B1"}},
		{"a piece, counted", r1, nil, cart.Part, 1, "", []parts.ID{"B1"}},
		{"a piece, counted twice", r1, nil, cart.Part, 2, "count", nil},
		{"a piece that lies there", as(r1, onCart), nil, cart.Part, 0, "on-cart", nil},
		{"from one cart to another", as(r1, other), nil, cart.Part, 0, "", []parts.ID{"B1"}},
		{"a piece is taken off", as(r1, onCart), nil, none, 0, "", []parts.ID{"B1"}},
		{"taken off, and it lies on none", r1, nil, none, 0, "on-cart", nil},
		{"a held piece", as(r1, held), nil, cart.Part, 0, "held", nil},
		{"a scrapped piece", as(r1, scrapped), nil, cart.Part, 0, "scrapped", nil},
		{"a piece in an assembly", as(r1, inAssembly), nil, cart.Part, 0, "in-assembly", nil},
		{"a wet piece: a cart is a good place to dry", as(r1, waits(parts.Drying, 1, noon.Add(time.Hour))), nil, cart.Part, 0, "", []parts.ID{"B1"}},

		{"a whole ticket: the furthest first, spares last", railTicket, []parts.State{r1, r2, r3, spare}, cart.Part, 0, "", []parts.ID{"B2", "B3", "B1", "B5"}},
		{"two of a ticket", railTicket, []parts.State{r1, r2, r3, spare}, cart.Part, 2, "", []parts.ID{"B2", "B3"}},
		{"two of a ticket: those that lie on no cart", railTicket, []parts.State{r1, as(r2, other), r3}, cart.Part, 2, "", []parts.ID{"B3", "B1"}},
		{"what cannot be moved stays", railTicket, []parts.State{r1, as(r2, held), as(r3, inAssembly), as(spare, scrapped)}, cart.Part, 0, "", []parts.ID{"B1"}},
		{"more than can go there", railTicket, []parts.State{r1, as(r2, onCart)}, cart.Part, 2, "count", nil},
		{"less than none", railTicket, []parts.State{r1, r2}, cart.Part, -1, "count", nil},
		{"a ticket that lies there", railTicket, []parts.State{as(r1, onCart)}, cart.Part, 0, "on-cart", nil},
		{"a ticket is taken off", railTicket, []parts.State{as(r1, onCart), r2, as(r3, other)}, none, 0, "", []parts.ID{"B3", "B1"}},

		{"the cart is emptied", cart, []parts.State{as(r1, onCart), as(r2, onCart)}, none, 0, "", []parts.ID{"B2", "B1"}},
		{"onto another cart", cart, []parts.State{as(r1, onCart)}, "CART2", 0, "", []parts.ID{"B1"}},
		{"onto itself", cart, []parts.State{as(r1, onCart)}, cart.Part, 0, "on-cart", nil},
		{"an empty cart is emptied", cart, nil, none, 0, "on-cart", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			events, err := routing.Load(view(tt.subject, tt.group...), tt.cart, parts.Scan{Count: tt.count, At: noon, By: 3})
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			assert.Equal(t, tt.moved, marks(events))
			for _, e := range events {
				before := piece(rails, int(e.Part[1]-'0'), 1, waits(parts.Drying, 1, noon.Add(time.Hour)))
				after := parts.Apply(before, e)
				assert.Equal(t, tt.cart, after.Cart)
				assert.Equal(t, []any{before.LastAt, before.Waits}, []any{after.LastAt, after.Waits}, "nothing was done to the wood")
			}
		})
	}
}
