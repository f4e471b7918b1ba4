package rework

import "benchtally/parts"

// Deliver hands over what is finished of a job: the assemblies and the loose
// parts, with all that is inside them. What is not finished or still wet stays.
func Deliver(v parts.View, by By) ([]parts.Event, error) {
	var events []parts.Event
	left := 0
	for _, s := range v.Group {
		_, wet := s.Waiting(by.At)
		own := !s.Kind.Counts() && !s.Scrapped && s.In == "" && !s.Spare && v.Lines[s.Line].Into == 0
		switch {
		case !own || !s.Delivered.IsZero():
		case !s.Finished || s.Mending() || wet || s.Held != "" || s.Doubt != "":
			left++
		default:
			e := by.event(s.Part, parts.Delivered, parts.Detail{})
			e.At = later(e.At, s.LastAt)
			events = append(events, e)
		}
	}
	if len(events) == 0 {
		return nil, parts.Problemf(parts.Refused, "nothing-finished", "Nothing of it is finished and still here; %d are not finished.", left).
			Next("Deliver what is finished when it is.").Fact("unfinished", left)
	}
	return events, nil
}

// Return records that something came back from the client: a reason, the
// repair of a defect, and a new delivery when that is done.
func Return(v parts.View, f Flaw, by By) ([]parts.Event, error) {
	s := v.Subject
	if err := standing(v, s); err != nil {
		return nil, err
	}
	if s.Delivered.IsZero() {
		return nil, parts.Problemf(parts.Refused, "not-delivered", "%s has not been delivered.", v.Name(s)).
			Next("Record the defect as for anything in the shop.")
	}
	if err := checkReason(f.Note, true); err != nil {
		return nil, err
	}
	return Mend(v, f, by)
}
