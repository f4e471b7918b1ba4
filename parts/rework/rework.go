// Package rework repairs and replaces: a hole that is off is plugged, left to
// set and bored again; a part beyond repair is scrapped and a spare or a new
// one takes its place; anything can be held. It owns the reasons and the
// repair steps. It does not say what comes next (routing does) and saves
// nothing.
package rework

import (
	"strings"
	"time"
	"unicode/utf8"

	"benchtally/parts"
)

// plugMinutes is how long a glued-in plug sets before it is trimmed: common
// practice, no source; the glue's data sheet decides.
const plugMinutes = 120

// maxReason bounds what a person writes as a reason.
const maxReason = 200

// By says who did it, where and when.
type By struct {
	Person  int64
	Station parts.Station
	At      time.Time
}

// Plug records that a hole of s was off and has a plug glued in. The plug
// sets, is trimmed flush, and the hole is bored again; then s goes on from
// where it was.
func Plug(v parts.View, note string, by By) ([]parts.Event, error) {
	s := v.Subject
	if err := standing(v, s); err != nil {
		return nil, err
	}
	if s.Mending() {
		return nil, parts.Problemf(parts.Refused, "plugged-already", "%s has a plug in it already.", v.Name(s)).
			Next("Bore it again first.")
	}
	bored := lastBored(v.Routing(s), s)
	if bored < 0 {
		return nil, parts.Problemf(parts.Refused, "not-bored", "%s has no hole to plug: it was not bored.", v.Name(s)).
			Next("Hold it and write down what is wrong, or remake it.")
	}
	if err := checkReason(note, false); err != nil {
		return nil, err
	}
	repair := repairOf(v.Routing(s).Steps[bored])
	waits := append(running(s, by.At), waitsFrom(repair, len(s.Repair), by.At)...)
	return []parts.Event{{
		Part: s.Part, Kind: parts.Plugged, Station: by.Station, By: by.Person, At: by.At, Step: bored,
		Detail: parts.Detail{Repair: repair, Note: note, Waits: waits},
	}}, nil
}

// repairOf is what follows a plug at the step that bored.
func repairOf(bored parts.Step) []parts.Step {
	again := bored
	again.Name, again.Record = "trim flush, "+bored.Name+" again", true
	return []parts.Step{{Name: "plug sets", Clock: parts.Setting, Minutes: plugMinutes}, again}
}

// running gives the clocks of s that still run at a time: a plug dries no coat.
func running(s parts.State, at time.Time) []parts.Wait {
	var waits []parts.Wait
	for _, w := range s.Waits {
		if at.Before(w.Until) {
			waits = append(waits, w)
		}
	}
	return waits
}

// waitsFrom starts the clocks at the head of a repair that begins at index base.
func waitsFrom(repair []parts.Step, base int, from time.Time) []parts.Wait {
	var waits []parts.Wait
	for i, s := range repair {
		if !s.Wait() {
			break
		}
		until := from.Add(s.Lasts())
		waits = append(waits, parts.Wait{Clock: s.Clock, Step: base + i, From: from, Until: until})
		from = until
	}
	return waits
}

// lastBored is the last step behind s that makes holes, -1 for none.
func lastBored(r parts.Routing, s parts.State) int {
	for i := min(s.Next, len(r.Steps)) - 1; i >= 0; i-- {
		if r.Steps[i].Bores {
			return i
		}
	}
	return -1
}

// Remake scraps s with a reason. A spare of its line takes its place when
// spare is not empty; otherwise fresh, a mark that is new, starts over.
func Remake(v parts.View, spare, fresh parts.ID, reason string, by By) ([]parts.Event, error) {
	s := v.Subject
	if err := standing(v, s); err != nil {
		return nil, err
	}
	if s.Kind != parts.Single {
		return nil, parts.Problemf(parts.Refused, "not-a-part", "%s is not a single part.", v.Name(s)).Next("Open the page of the part that is spoiled.")
	}
	if err := checkReason(reason, true); err != nil {
		return nil, err
	}
	event := func(id parts.ID, kind parts.EventKind, d parts.Detail) parts.Event {
		return parts.Event{Part: id, Kind: kind, Station: by.Station, By: by.Person, At: by.At, Step: -1, Detail: d}
	}
	if spare == "" {
		birth := parts.Birth{Kind: s.Kind, Job: s.Job, Line: s.Line, Number: s.Number, Spare: s.Spare,
			Steps: s.Steps, First: parts.NextWork(v.Routing(s).Steps, 0), Replaces: s.Part}
		return []parts.Event{
			event(s.Part, parts.Scrapped, parts.Detail{Other: fresh, Note: reason}),
			event(fresh, parts.Listed, parts.Detail{Birth: &birth}),
			event(fresh, parts.LabelWaits, parts.Detail{}),
		}, nil
	}
	taken, err := spareOf(v, spare)
	if err != nil {
		return nil, err
	}
	place := event(spare, parts.TookPlace, parts.Detail{Other: s.Part})
	if taken.LastAt.After(place.At) {
		place.At = taken.LastAt
	}
	return []parts.Event{event(s.Part, parts.Scrapped, parts.Detail{Other: spare, Note: reason}), place,
		event(spare, parts.LabelWaits, parts.Detail{})}, nil
}

