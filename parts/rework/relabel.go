package rework

import "benchtally/parts"

// Relabel lets the label of s be printed once more: it fell off, or nobody can
// read it. What stands for many has a ticket, and that is printed at once.
func Relabel(v parts.View, by By) ([]parts.Event, error) {
	s := v.Subject
	switch {
	case s.Kind.Counts():
		return nil, parts.Problemf(parts.Refused, "label-none", "%s has no label.", v.Name(s)).Next("Print its ticket or its tag from its page.")
	case s.Scrapped:
		return nil, parts.Problemf(parts.Refused, "label-void", "%s is scrapped, so its label is void.", v.Name(s)).
			Next("If another part takes its place, print that one's.")
	case s.In != "":
		return nil, parts.Problemf(parts.Refused, "label-inside", "%s is inside an assembly and needs no label of its own.", v.Name(s)).
			Next("Print the label of the assembly.")
	case s.LabelDue:
		return nil, parts.Problemf(parts.Already, "label-waits", "The label of %s waits to be printed already.", v.Name(s)).
			Next("Print the queue on the labels' page.")
	}
	return []parts.Event{by.event(s.Part, parts.LabelWaits, parts.Detail{})}, nil
}
