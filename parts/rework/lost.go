package rework

import (
	"cmp"
	"slices"

	"benchtally/parts"
)

// Instead says what is done about pieces that did not come out.
type Instead string

// What may be done about pieces that were lost at a machine.
const (
	UseSpares Instead = "spare"  // spares of the line take their places
	MakeNew   Instead = "remake" // new ones start over
	DoWithout Instead = "short"  // nothing; the shortage stays visible
)

// Lost scraps counted pieces of a ticket that did not come out of a step, of
// those that stand right before it. They are alike, so it is for the books to
// say which: where spares make up for them, spares that stand there too are
// the ones that are gone. number is the step's, see parts.StepNumber.
func Lost(v parts.View, number, count int, instead Instead, fresh func() parts.ID, reason string, by By) ([]parts.Event, error) {
	if err := losable(v, number, instead, reason); err != nil {
		return nil, err
	}
	lost, spares := standingAt(v, number, instead != MakeNew)
	if count < 1 || count > len(lost) {
		return nil, parts.Problemf(parts.Refused, "count", "The count says %d, and %d of them stand there.", count, len(lost)).
			Next("Lower the count.").Fact("most", len(lost))
	}
	lost = lost[:count]
	spares = slices.DeleteFunc(spares, func(s parts.State) bool { return stands(lost, s.Part) })
	var events []parts.Event
	for _, s := range lost {
		if p := v.Late(s, by.At); p != nil {
			return nil, p
		}
		d := parts.Detail{Note: reason, Ticket: v.Subject.Part, Spare: s.Spare && instead != MakeNew}
		var place []parts.Event
		switch {
		case instead == MakeNew:
			d.Other = fresh()
			place = startOver(v, s, d.Other, by)
		case instead == UseSpares && !s.Spare:
			if len(spares) == 0 {
				return nil, parts.Problemf(parts.Refused, "spare-gone", "There are not enough spares to take the place of %d.", count).
					Next("Remake the others.")
			}
			d.Other, place = spares[0].Part, takePlace(spares[0], s, by)
			spares = spares[1:]
		}
		events = append(append(events, by.event(s.Part, parts.Scrapped, d)), place...)
	}
	return events, nil
}

func losable(v parts.View, number int, instead Instead, reason string) error {
	index, repair := parts.StepIndex(number)
	switch {
	case v.Subject.Kind != parts.Ticket:
		return parts.Problemf(parts.Invalid, "not-a-ticket", "Pieces are counted with a ticket.").Next("Scan the ticket.")
	case index < 0 || repair:
		return parts.Problemf(parts.Invalid, "step-unknown", "Nothing is counted at step %d.", number).Next("Open the ticket's page again.")
	case instead != UseSpares && instead != MakeNew && instead != DoWithout:
		return parts.Problemf(parts.Invalid, "instead", "%q is nothing that can be done about it.", string(instead)).
			Next("Send spare, remake or short.")
	}
	return checkReason(reason, true)
}

// standingAt gives the pieces that stand right before a step, in the order in
// which they are given up, and the free spares, the furthest along first.
func standingAt(v parts.View, number int, sparesFirst bool) (there, spares []parts.State) {
	index, _ := parts.StepIndex(number)
	for _, s := range v.Group {
		if IsSpare(s) {
			spares = append(spares, s)
		}
		if s.Next == index && !s.Finished && !s.Mending() && !s.Scrapped && s.In == "" && s.Held == "" && s.Kind == parts.Single {
			there = append(there, s)
		}
	}
	slices.SortStableFunc(there, func(a, b parts.State) int {
		first := cmp.Compare(b2i(b.Spare), b2i(a.Spare))
		if !sparesFirst {
			first = -first
		}
		return cmp.Or(first, cmp.Compare(b2i(b.Test), b2i(a.Test)), cmp.Compare(b.Number, a.Number))
	})
	slices.SortStableFunc(spares, func(a, b parts.State) int {
		return cmp.Or(cmp.Compare(b2i(a.Test), b2i(b.Test)), cmp.Compare(b.Next, a.Next), cmp.Compare(a.Number, b.Number))
	})
	return there, spares
}

func stands(states []parts.State, id parts.ID) bool {
	return slices.ContainsFunc(states, func(s parts.State) bool { return s.Part == id })
}
