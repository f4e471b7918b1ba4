// Package rework repairs and replaces: a defect of the shop's catalogue puts
// repair steps before the next one; a piece beyond repair is scrapped and a
// spare or a new one takes its place; anything can be held; what was handed
// over may come back. It owns the ready-made catalogue and the reasons. It
// does not say what comes next (routing does) and saves nothing.
package rework

import (
	"strings"
	"time"
	"unicode/utf8"

	"benchtally/parts"
)

// maxReason bounds what a person writes as a reason.
const maxReason = 200

// By says who did it, where and when.
type By struct {
	Person  int64
	Station parts.Station
	At      time.Time
}

// event is something of kind k that happened to a mark.
func (by By) event(id parts.ID, k parts.EventKind, d parts.Detail) parts.Event {
	return parts.Event{Part: id, Kind: k, Station: by.Station, By: by.Person, At: by.At, Step: -1, Detail: d}
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
	return []parts.Event{by.event(s.Part, parts.Held, parts.Detail{Note: reason})}, nil
}

// Release lets s go on.
func Release(v parts.View, by By) ([]parts.Event, error) {
	s := v.Subject
	if s.Held == "" {
		return nil, parts.Problemf(parts.Already, "not-held", "%s is not held.", v.Name(s)).Next("Nothing to do.")
	}
	return []parts.Event{by.event(s.Part, parts.Released, parts.Detail{})}, nil
}

// standing refuses what is out of the shop's hands already.
func standing(v parts.View, s parts.State) error {
	switch {
	case s.Kind.Counts():
		return parts.Problemf(parts.Refused, "not-a-part", "A ticket stands for many parts.").Next("Open the page of the one part that is meant.")
	case s.Scrapped:
		return scrapped(v, s)
	case s.In != "":
		return parts.Problemf(parts.Refused, "in-assembly", "%s is part of an assembly now.", v.Name(s)).
			Next("Open %s: take it apart if it is dry or screwed. If it is glued, repair it there or remake all of it.", s.In).Fact("assembly", s.In)
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
			events = append(events, by.event(s.Part, parts.Scrapped, parts.Detail{Note: "the job was taken back", Void: true}))
		}
	}
	if len(events) == 0 {
		return nil, parts.Problemf(parts.Already, "job-gone", "That job was taken back already.").Next("Nothing to do.")
	}
	return events, nil
}
