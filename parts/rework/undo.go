package rework

import (
	"time"

	"benchtally/parts"
)

// Undo takes a command back: every part it touched returns to the state it
// had before. It is refused when any of them has a later event.
func Undo(command parts.CommandID, done []parts.Trace, name func(parts.State) string, person int64, now time.Time) ([]parts.Event, error) {
	if len(done) == 0 {
		return nil, parts.Problemf(parts.Missing, "nothing-to-undo", "That did nothing, so there is nothing to undo.").Next("Look at the part's page.")
	}
	var events []parts.Event
	for _, d := range done {
		if d.Last.Command != command {
			if d.Last.Kind == parts.Reverted {
				return nil, parts.Problemf(parts.Already, "undone-already", "That was undone already.").Next("Nothing to do.")
			}
			return nil, parts.Problemf(parts.Refused, "later-event", "Something was recorded for %s since.", name(d.Now)).
				Next("Undo that first, on its page.").Fact("part", d.Now.Part)
		}
		back := parts.Fold(d.Before)
		if len(d.Before) == 0 {
			// A mark is never taken back: what was made by mistake is void.
			back = d.Now
			back.Scrapped, back.LabelDue = true, false
		}
		events = append(events, parts.Event{Part: d.Now.Part, Kind: parts.Reverted, By: person, At: now, Step: -1,
			Detail: parts.Detail{Back: &back}})
	}
	return events, nil
}
