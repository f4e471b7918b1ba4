package routing

import (
	"strings"

	"benchtally/parts"
)

// Skip leaves steps out for what was bought or finished before: it goes on at
// the step with a number, and with one more than the last it is finished. A
// ticket's pieces go on together, those that stand before it.
func Skip(v parts.View, number int, reason string, scan parts.Scan) ([]parts.Event, error) {
	v = sound(v)
	if strings.TrimSpace(reason) == "" {
		return nil, parts.Problemf(parts.Invalid, "reason-missing", "No reason is given.").Next("Say why in a word or two: bought, or finished before.")
	}
	if err := stopped(v, v.Subject); err != nil {
		return nil, err
	}
	group := []parts.State{v.Subject}
	if v.Subject.Kind.Counts() {
		group = v.Group
	} else if v.Subject.Mending() {
		return nil, parts.Problemf(parts.Refused, "under-repair", "%s is being repaired.", v.Name(v.Subject)).Next("Finish the repair first.")
	}
	var events []parts.Event
	for _, s := range group {
		to, err := stepTo(v, s, number)
		if err != nil {
			return nil, err
		}
		if s.Next >= to || s.In != "" || s.Scrapped || s.Held != "" || s.Mending() {
			continue
		}
		e, err := leaveOut(v, s, to, reason, scan)
		if err != nil {
			return nil, err
		}
		events = append(events, e)
	}
	if len(events) == 0 {
		return nil, parts.Problemf(parts.Already, CodeDone, "They have gone past that already.").Next("Nothing to do.")
	}
	return events, nil
}

// stepTo is the index of the step of work that a number says.
func stepTo(v parts.View, s parts.State, number int) (int, error) {
	steps := v.Routing(s).Steps
	if number < 1 || number > len(steps)+1 {
		return 0, parts.Problemf(parts.Invalid, "step-unknown", "%s has no step %d.", v.Name(s), number).Next("Choose one of its steps.")
	}
	return parts.NextWork(steps, number-1), nil
}

// leaveOut lets one piece go on at a step. A clock that runs is not left out:
// the wood is wet all the same.
func leaveOut(v parts.View, s parts.State, to int, reason string, scan parts.Scan) (parts.Event, error) {
	steps := v.Routing(s).Steps
	d := parts.Detail{Next: to, Finished: to == len(steps), Note: reason, Ticket: ticketOf(v)}
	e := parts.Event{Part: s.Part, Kind: parts.Skipped, Station: scan.Station, By: scan.By, At: scan.At, Step: -1}
	if fit := bindsAt(steps); s.Kind == parts.Assembly && s.Next <= fit && fit < to {
		return e, parts.Problemf(parts.Refused, CodeMissing, "%s has not been put together.", v.Name(s)).
			Next("Record its dry fit first: that says which parts it has.")
	}
	if p := v.Late(s, scan.At); p != nil {
		return e, p
	}
	if wait, runs := s.Waiting(scan.At); runs {
		if !scan.Override {
			return e, waiting(v, s, steps[s.Next].Name, wait, scan.At)
		}
		d.Override = overrule(scan)
	}
	e.Detail = d
	return e, nil
}

// ticketOf is the mark that was scanned when it stands for many, "" otherwise.
func ticketOf(v parts.View) parts.ID {
	if v.Subject.Kind.Counts() {
		return v.Subject.Part
	}
	return ""
}
