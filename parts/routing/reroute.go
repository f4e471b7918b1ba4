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
	return events, nil
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
	to := make([]int, len(old)) // where each old step is now, -1 for nowhere
	place := &parts.Place{Past: make([]parts.Past, next)}
	for i := range place.Past {
		place.Past[i].How = parts.WasSkipped
	}
	for i := range old {
		to[i] = sameStep(old, i, r.Steps)
		if to[i] >= 0 && to[i] < next && i < len(s.Past) {
			place.Past[to[i]] = s.Past[i]
		}
	}
	for _, w := range s.Waits {
		if w.Step = to[w.Step]; w.Step >= 0 {
			place.Waits = append(place.Waits, w)
		}
	}
	for _, n := range s.Nicks {
		if n < len(to) && to[n] >= 0 {
			place.Nicks = append(place.Nicks, to[n])
		}
	}
	e.Detail.Place, e.Detail.Next, e.Detail.Finished = place, next, next == len(r.Steps)
	return nil
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

// Skip leaves steps out for what was bought or finished before: it goes on at
// the step with a number. A ticket's pieces go on together, those that stand
// before it.
func Skip(v parts.View, number int, reason string, scan parts.Scan) ([]parts.Event, error) {
	var events []parts.Event
	if reason == "" {
		return nil, parts.Problemf(parts.Invalid, "reason-missing", "No reason is given.").Next("Say why in a word or two: bought, or finished before.")
	}
	if err := stopped(v, v.Subject); err != nil {
		return nil, err
	}
	group := []parts.State{v.Subject}
	if v.Subject.Kind.Counts() {
		group = v.Group
	}
	for _, s := range group {
		steps := v.Routing(s).Steps
		to := number - 1
		if to < 0 || to > len(steps) {
			return nil, parts.Problemf(parts.Invalid, "step-unknown", "%s has no step %d.", v.Name(s), number).Next("Choose one of its steps.")
		}
		to = parts.NextWork(steps, to)
		if s.Next >= to || s.In != "" || s.Scrapped || s.Held != "" || s.Mending() {
			continue
		}
		if fit := bindsAt(steps); s.Kind == parts.Assembly && s.Next <= fit && fit < to {
			return nil, parts.Problemf(parts.Refused, CodeMissing, "%s has not been put together.", v.Name(s)).
				Next("Record its dry fit first: that says which parts it has.")
		}
		if p := v.Late(s, scan.At); p != nil {
			return nil, p
		}
		events = append(events, parts.Event{Part: s.Part, Kind: parts.Skipped, Station: scan.Station, By: scan.By, At: scan.At, Step: -1,
			Detail: parts.Detail{Next: to, Finished: to == len(steps), Note: reason, Ticket: ticketOf(v)}})
	}
	if len(events) == 0 {
		return nil, parts.Problemf(parts.Already, CodeDone, "They have gone past that already.").Next("Nothing to do.")
	}
	return events, nil
}

// ticketOf is the mark that was scanned when it stands for many, "" otherwise.
func ticketOf(v parts.View) parts.ID {
	if v.Subject.Kind.Counts() {
		return v.Subject.Part
	}
	return ""
}
