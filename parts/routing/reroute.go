package routing

import "benchtally/parts"

// Reroute lets the parts of a line follow other steps. It is for before work
// starts: what is under way keeps its steps.
func Reroute(v parts.View, line int64, r parts.Routing, person int64) ([]parts.Event, error) {
	var events []parts.Event
	for _, s := range v.Group {
		if s.Line != line || s.Kind == parts.Ticket || s.Scrapped || s.Steps == r.ID {
			continue
		}
		if r.For != s.Kind {
			return nil, parts.Problemf(parts.Invalid, "steps-for", "These steps are not for %s.", v.Name(s)).Next("Choose others.")
		}
		if len(s.Past) > 0 || s.In != "" || len(s.Repair) > 0 {
			return nil, parts.Problemf(parts.Refused, "under-way", "%s is under way already, and keeps its steps.", v.Name(s)).
				Next("Take its first step back, or go on with the steps it has.").Fact("part", s.Part)
		}
		events = append(events, parts.Event{Part: s.Part, Kind: parts.Rerouted, By: person, At: v.Now, Step: -1,
			Detail: parts.Detail{Steps: r.ID, Next: parts.NextWork(r.Steps, 0)}})
	}
	if len(events) == 0 {
		return nil, parts.Problemf(parts.Already, "steps-same", "They follow these steps already.").Next("Nothing to do.")
	}
	return events, nil
}
