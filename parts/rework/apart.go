package rework

import "benchtally/parts"

// TakeApart undoes a joint that is only dry or screwed: the parts have their
// own life back, and the assembly stands before its dry fit again. What is
// glued does not come apart.
func TakeApart(v parts.View, by By) ([]parts.Event, error) {
	s := v.Subject
	r := v.Routing(s)
	switch {
	case s.Kind != parts.Assembly:
		return nil, parts.Problemf(parts.Refused, "not-an-assembly", "%s is not put together of parts.", v.Name(s)).Next("Open the page of the assembly.")
	case s.Scrapped:
		return nil, scrapped(v, s)
	case len(s.Parts) == 0:
		return nil, parts.Problemf(parts.Already, "not-together", "%s is not together.", v.Name(s)).Next("Nothing to do.")
	case s.In != "":
		return nil, standing(v, s)
	}
	if glued(v) {
		return nil, parts.Problemf(parts.Refused, "glued", "%s is glued, and that holds for good.", v.Name(s)).
			Next("Hold it, and decide at the bench what can be saved.")
	}
	if !s.Delivered.IsZero() {
		return nil, parts.Problemf(parts.Refused, "delivered", "%s has been delivered.", v.Name(s)).Next("Record first that it came back.")
	}
	if w, wet := s.Waiting(by.At); wet {
		return nil, parts.Problemf(parts.Refused, "waiting", "%s is %s: %s to go, ready %s.", v.Name(s), string(w.Clock), s.Ready().Sub(by.At), s.Ready()).
			Next("Leave it together until then.").Fact("clock", string(w.Clock)).Fact("ready_at", s.Ready())
	}
	fit := 0
	for i, step := range r.Steps[:min(len(s.Past), len(r.Steps))] {
		if step.Binds {
			fit = i
		}
	}
	events := []parts.Event{by.event(s.Part, parts.TakenApart, parts.Detail{Next: fit})}
	for _, id := range s.Parts {
		events = append(events, by.event(id, parts.Freed, parts.Detail{Other: s.Part}))
	}
	return events, nil
}

// glued reports whether the view's assembly holds for good. A glue-up that was
// left out glued nothing.
func glued(v parts.View) bool {
	steps := v.Routing(v.Subject).Steps
	for i, past := range v.Subject.Past {
		if i < len(steps) && steps[i].Glues && past.How != "" && past.How != parts.WasSkipped {
			return true
		}
	}
	return false
}
