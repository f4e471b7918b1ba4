package routing

import (
	"benchtally/parts"
)

// Offer is what a page fills in for a station: the step that a scan there
// means now, how many stand right before it, and how many could be moved.
type Offer struct {
	Number int // of the step, see parts.StepNumber
	Step   parts.Step
	Due    int      // counted at first: those right before the step, the wet left out when some are dry
	Most   int      // could be counted
	Filled []string // steps that the first of them skips
	Check  string   // what is to be checked on the first piece and was not yet; "" for nothing
	Blanks int      // parts in each blank while they travel as blanks; 0 when they are distinct
	Missed string   // a step among those that must be recorded first; "" for none
	State  parts.State
}

// OfferAt gives the offer for the view's subject at a station, or why there
// is none. A step number asks for that step alone; 0 is for whatever a scan
// there would mean.
func OfferAt(v parts.View, at parts.Station, step int) (Offer, error) {
	v = sound(v)
	scan := parts.Scan{Station: at, Step: step, At: v.Now}
	if !v.Subject.Kind.Counts() {
		if err := stopped(v, v.Subject); err != nil {
			return Offer{}, err
		}
		m, err := target(v, v.Subject, scan)
		if err != nil {
			return Offer{}, err
		}
		return offerOf(mover{state: v.Subject, move: m}, 1, 1), nil
	}
	movers, err := moversAt(v, scan)
	if err != nil {
		return Offer{}, err
	}
	o := offerOf(movers[0], prefilled(movers), len(movers))
	if v.Subject.Kind == parts.Cart {
		o.Number = 0
	}
	if line := v.Lines[v.Subject.Line]; v.Subject.Kind == parts.Ticket && !movers[0].move.repair {
		if Unparted(line, movers[0].move.routing, movers[0].move.index) {
			o.Blanks = line.PerBlank
		}
		if !ChecksHold(v.Subject, movers[0].move.index, v.Now) {
			o.Check = o.Step.Check
		}
	}
	return o, nil
}

// prefilled counts the movers that are like the first: as near, and dry or
// wet as it is.
func prefilled(movers []mover) int {
	n := 0
	for _, m := range movers {
		if m.skips == movers[0].skips && m.wet == movers[0].wet {
			n++
		}
	}
	return n
}

func offerOf(m mover, due, most int) Offer {
	o := Offer{Number: parts.StepNumber(m.move.index, m.move.repair), Step: m.move.step, Due: due, Most: most, State: m.state}
	steps, next := m.move.routing.Steps, m.state.Next
	if m.move.repair {
		steps, next = m.state.Repair, m.state.Mend
	}
	for _, s := range steps[min(next, m.move.index):m.move.index] {
		if m.move.repair || !s.Binds {
			o.Filled = append(o.Filled, s.Name)
		}
		if s.Record && o.Missed == "" {
			o.Missed = s.Name
		}
	}
	return o
}
