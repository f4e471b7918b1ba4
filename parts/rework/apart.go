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
	fit := -1
	for i, past := range s.Past {
		if r.Steps[i].Glues && past.How != "" {
			return nil, parts.Problemf(parts.Refused, "glued", "%s is glued, and that holds for good.", v.Name(s)).
				Next("Hold it, and decide at the bench what can be saved.")
		}
		if r.Steps[i].Binds {
			fit = i
		}
	}
	events := []parts.Event{{Part: s.Part, Kind: parts.TakenApart, Station: by.Station, By: by.Person, At: by.At, Step: -1,
		Detail: parts.Detail{Next: max(fit, 0)}}}
	for _, id := range s.Parts {
		events = append(events, parts.Event{Part: id, Kind: parts.Freed, Station: by.Station, By: by.Person, At: by.At, Step: -1,
			Detail: parts.Detail{Other: s.Part}})
	}
	return events, nil
}
