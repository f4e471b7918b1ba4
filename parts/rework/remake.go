package rework

import (
	"slices"

	"benchtally/parts"
)

// Remake scraps s with a reason. A spare of its line takes its place when
// spare is not empty; otherwise a mark from fresh starts over. What was
// scrapped for good before is made after all. An assembly that is glued is
// remade with everything in it.
func Remake(v parts.View, spare parts.ID, fresh func() parts.ID, reason string, by By) ([]parts.Event, error) {
	s := v.Subject
	if s.Scrapped && s.ReplacedBy == "" && !s.Void && !s.Kind.Counts() {
		return makeAfterAll(v, spare, fresh, by)
	}
	if err := standing(v, s); err != nil {
		return nil, err
	}
	if err := scrappable(v, s, reason, by); err != nil {
		return nil, err
	}
	if s.Kind == parts.Assembly && spare == "" {
		return remakeAssembly(v, fresh, reason, by)
	}
	id, place, err := inPlaceOf(v, s, spare, fresh, by)
	if err != nil {
		return nil, err
	}
	return append([]parts.Event{by.event(s.Part, parts.Scrapped, parts.Detail{Other: id, Note: reason})}, place...), nil
}

// Scrap takes s out for good. Nothing takes its place: the shortage stays
// visible until somebody makes it after all.
func Scrap(v parts.View, reason string, by By) ([]parts.Event, error) {
	s := v.Subject
	if err := standing(v, s); err != nil {
		return nil, err
	}
	if err := scrappable(v, s, reason, by); err != nil {
		return nil, err
	}
	if len(s.Parts) > 0 && !glued(v) {
		return nil, takeApartFirst(v)
	}
	events := []parts.Event{by.event(s.Part, parts.Scrapped, parts.Detail{Note: reason})}
	for _, in := range inside(v) {
		events = append(events, by.event(in.Part, parts.Scrapped, parts.Detail{Note: reason}))
	}
	return events, nil
}

func scrappable(v parts.View, s parts.State, reason string, by By) error {
	if p := v.Late(s, by.At); p != nil {
		return p
	}
	return checkReason(reason, true)
}

// makeAfterAll fills the place of what was scrapped without a remake: of an
// assembly with all of its parts that nothing has replaced.
func makeAfterAll(v parts.View, spare parts.ID, fresh func() parts.ID, by By) ([]parts.Event, error) {
	missing := []parts.State{v.Subject}
	for _, s := range inside(v) {
		if s.Short() {
			missing = append(missing, s)
		}
	}
	var out, after []parts.Event
	for _, s := range missing {
		id, place, err := inPlaceOf(v, s, spare, fresh, by)
		if err != nil {
			return nil, err
		}
		out = append(out, by.event(s.Part, parts.Replaced, parts.Detail{Other: id}))
		after = append(after, place...)
	}
	return append(out, after...), nil
}

// inPlaceOf gives what takes the place of s: a spare, or a new one.
func inPlaceOf(v parts.View, s parts.State, spare parts.ID, fresh func() parts.ID, by By) (parts.ID, []parts.Event, error) {
	if spare == "" {
		id := fresh()
		return id, startOver(v, s, id, by), nil
	}
	taken, err := spareOf(v, s, spare)
	if err != nil {
		return "", nil, err
	}
	return spare, takePlace(taken, s, by), nil
}

// startOver is the first of a new mark that replaces s.
func startOver(v parts.View, s parts.State, id parts.ID, by By) []parts.Event {
	birth := parts.Birth{Kind: s.Kind, Job: s.Job, Line: s.Line, Number: s.Number, Spare: s.Spare, Test: s.Test,
		Steps: s.Steps, First: parts.NextWork(v.Routing(s).Steps, 0), Replaces: s.Part}
	return []parts.Event{by.event(id, parts.Listed, parts.Detail{Birth: &birth}), by.event(id, parts.LabelWaits, parts.Detail{})}
}

// takePlace lets a spare stand for s from here on.
func takePlace(spare, s parts.State, by By) []parts.Event {
	place := by.event(spare.Part, parts.TookPlace, parts.Detail{Other: s.Part})
	if spare.LastAt.After(place.At) {
		place.At = spare.LastAt
	}
	return []parts.Event{place, by.event(spare.Part, parts.LabelWaits, parts.Detail{})}
}

// spareOf finds the spare that is fit to take the place of s.
func spareOf(v parts.View, s parts.State, id parts.ID) (parts.State, error) {
	if s.Spare {
		return s, parts.Problemf(parts.Refused, "spare-gone", "%s is a spare itself: no other takes its place.", v.Name(s)).Next("Scrap it, or remake it.")
	}
	for _, o := range v.Group {
		if o.Part == id && IsSpare(o) && o.Line == s.Line && o.Part != s.Part {
			return o, nil
		}
	}
	return parts.State{}, parts.Problemf(parts.Refused, "spare-gone", "%s is no free spare of this line.", id).
		Next("Choose another spare, or remake the part.")
}

// IsSpare reports whether s could take another's place.
func IsSpare(s parts.State) bool {
	return s.Spare && s.Kind == parts.Single && !s.Scrapped && s.Held == "" && s.In == "" && s.Doubt == ""
}

// remakeAssembly starts a glued assembly over with all that is in it: its
// parts cannot be had back one by one.
func remakeAssembly(v parts.View, fresh func() parts.ID, reason string, by By) ([]parts.Event, error) {
	s := v.Subject
	if len(s.Parts) > 0 && !glued(v) {
		return nil, takeApartFirst(v)
	}
	var out, after []parts.Event
	for _, old := range append([]parts.State{s}, inside(v)...) {
		id := fresh()
		out = append(out, by.event(old.Part, parts.Scrapped, parts.Detail{Other: id, Note: reason}))
		after = append(after, startOver(v, old, id, by)...)
	}
	return append(out, after...), nil
}

func takeApartFirst(v parts.View) error {
	return parts.Problemf(parts.Refused, "take-apart-first", "%s is not glued: its parts can be saved.", v.Name(v.Subject)).
		Next("Take it apart first, then remake the part that is spoiled.")
}

// inside gives everything in the view's assembly, at every level.
func inside(v parts.View) []parts.State {
	if len(v.Subject.Parts) == 0 {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(v.Group), func(s parts.State) bool { return s.In == "" })
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}