// spareOf finds the spare of the subject's line, fit to take its place.
func spareOf(v parts.View, id parts.ID) (parts.State, error) {
	for _, s := range v.Group {
		if s.Part == id && IsSpare(s) {
			return s, nil
		}
	}
	return parts.State{}, parts.Problemf(parts.Refused, "spare-gone", "%s is no free spare of this line.", id).
		Next("Choose another spare, or remake the part.")
}

// IsSpare reports whether s could take another's place.
func IsSpare(s parts.State) bool {
	return s.Spare && s.Kind == parts.Single && !s.Scrapped && s.Held == "" && s.In == ""
}

// Hold stops s until a person releases it.
func Hold(v parts.View, reason string, by By) ([]parts.Event, error) {
	s := v.Subject
	switch {
	case s.Scrapped:
		return nil, scrapped(v, s)
	case s.Held != "":
		return nil, parts.Problemf(parts.Already, "held", "%s is held already: %s.", v.Name(s), s.Held).Next("Nothing to do.")
	}
	if err := checkReason(reason, true); err != nil {
		return nil, err
	}
	return []parts.Event{{Part: s.Part, Kind: parts.Held, Station: by.Station, By: by.Person, At: by.At, Step: -1,
		Detail: parts.Detail{Note: reason}}}, nil
}

// Release lets s go on.
func Release(v parts.View, by By) ([]parts.Event, error) {
	s := v.Subject
	if s.Held == "" {
		return nil, parts.Problemf(parts.Already, "not-held", "%s is not held.", v.Name(s)).Next("Nothing to do.")
	}
	return []parts.Event{{Part: s.Part, Kind: parts.Released, Station: by.Station, By: by.Person, At: by.At, Step: -1}}, nil
}

// standing refuses what is out of the shop's hands already.
func standing(v parts.View, s parts.State) error {
	switch {
	case s.Kind == parts.Ticket:
		return parts.Problemf(parts.Refused, "not-a-part", "A ticket stands for many parts.").Next("Open the page of the one part that is meant.")
	case s.Scrapped:
		return scrapped(v, s)
	case s.In != "":
		return parts.Problemf(parts.Refused, "in-assembly", "%s is part of an assembly now.", v.Name(s)).
			Next("If it is only dry-fitted, undo that on the page of %s; if it is glued, hold the assembly.", s.In).Fact("assembly", s.In)
	}
	return nil
}

func scrapped(v parts.View, s parts.State) error {
	p := parts.Problemf(parts.Refused, "scrapped", "%s was scrapped already.", v.Name(s)).Next("Take its label off.")
	if s.ReplacedBy != "" {
		p.Next("%s takes its place.", s.ReplacedBy).Fact("replaced_by", s.ReplacedBy)
	}
	return p
}

func checkReason(reason string, needed bool) error {
	switch {
	case needed && strings.TrimSpace(reason) == "":
		return parts.Problemf(parts.Invalid, "reason-missing", "No reason is given.").Next("Say why in a word or two.")
	case utf8.RuneCountInString(reason) > maxReason:
		return parts.Problemf(parts.Invalid, "reason-long", "The reason is longer than %d characters.", maxReason).Next("Shorten it.")
	}
	return nil
}

// TakeBackJob takes a job back that was listed by mistake: every mark of it is
// void. It is refused once any of it was worked on.
func TakeBackJob(v parts.View, by By) ([]parts.Event, error) {
	var events []parts.Event
	for _, s := range v.Group {
		if len(s.Past) > 0 || s.In != "" || len(s.Repair) > 0 {
			return nil, parts.Problemf(parts.Refused, "under-way", "%s is under way already.", v.Name(s)).
				Next("Take its steps back first, or finish the job.").Fact("part", s.Part)
		}
		if !s.Scrapped {
			events = append(events, parts.Event{Part: s.Part, Kind: parts.Scrapped, By: by.Person, At: by.At, Step: -1,
				Detail: parts.Detail{Note: "the job was taken back"}})
		}
	}
	if len(events) == 0 {
		return nil, parts.Problemf(parts.Already, "job-gone", "That job was taken back already.").Next("Nothing to do.")
	}
	return events, nil
}
