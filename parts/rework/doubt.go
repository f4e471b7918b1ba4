package rework

import (
	"fmt"
	"time"

	"benchtally/parts"
)

// Doubt names the pieces to be looked at when a setup was at fault: those of
// the ticket that went through the step since the last piece that was good.
// off is the piece that showed it. The setup has to be checked again.
func Doubt(v parts.View, off parts.ID, by By) ([]parts.Event, error) {
	if v.Subject.Kind != parts.Ticket {
		return nil, parts.Problemf(parts.Invalid, "not-a-ticket", "A setup is doubted for all pieces of a ticket.").Next("Scan the ticket.")
	}
	step, name := -1, ""
	for _, s := range v.Group {
		if s.Part == off && len(s.Nicks) > 0 {
			step, name = s.Nicks[len(s.Nicks)-1], v.Name(s)
		}
	}
	if step < 0 {
		return nil, parts.Problemf(parts.Refused, "no-defect", "%s has no defect on record.", off).Next("Record what is wrong with it first.")
	}
	since := lastGood(v.Subject, step)
	why := fmt.Sprintf("same setup as %s, which was off", name)
	var events []parts.Event
	for _, s := range v.Group {
		if s.Part == off || s.Scrapped || s.In != "" || s.Doubt != "" || s.Mending() || step >= len(s.Past) {
			continue
		}
		past := s.Past[step]
		if past.How == parts.WasFilled {
			past.At = s.LastAt // nobody said when: at the latest then
		}
		if past.How == parts.WasSkipped || past.At.Before(since) {
			continue
		}
		e := by.event(s.Part, parts.Doubted, parts.Detail{Other: off, Note: why, Ticket: v.Subject.Part})
		e.At = later(e.At, s.LastAt)
		events = append(events, e)
	}
	fell := by.event(v.Subject.Part, parts.CheckFell, parts.Detail{Other: off, Ticket: v.Subject.Part})
	fell.Step = step
	return append(events, fell), nil
}

// lastGood is when the step's setup was checked last.
func lastGood(ticket parts.State, step int) time.Time {
	for _, c := range ticket.Checks {
		if c.Step == step {
			return c.At
		}
	}
	return time.Time{}
}

// Clear says that a piece in doubt was looked at and is good. A ticket's
// pieces are cleared together.
func Clear(v parts.View, by By) ([]parts.Event, error) {
	group := []parts.State{v.Subject}
	d := parts.Detail{}
	if v.Subject.Kind.Counts() {
		group, d.Ticket = v.Group, v.Subject.Part
	}
	var events []parts.Event
	for _, s := range group {
		if s.Doubt != "" && !s.Scrapped {
			e := by.event(s.Part, parts.Cleared, d)
			e.At = later(e.At, s.LastAt)
			events = append(events, e)
		}
	}
	if len(events) == 0 {
		return nil, parts.Problemf(parts.Already, "not-in-doubt", "Nothing there has to be looked at.").Next("Nothing to do.")
	}
	return events, nil
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
