package routing

import (
	"cmp"
	"slices"

	"benchtally/parts"
)

// Load puts a piece, or counted pieces of a ticket, on a cart; from there one
// scan of the cart moves them all. An empty cart takes them off the one they
// lie on. A cart's own mark empties it.
func Load(v parts.View, cart parts.ID, scan parts.Scan) ([]parts.Event, error) {
	group := []parts.State{v.Subject}
	if v.Subject.Kind.Counts() {
		group = loadable(v, cart)
	} else if err := stopped(v, v.Subject); err != nil {
		return nil, err
	} else if !v.Subject.Delivered.IsZero() {
		return nil, parts.Problemf(parts.Refused, "delivered", "%s was delivered.", v.Name(v.Subject)).Next("If it came back, say so on its page first.")
	}
	if scan.Count < 0 || scan.Count > len(group) {
		return nil, parts.Problemf(parts.Refused, CodeCount, "The count says %d, and only %d of them can go there.", scan.Count, len(group)).
			Next("Lower the count.").Fact("most", len(group))
	}
	if scan.Count > 0 {
		group = group[:scan.Count]
	}
	var events []parts.Event
	for _, s := range group {
		if s.Cart != cart {
			events = append(events, parts.Event{Part: s.Part, Kind: parts.Carted, Station: scan.Station, By: scan.By, At: scan.At, Step: -1,
				Detail: parts.Detail{Other: cart, Ticket: ticketOf(v)}})
		}
	}
	if len(events) == 0 {
		return nil, parts.Problemf(parts.Already, "on-cart", "Nothing of that has to be moved.").Next("Nothing to do.")
	}
	return events, nil
}

// loadable are the pieces of a ticket or a cart that can be put on another
// cart: those that lie on none first, and of them the furthest along.
func loadable(v parts.View, cart parts.ID) []parts.State {
	var out []parts.State
	for _, s := range v.Group {
		if s.In == "" && !s.Scrapped && s.Held == "" && s.Cart != cart && s.Delivered.IsZero() {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b parts.State) int {
		return cmp.Or(cmp.Compare(b2i(a.Cart != ""), b2i(b.Cart != "")), cmp.Compare(b2i(a.Spare), b2i(b.Spare)), cmp.Compare(b.Next, a.Next))
	})
	return out
}
