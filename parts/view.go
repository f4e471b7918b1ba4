package parts

import (
	"strconv"
	"time"
)

// View is what a decision about one mark may look at. The store reads it in
// the transaction that will write the decision's events.
type View struct {
	Subject  State             // what the mark names
	Group    []State           // a ticket or a cart: its pieces; an assembly before dry fit: every part that could go into it; a part: the spares of its line
	Needs    []Line            // an assembly: the lines it takes; Line.Each of each
	Lines    map[int64]Line    // the lines of all of them
	Routings map[int64]Routing // the steps of all of them
	Now      time.Time         // the later of the clock and the last recorded time
	// Dry judges a wait for a product by the readings up to Now, and completes
	// one that begins; it gets the cart the piece lies on. nil leaves all waits
	// to the clock. The waits of the states are judged already.
	Dry func(cart ID, w Wait) Wait `json:"-"`
}

// Routing gives the steps that s follows.
func (v View) Routing(s State) Routing { return v.Routings[s.Steps] }

// Name is what people call it: "Rail 3", "Frame 7".
func (v View) Name(s State) string { return PieceName(v.Lines[s.Line], s) }

// PieceName is what people call a part, an assembly or a ticket of line l.
func PieceName(l Line, s State) string {
	switch {
	case s.Kind == Cart && s.Name != "":
		return s.Name
	case s.Kind == Cart:
		return "Cart " + strconv.Itoa(s.Number)
	case s.Kind == Ticket, l.Kind == Single && l.Pieces() == 1:
		return l.Name
	}
	name := l.Name + " " + strconv.Itoa(s.Number)
	switch {
	case s.Test:
		name += " (test piece)"
	case s.Spare:
		name += " (spare)"
	}
	return name
}

// Late parks what is told too late to be judged by itself: the mark has
// something later already, and whether this still holds is for a person to
// say. nil when it is in order.
func (v View) Late(s State, at time.Time) *Problem {
	if !at.Before(s.LastAt) {
		return nil
	}
	return Problemf(Parked, "late", "This is from %s, and %s has something later, from %s.", at, v.Name(s), s.LastAt).
		Next("It is on the list of late scans: look at it there.")
}
