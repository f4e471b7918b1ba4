package parts

import (
	"fmt"
	"time"
)

// View is what a decision about one mark may look at. The store reads it in
// the transaction that will write the decision's events.
type View struct {
	Subject  State             // what the mark names
	Group    []State           // a ticket or a cart: its pieces; an assembly before dry fit: every part that could go into it; a part: the spares of its line
	Ticket   State             // a part: the ticket of its line, when a step of it wants a check; a zero State otherwise
	Needs    []Line            // an assembly: the lines it takes; Line.Each of each
	Lines    map[int64]Line    // the lines of all of them
	Routings map[int64]Routing // the steps of all of them
	Now      time.Time         // the later of the clock and the last recorded time
}

// Routing gives the steps that s follows.
func (v View) Routing(s State) Routing { return v.Routings[s.Steps] }

// Name is what people call it: "Rail 3", "Frame 7".
func (v View) Name(s State) string { return PieceName(v.Lines[s.Line], s) }

// PieceName is what people call a part, an assembly or a ticket of line l.
func PieceName(l Line, s State) string {
	switch {
	case s.Kind == Cart:
		return fmt.Sprintf("Cart %d", s.Number)
	case s.Kind == Ticket, l.Kind == Single && l.Pieces() == 1:
		return l.Name
	case s.Test:
		return fmt.Sprintf("%s %d (test piece)", l.Name, s.Number)
	case s.Spare:
		return fmt.Sprintf("%s %d (spare)", l.Name, s.Number)
	}
	return fmt.Sprintf("%s %d", l.Name, s.Number)
}
