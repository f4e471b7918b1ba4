package routing

import (
	"slices"

	"benchtally/parts"
)

// Reroute lets the pieces of a line follow other steps, or a newer version of
// theirs. What was not begun starts the new steps. What is under way goes on
// at the step of the same name in a newer version; among other steps, or where
// there is none of that name, onAt says at which step, counted from 1.
func Reroute(v parts.View, line int64, r parts.Routing, onAt int, person int64) ([]parts.Event, error) {
	v = sound(v)
	var events []parts.Event
	for _, s := range v.Group {
		if s.Line != line || s.Kind.Counts() || s.Scrapped || s.Steps == r.ID || s.In != "" {
			continue
		}
		if r.For != s.Kind {
			return nil, parts.Problemf(parts.Invalid, "steps-for", "These steps are not for %s.", v.Name(s)).Next("Choose others.")
		}
		e := parts.Event{Part: s.Part, Kind: parts.Rerouted, By: person, At: v.Now, Step: -1,
			Detail: parts.Detail{Steps: r.ID, Next: parts.NextWork(r.Steps, 0)}}
		if len(s.Past) > 0 || len(s.Repair) > 0 {
			if s.Mending() {
				return nil, parts.Problemf(parts.Refused, "under-repair", "%s is being repaired, and keeps its steps until that is done.", v.Name(s)).
					Next("Finish the repair first.").Fact("part", s.Part)
			}
			if err := moveOver(v, s, r, onAt, &e); err != nil {
				return nil, err
			}
		}
		events = append(events, e)
	}
	if len(events) == 0 {
		return nil, parts.Problemf(parts.Already, "steps-same", "They follow these steps already.").Next("Nothing to do.")
	}
	return append(events, forgetChecks(v, line, person)...), nil
}

// forgetChecks takes back the checks of first pieces that a line's ticket
// remembers: they are of steps by number, and the steps are others now.
func forgetChecks(v parts.View, line, person int64) []parts.Event {
	var events []parts.Event
	for _, s := range v.Group {
		if s.Line != line || s.Kind != parts.Ticket {
			continue
		}
		for _, c := range s.Checks {
			events = append(events, parts.Event{Part: s.Part, Kind: parts.CheckFell, By: person, At: v.Now, Step: c.Step,
				Detail: parts.Detail{Ticket: s.Part}})
		}
	}
	return events
}

// moveOver finds the place of a piece under way among other steps.
func moveOver(v parts.View, s parts.State, r parts.Routing, onAt int, e *parts.Event) error {
	old := v.Routing(s).Steps
	next := onAt - 1
	if onAt == 0 && v.Routing(s).Key != r.Key {
		return parts.Problemf(parts.Refused, "under-way", "%s is under way already.", v.Name(s)).
			Next("Take its first step back, or say at which of the other steps it goes on.").Fact("part", s.Part)
	}
	if onAt == 0 {
		if next = sameStep(old, s.Next, r.Steps); s.Next >= len(old) {
			next = len(r.Steps)
		}
	}
	if next < 0 || next > len(r.Steps) {
		name := "what it has to do next"
		if s.Next < len(old) {
			name = old[s.Next].Name
		}
		return parts.Problemf(parts.Refused, "goes-on-where", "%s is under way, and the new steps have no %q.", v.Name(s), name).
			Next("Say at which of the new steps it goes on.").Fact("part", s.Part)
	}
	next = parts.NextWork(r.Steps, next)
	if fit := bindsAt(r.Steps); s.Kind == parts.Assembly && (fit < next) != (len(s.Parts) > 0) {
		return parts.Problemf(parts.Refused, "goes-on-where", "%s would go on on the other side of its dry fit.", v.Name(s)).
			Next("Say at which of the new steps it goes on, or take it apart first.").Fact("part", s.Part)
	}
	e.Detail.Place, e.Detail.Next, e.Detail.Finished = placed(old, s, r, next), next, next == len(r.Steps)
	return nil
}

// placed carries what is known of a piece over to other steps, before number
// next of which it stands. A step that it never met counts as left out.
func placed(old []parts.Step, s parts.State, r parts.Routing, next int) *parts.Place {
	place := &parts.Place{Past: make([]parts.Past, next)}
	for i := range place.Past {
		place.Past[i].How = parts.WasSkipped
	}
	for i := range min(len(old), len(s.Past)) {
		if to := sameStep(old, i, r.Steps); to >= 0 && to < next {
			place.Past[to] = s.Past[i]
		}
	}
	for _, w := range s.Waits {
		if !w.Mends { // a repair keeps its steps
			w.Step = sameStep(old, w.Step, r.Steps)
		}
		if w.Step >= 0 {
			place.Waits = append(place.Waits, w)
		}
	}
	for _, n := range s.Nicks {
		if to := sameStep(old, n, r.Steps); to >= 0 {
			place.Nicks = append(place.Nicks, to)
		}
	}
	return place
}

// sameStep finds old[i] among other steps: the one of the same name and place
// that comes as often before it; -1 for none.
func sameStep(old []parts.Step, i int, steps []parts.Step) int {
	if i < 0 || i >= len(old) {
		return -1
	}
	same := func(s parts.Step) bool {
		return s.Name == old[i].Name && s.Station == old[i].Station && s.Clock == old[i].Clock
	}
	nth := 0
	for _, s := range old[:i] {
		if same(s) {
			nth++
		}
	}
	for j, s := range steps {
		if same(s) {
			if nth == 0 {
				return j
			}
			nth--
		}
	}
	return -1
}

// bindsAt is the index of the dry fit, -1 for none.
func bindsAt(steps []parts.Step) int {
	return slices.IndexFunc(steps, func(s parts.Step) bool { return s.Binds })
}
