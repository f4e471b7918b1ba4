package rework

import (
	"slices"
	"strings"
	"time"

	"benchtally/parts"
)

// Freely is how long the last thing can be taken back with one tap. After
// that it is a correction, and says why.
const Freely = 10 * time.Minute

// Undo takes a command back: every part it touched returns to the state it
// had before. It is refused when any of them has a later event.
func Undo(command parts.CommandID, done []parts.Trace, name func(parts.State) string, person int64, reason string, now time.Time) ([]parts.Event, error) {
	if len(done) == 0 {
		return nil, parts.Problemf(parts.Missing, "nothing-to-undo", "That did nothing, so there is nothing to undo.").Next("Look at the part's page.")
	}
	if err := checkReason(reason, false); err != nil {
		return nil, err
	}
	var events []parts.Event
	for _, d := range done {
		if d.Last.Command != command {
			if back := d.Last.Detail.Back; back != nil && back.Seq == len(d.Before) {
				return nil, parts.Problemf(parts.Already, "undone-already", "That was undone already.").Next("Nothing to do.")
			}
			return nil, parts.Problemf(parts.Refused, "later-event", "Something was recorded for %s since.", name(d.Now)).
				Next("Undo that first, on its page.").Fact("part", d.Now.Part)
		}
		back := before(d)
		events = append(events, parts.Event{Part: d.Now.Part, Kind: parts.Reverted, By: person, At: now, Step: -1,
			Detail: parts.Detail{Back: &back, Note: reason}})
	}
	if age := now.Sub(done[0].Last.Recorded); age > Freely && strings.TrimSpace(reason) == "" {
		return nil, parts.Problemf(parts.Refused, "undo-reason", "That was recorded %s ago.", age).
			Next("Say why it is taken back.")
	}
	return events, nil
}

// before is the state as if the command had never been: what was printed
// since lies on the bench all the same. Its Seq is that of the event it goes
// back to.
func before(d parts.Trace) parts.State {
	s := parts.Fold(append(slices.Clip(d.Before), d.Since...))
	if len(d.Before) == 0 {
		// A mark is never taken back: what was made by mistake is void.
		s = d.Now
		s.Scrapped, s.Void, s.LabelDue = true, true, false
	}
	s.Seq = len(d.Before)
	return s
}
