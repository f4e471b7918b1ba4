package routing

import (
	"slices"
	"time"

	"benchtally/parts"
)

// checkHolds is how long the check of a first piece holds: a setup is checked
// again on another day. Common practice, no source.
const checkHolds = 12 * time.Hour

// ChecksHold reports whether the first piece of a step's setup was checked
// lately, as the line's ticket remembers it.
func ChecksHold(ticket parts.State, step int, now time.Time) bool {
	return slices.ContainsFunc(ticket.Checks, func(c parts.Check) bool {
		return c.Step == step && now.Sub(c.At) < checkHolds
	})
}

// CheckFirst records that the first piece of a setup is good, before the
// others are done with it or after all. The subject is the line's ticket; the
// scan names the step or the station.
func CheckFirst(v parts.View, scan parts.Scan) ([]parts.Event, error) {
	v = sound(v)
	if v.Subject.Kind != parts.Ticket || len(v.Group) == 0 {
		return nil, parts.Problemf(parts.Invalid, "not-a-ticket", "A first piece is checked for all pieces of a ticket.").Next("Scan the ticket.")
	}
	if p := v.Late(v.Subject, scan.At); p != nil {
		return nil, p
	}
	m, err := setupOf(v, scan)
	if err != nil {
		return nil, err
	}
	if m.repair || m.step.Check == "" {
		return nil, parts.Problemf(parts.Refused, "no-check", "%s needs no check of a first piece.", m.step.Name).Next("Go on.")
	}
	scan.Checked = true
	return checked(v, m, scan), nil
}

// setupOf finds the step whose setup a scan of a ticket means.
func setupOf(v parts.View, scan parts.Scan) (move, error) {
	if scan.Step == 0 {
		movers, err := moversAt(v, scan)
		if err != nil {
			return move{}, err
		}
		return movers[0].move, nil
	}
	m := move{routing: v.Routing(v.Group[0])}
	m.index, m.repair = parts.StepIndex(scan.Step)
	if m.repair || m.index < 0 || m.index >= len(m.routing.Steps) {
		return m, parts.Problemf(parts.Invalid, "step-unknown", "There is no step %d that a machine is set for.", scan.Step).Next("Open the ticket's page again.")
	}
	m.step = m.routing.Steps[m.index]
	return m, nil
}

// checked records with a step that the first piece of its setup was good. The
// ticket of the line remembers it.
func checked(v parts.View, m move, scan parts.Scan) []parts.Event {
	ticket := v.Lines[v.Subject.Line].Ticket
	if v.Subject.Kind == parts.Ticket {
		ticket = v.Subject.Part
	}
	if !scan.Checked || m.repair || m.step.Check == "" || ticket == "" {
		return nil
	}
	return []parts.Event{{Part: ticket, Kind: parts.Checked, Station: m.step.Station, By: scan.By, At: scan.At, Step: m.index,
		Detail: parts.Detail{Ticket: ticket}}}
}
